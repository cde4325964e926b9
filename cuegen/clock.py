"""Time: whole milliseconds everywhere, samples only where audio is made.

Conventions
    Instants and lengths are `int` milliseconds. A split is milliseconds per
    500 m. `samples_at` is the one place where milliseconds become samples: it
    rounds once, half up, and its result is an absolute index, so that errors
    never add up along a track.

Contents
    SAMPLE_RATE, samples_at, ms_at      milliseconds and samples
    clock_text, parse_clock             m:ss and h:mm:ss
    split_text, parse_split             m:ss.t
    stamp_text                          hh:mm:ss.mmm (WebVTT, chapter comments)
"""

from __future__ import annotations

import re

SAMPLE_RATE = 48_000
"""Samples per second of every signal inside cuegen."""

MS_PER_S = 1_000
MS_PER_MIN = 60_000
MS_PER_H = 3_600_000

_CLOCK = re.compile(r"(?:(\d{1,2}):([0-5]\d)|(\d{1,3})):([0-5]\d)")
_SPLIT = re.compile(r"(\d{1,2}):([0-5]\d)(?:\.(\d{1,3}))?")


def samples_at(ms: int, sample_rate: int = SAMPLE_RATE) -> int:
    """Return the sample index of an instant, rounded once, half up."""
    return (ms * sample_rate + MS_PER_S // 2) // MS_PER_S


def ms_at(samples: int, sample_rate: int = SAMPLE_RATE) -> int:
    """Return the millisecond nearest to a sample index, half up."""
    return (samples * MS_PER_S + sample_rate // 2) // sample_rate


def clock_text(ms: int) -> str:
    """Return `m:ss`, or `h:mm:ss` from one hour on, to the nearest second."""
    seconds = (ms + MS_PER_S // 2) // MS_PER_S
    hours, rest = divmod(seconds, 3600)
    minutes, seconds = divmod(rest, 60)
    if hours:
        return f"{hours}:{minutes:02d}:{seconds:02d}"
    return f"{minutes}:{seconds:02d}"


def parse_clock(text: str) -> int | None:
    """Return the milliseconds of `m:ss` or `h:mm:ss`, None for anything else."""
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        return None
    hours, minutes_in_hour, minutes, seconds = match.groups()
    whole = int(hours or 0) * 3600 + int(minutes_in_hour or minutes) * 60 + int(seconds)
    return whole * MS_PER_S


def split_text(split_ms: int) -> str:
    """Return a split as rowers write it, `2:04.5`; 1:59.96 becomes `2:00.0`."""
    tenths = (split_ms + 50) // 100
    minutes, rest = divmod(tenths, 600)
    return f"{minutes}:{rest // 10:02d}.{rest % 10}"


def parse_split(text: str) -> int | None:
    """Return the milliseconds of `m:ss`, `m:ss.t` (to `.ttt`), None otherwise."""
    match = _SPLIT.fullmatch(text.strip())
    if match is None:
        return None
    minutes, seconds, fraction = match.groups()
    thousandths = int((fraction or "0").ljust(3, "0"))
    return (int(minutes) * 60 + int(seconds)) * MS_PER_S + thousandths


def stamp_text(ms: int) -> str:
    """Return `hh:mm:ss.mmm`, the timestamp of WebVTT and of chapter comments."""
    hours, rest = divmod(ms, MS_PER_H)
    minutes, rest = divmod(rest, MS_PER_MIN)
    seconds, thousandths = divmod(rest, MS_PER_S)
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}.{thousandths:03d}"
