"""Where a recording speaks and where it pauses, over whatever hum and noise there is.

Conventions
    Sound is mono at any rate from 16 kHz on. Levels are taken in steps of STEP_MS, in
    the band in which speech is and mains hum hardly is. The floor is the level that a
    tenth of the steps around do not reach, the top the level that a twentieth passes: both
    follow a room that gets louder. A step speaks where it lies above the floor by part
    of the way to the top; it goes on speaking down to half of that.

    Pieces are whole milliseconds of the sound, in order, apart by a pause at least.

Contents
    loudness_curve    level of each step
    speaking          which steps speak
    pieces_of         the stretches between pauses
    quiet_spans       what surely holds no speech: for measuring noise
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import percentile_filter
from scipy.signal import butter, sosfilt

from cuegen.clock import samples_at
from cuegen.dsp.signal import Signal

STEP_MS = 10
BAND_HZ = (200.0, 7_500.0)
AROUND_MS = 12_000
"""How much of a recording decides what floor and top are at a place."""

LEAST_DB, MOST_DB, PART = 6.0, 24.0, 0.4
"""How far over the floor speech begins: part of the way to the top, within these bounds."""

NOTHING_DB = 8.0
"""Where top and floor are no further apart, nothing speaks (steady noise spans 3 to 5 dB)."""

PAUSE_MS = 350
"""A pause parts two pieces: longer than what stands at most commas (0.1 to 0.3 s)."""

CLICK_MS = 70
"""What is shorter and stands alone is a click or a bump; the shortest word, "go", has 150 ms."""

GUARD_MS = 60
"""Kept clear around speech where noise is measured: breath and the end of a word."""

_FLOOR_PCT, _TOP_PCT = 10, 95
_STRIDE = 5
_DEAF_DB = -100.0

Levels = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch that speaks, in milliseconds of its recording."""

    start_ms: int
    end_ms: int

    @property
    def length_ms(self) -> int:
        return self.end_ms - self.start_ms


def loudness_curve(sound: Signal, rate: int) -> Levels:
    """Return the level of each step, in dB of full scale, in the band of speech."""
    if len(sound) == 0:
        return np.zeros(0)
    heard = np.asarray(sosfilt(_band(rate), np.asarray(sound, dtype=np.float64)))
    width = samples_at(STEP_MS, rate)
    steps = -(-len(heard) // width)
    padded = np.zeros(steps * width)
    padded[: len(heard)] = heard
    power = np.square(padded).reshape(steps, width).mean(axis=1)
    return np.asarray(10 * np.log10(np.maximum(power, 10 ** (_DEAF_DB / 10))))


def speaking(levels: Levels) -> Flags:
    """Return which steps speak."""
    if len(levels) == 0:
        return np.zeros(0, dtype=np.bool_)
    floor, top = _around(levels, _FLOOR_PCT), _around(levels, _TOP_PCT)
    way = np.clip(PART * (top - floor), LEAST_DB, MOST_DB)
    begins = (levels > floor + way) & (top - floor > NOTHING_DB)
    goes_on = levels > floor + way / 2
    return _held(begins, goes_on)


def pieces_of(flags: Flags, pause_ms: int = PAUSE_MS) -> tuple[Piece, ...]:
    """Return the stretches that speak, joined over shorter pauses, clicks left out."""
    joined: list[tuple[int, int]] = []
    for start, stop in _runs(flags):
        if (stop - start) * STEP_MS < CLICK_MS and not _is_near(flags, start, stop):
            continue
        if joined and (start - joined[-1][1]) * STEP_MS < pause_ms:
            joined[-1] = (joined[-1][0], stop)
        else:
            joined.append((start, stop))
    return tuple(Piece(start * STEP_MS, stop * STEP_MS) for start, stop in joined)


def quiet_spans(flags: Flags) -> tuple[Piece, ...]:
    """Return the stretches without speech, GUARD_MS away from any."""
    guard = GUARD_MS // STEP_MS
    near = np.convolve(flags, np.ones(2 * guard + 1), mode="same") > 0 if len(flags) else flags
    spans = (Piece(a * STEP_MS, b * STEP_MS) for a, b in _runs(~np.asarray(near, dtype=np.bool_)))
    return tuple(span for span in spans if span.length_ms >= 2 * STEP_MS)


def stretch_of(sound: Signal, rate: int, spans: Sequence[Piece]) -> Signal:
    """Return the sound of some spans, one after the other."""
    parts = [sound[samples_at(s.start_ms, rate) : samples_at(s.end_ms, rate)] for s in spans]
    return np.concatenate(parts) if parts else np.zeros(0, dtype=np.float32)


def _around(levels: Levels, percent: int) -> Levels:
    """Return a percentile of the steps around each step, worked out at every _STRIDE-th."""
    few = levels[::_STRIDE]
    size = min(AROUND_MS // STEP_MS // _STRIDE, len(few))
    curve = percentile_filter(few, percent, size=size, mode="reflect")
    return np.repeat(curve, _STRIDE)[: len(levels)]


def _held(begins: Flags, goes_on: Flags) -> Flags:
    """Return the runs of steps that go on and begin somewhere."""
    held = np.zeros(len(begins), dtype=np.bool_)
    for start, stop in _runs(goes_on | begins):
        held[start:stop] = bool(begins[start:stop].any())
    return held


def _is_near(flags: Flags, start: int, stop: int) -> bool:
    """Return whether something else speaks so near that a short sound belongs to it."""
    reach = 2 * CLICK_MS // STEP_MS
    return bool(flags[max(0, start - reach) : start].any() or flags[stop : stop + reach].any())


def _runs(flags: Flags) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]


@lru_cache(maxsize=4)
def _band(rate: int) -> NDArray[np.float64]:
    return np.asarray(butter(4, BAND_HZ, "bandpass", fs=rate, output="sos"))
