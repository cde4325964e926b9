"""When a bed makes room for speech, from the timeline and not from what it hears.

Conventions
    Instants are absolute samples. The bed is down before a line's clip begins and
    comes back gently after its end. Lines closer than it takes to come back and
    go down again, with a moment in between, are one span: nothing pumps.

The lengths below are our own judgement by ear (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuegen.clock import samples_at
from cuegen.schedule.cuesheet import Cue

DOWN_MS = 700
"""How long the bed takes to go down."""
READY_MS = 150
"""How long before a line's clip it is down."""
HOLD_MS = 400
"""How long it stays down after a line."""
UP_MS = 2_000
"""How long it takes to come back."""
UP_AT_LEAST_MS = 2_500
"""A shorter time at full level is not worth the way up and down."""


@dataclass(frozen=True, slots=True)
class Span:
    """Speech that is one to the bed: in samples, from first clip to last end."""

    start: int
    end: int


def speech_spans(cues: Iterable[Cue]) -> tuple[Span, ...]:
    """Return where speech is, lines joined between which the bed stays down; in order."""
    least = samples_at(HOLD_MS + UP_MS + UP_AT_LEAST_MS + DOWN_MS + READY_MS)
    spans: list[Span] = []
    for cue in sorted(cues, key=lambda each: each.start_ms):
        start, end = samples_at(cue.start_ms), samples_at(cue.end_ms)
        if spans and start - spans[-1].end < least:
            spans[-1] = Span(spans[-1].start, max(end, spans[-1].end))
        else:
            spans.append(Span(start, end))
    return tuple(spans)


class Ducking:
    """The gain of a bed along a track: `up_db` in the open, `under_db` under speech."""

    def __init__(self, spans: tuple[Span, ...], up_db: float, under_db: float) -> None:
        self._up_db = up_db
        self._depth_db = under_db - up_db
        corners: list[int] = []
        for span in spans:
            corners += [
                span.start - samples_at(READY_MS + DOWN_MS),
                span.start - samples_at(READY_MS),
                span.end + samples_at(HOLD_MS),
                span.end + samples_at(HOLD_MS + UP_MS),
            ]
        self._corners = np.array(corners, dtype=np.float64)
        self._downs = np.tile([0.0, 1.0, 1.0, 0.0], len(spans))

    def gain(self, start: int, length: int) -> NDArray[np.float32]:
        """Return the factor of each of `length` samples from `start` on."""
        stop = start + length
        if not np.any((self._corners > start) & (self._corners < stop)):
            ends = np.array([start, stop - 1], dtype=np.float64)
            if self._down(ends).max() == self._down(ends).min():
                return np.full(length, self._factor(self._down(ends[:1]))[0], dtype=np.float32)
        at = np.arange(start, stop, dtype=np.float64)
        return self._factor(self._down(at))

    def _factor(self, down: NDArray[np.float64]) -> NDArray[np.float32]:
        """Return the gain for how far down the bed is."""
        db = self._up_db + self._depth_db * down
        return np.asarray(10.0 ** (db / 20.0), dtype=np.float32)

    def _down(self, at: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how far down the bed is, 0 to 1, bent so that no slope begins with a jerk."""
        if len(self._corners) == 0:
            return np.zeros(len(at))
        down = np.interp(at, self._corners, self._downs)
        return np.asarray(down * down * (3.0 - 2.0 * down))
