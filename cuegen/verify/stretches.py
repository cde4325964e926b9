"""Cutting a decoded track, as it streams by, into the stretches in which lines are looked for.

Conventions
    Blocks come in order, (n, channels) at SAMPLE_RATE. A stretch reaches SEARCH_MS
    beyond its line on both sides; where the track does not reach so far it is
    filled with silence, so the planned place is always the same in it. Stretches
    are mono at SEEK_RATE.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.resample import resample
from cuegen.dsp.signal import Signal
from cuegen.schedule.cuesheet import Cue, CueSheet
from cuegen.verify.seek import SEEK_RATE, Mono

SEARCH_MS = 600
"""How far from its place a line is looked for."""

GUARD_MS = 60
"""Around a line silence is not asked for: codecs smear a little."""

FRAME_MS = 100


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """A line's cue and the sound around it; `planned` indexes its first sample."""

    cue: Cue
    sound: Mono
    planned: int


def stretches(blocks: Iterable[Signal], cues: tuple[Cue, ...]) -> Iterator[Stretch]:
    """Yield the stretch of each cue, in order, as soon as enough of the track has come."""
    waiting = sorted(cues, key=lambda cue: cue.start_ms)
    held, first = np.zeros(0, dtype=np.float32), 0
    number = 0
    for block in blocks:
        held = np.concatenate([held, block.mean(axis=1)])
        while number < len(waiting) and _end(waiting[number]) <= first + len(held):
            yield _cut(held, first, waiting[number])
            number += 1
        keep = _start(waiting[number]) if number < len(waiting) else first + len(held)
        drop = min(max(keep - first, 0), len(held))
        held, first = held[drop:], first + drop
    for cue in waiting[number:]:
        yield _cut(held, first, cue)


def at_seek_rate(sound: Signal) -> Mono:
    """Return mono sound at SEEK_RATE."""
    return resample(sound, SAMPLE_RATE, SEEK_RATE).astype(np.float64)


def _start(cue: Cue) -> int:
    return samples_at(cue.start_ms - SEARCH_MS)


def _end(cue: Cue) -> int:
    return samples_at(cue.end_ms + SEARCH_MS)


def _cut(held: Signal, first: int, cue: Cue) -> Stretch:
    start, end = _start(cue), _end(cue)
    sound = np.zeros(end - start, dtype=np.float32)
    low, high = max(start, first), min(end, first + len(held))
    if low < high:
        sound[low - start : high - start] = held[low - first : high - first]
    return Stretch(cue, at_seek_rate(sound), SEARCH_MS * SEEK_RATE // 1000)


@dataclass(slots=True)
class Silence:
    """The loudest frame, in dBFS RMS, among those in which nothing was planned."""

    sheet: CueSheet
    loudest_db: float = -math.inf
    at_ms: int = 0
    _now_ms: int = 0
    _cue: int = 0
    _rest: Signal = field(default_factory=lambda: np.zeros(0, dtype=np.float32))

    def add(self, block: Signal) -> None:
        """Take the next block of the track."""
        sound = np.concatenate([self._rest, block.mean(axis=1)])
        size = samples_at(FRAME_MS)
        whole = len(sound) // size
        powers = (sound[: whole * size].reshape(whole, size).astype(np.float64) ** 2).mean(axis=1)
        for power in powers:
            self._frame(float(power))
        self._rest = sound[whole * size :]

    def _frame(self, power: float) -> None:
        start, end = self._now_ms, self._now_ms + FRAME_MS
        self._now_ms = end
        cues = self.sheet.cues
        while self._cue < len(cues) and cues[self._cue].end_ms + GUARD_MS <= start:
            self._cue += 1
        if self._cue < len(cues) and cues[self._cue].start_ms - GUARD_MS < end:
            return
        level = 10 * math.log10(power) if power > 0 else -math.inf
        if level > self.loudest_db:
            self.loudest_db, self.at_ms = level, start
