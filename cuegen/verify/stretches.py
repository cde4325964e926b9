"""Cutting a decoded track, as it streams by, into the stretches in which lines are looked for.

Conventions
    Blocks come in order, (n, channels) at SAMPLE_RATE. A stretch reaches REACH_MS
    beyond its line on both sides; where the track does not reach so far it is
    filled with silence, so the planned place is always the same in it. Memory
    does not grow with the track: what no waiting line needs is let go.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from cuegen.clock import samples_at
from cuegen.dsp.signal import Signal
from cuegen.schedule.cuesheet import Cue

REACH_MS = 2_500
"""How far from its place a line is looked for at most."""

PLANNED = samples_at(REACH_MS)
"""Where in every stretch the line's clip was planned to begin."""


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """A line's cue and the sound around it, (n, channels).

    clear_before_ms, clear_after_ms: for how long no other line was planned there.
    """

    cue: Cue
    sound: Signal
    clear_before_ms: int
    clear_after_ms: int


def stretches(blocks: Iterable[Signal], cues: Iterable[Cue], channels: int) -> Iterator[Stretch]:
    """Yield the stretch of each cue, in order of start, as soon as enough of the track has come."""
    waiting = sorted(cues, key=lambda cue: cue.start_ms)
    held, first, number = np.zeros((0, channels), dtype=np.float32), 0, 0
    for block in blocks:
        held = np.concatenate([held, block])
        while number < len(waiting) and _end(waiting[number]) <= first + len(held):
            yield _cut(held, first, waiting, number)
            number += 1
        keep = _start(waiting[number]) if number < len(waiting) else first + len(held)
        drop = min(max(keep - first, 0), len(held))
        held, first = held[drop:], first + drop
    for late in range(number, len(waiting)):
        yield _cut(held, first, waiting, late)


def _start(cue: Cue) -> int:
    return samples_at(cue.start_ms - REACH_MS)


def _end(cue: Cue) -> int:
    return samples_at(cue.end_ms + REACH_MS)


def _cut(held: Signal, first: int, cues: list[Cue], number: int) -> Stretch:
    cue = cues[number]
    start, end = _start(cue), _end(cue)
    sound = np.zeros((end - start, held.shape[1]), dtype=np.float32)
    low, high = max(start, first), min(end, first + len(held))
    if low < high:
        sound[low - start : high - start] = held[low - first : high - first]
    before = cue.start_ms - cues[number - 1].end_ms if number else REACH_MS
    after = cues[number + 1].start_ms - cue.end_ms if number + 1 < len(cues) else REACH_MS
    return Stretch(cue, sound, min(max(0, before), REACH_MS), min(max(0, after), REACH_MS))
