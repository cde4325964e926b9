"""Sessions of any length, made alike, so that only their length differs."""

from __future__ import annotations

from cuegen.plan.model import (
    Audience,
    Duration,
    Entry,
    Rate,
    SegmentKind,
    Session,
    SplitTarget,
)

_MIN = 60_000
_WARM_UP_MS, _COOL_DOWN_MS, _PIECE_MS = 5 * _MIN, 4 * _MIN, 4 * _MIN
_STEPS = ((18, 132_000), (20, 128_000), (22, 124_000), (24, 120_500))
"""Rates, and splits in ms per 500 m, that a rower goes up through again and again."""


def session_of(minutes: int, voice: str) -> Session:
    """Return a session without music that lasts so many minutes from first stroke to last."""
    work_ms = minutes * _MIN - _WARM_UP_MS - _COOL_DOWN_MS
    pieces = round(work_ms / _PIECE_MS)
    lengths = [work_ms // pieces] * pieces
    lengths[-1] += work_ms - sum(lengths)
    steps = [_STEPS[n % len(_STEPS)] for n in range(pieces)]
    return Session(
        title=f"Bench of {minutes} minutes",
        entries=(
            _entry(SegmentKind.WARM_UP, [_WARM_UP_MS], [(18, None)]),
            _entry(SegmentKind.ROW, lengths, steps),
            _entry(SegmentKind.COOL_DOWN, [_COOL_DOWN_MS], [(18, None)]),
        ),
        audience=Audience.SOLO,
        voice=voice,
    )


def _entry(
    kind: SegmentKind, lengths: list[int], steps: list[tuple[int, int]] | list[tuple[int, None]]
) -> Entry:
    return Entry(
        kind=kind,
        repeats=len(lengths),
        lengths=tuple(Duration(ms) for ms in lengths),
        rates=tuple(Rate(rate, rate) for rate, _ in steps),
        targets=tuple(SplitTarget(split_ms) for _, split_ms in steps if split_ms is not None),
    )
