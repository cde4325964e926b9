"""When a bed makes room for speech, from the timeline and not from what it hears.

Conventions
    Instants are absolute samples. The bed is down before a line's clip begins and
    comes back gently after its end. Lines closer than it takes to come back and
    go down again, with a moment in between, are one span: nothing pumps. An open
    stretch lies between two spans, where the bed is all the way up; a track with n
    spans has n + 1 of them.

The lengths below are our own judgement by ear (common practice, no source).
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuegen.clock import samples_at
from cuegen.dsp.signal import gain_of
from cuegen.mix.alert import ALERT_MS, alert_starts
from cuegen.schedule.cuesheet import Cue, CueSheet

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


_FAR = 1 << 62


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a track in samples: speech that is one to the bed, or an open stretch."""

    start: int
    end: int


def speech_spans(cues: Iterable[Cue], alerts_ms: Iterable[int] = ()) -> tuple[Span, ...]:
    """Return where speech is, lines joined between which the bed stays down; in order.

    alerts_ms: where alerts begin; the bed is down for them as for lines.
    """
    lines = [(cue.start_ms, cue.end_ms) for cue in cues]
    lines += [(start_ms, start_ms + ALERT_MS) for start_ms in alerts_ms]
    least = samples_at(HOLD_MS + UP_MS + UP_AT_LEAST_MS + DOWN_MS + READY_MS)
    spans: list[Span] = []
    for start_ms, end_ms in sorted(lines):
        start, end = samples_at(start_ms), samples_at(end_ms)
        if spans and start - spans[-1].end < least:
            spans[-1] = Span(spans[-1].start, max(end, spans[-1].end))
        else:
            spans.append(Span(start, end))
    return tuple(spans)


def spans_of(sheet: CueSheet) -> tuple[Span, ...]:
    """Return where a sheet's bed is down: under its lines and alerts."""
    return speech_spans(sheet.cues, alert_starts(sheet))


def down_stretches(spans: Sequence[Span]) -> tuple[Span, ...]:
    """Return for each span the samples in which the bed is all the way down."""
    ready, hold = samples_at(READY_MS), samples_at(HOLD_MS)
    return tuple(Span(max(0, span.start - ready), span.end + hold) for span in spans)


def open_stretches(spans: Sequence[Span], length: int) -> tuple[Span, ...]:
    """Return where the bed is all the way up, one before each span and one after the last.

    One at an end of the track may be empty, its end at or before its start.
    """
    back, ahead = samples_at(HOLD_MS + UP_MS), samples_at(READY_MS + DOWN_MS)
    starts = [0, *(span.end + back for span in spans)]
    ends = [*(span.start - ahead for span in spans), length]
    return tuple(Span(start, end) for start, end in zip(starts, ends, strict=True))


class Ducking:
    """The gain of a bed along a track, in dB: one for each open stretch and for each span."""

    def __init__(
        self, spans: Sequence[Span], up_db: Sequence[float], under_db: Sequence[float]
    ) -> None:
        if len(up_db) != len(spans) + 1 or len(under_db) != len(spans):
            raise ValueError("one level for each span, and one for each stretch around them")
        corners: list[int] = []
        levels: list[float] = [up_db[0]]
        for span, under, up in zip(spans, under_db, up_db[1:], strict=True):
            corners += [
                span.start - samples_at(READY_MS + DOWN_MS),
                span.start - samples_at(READY_MS),
                span.end + samples_at(HOLD_MS),
                span.end + samples_at(HOLD_MS + UP_MS),
            ]
            levels += [levels[-1], under, under, up]
        # Before the first corner and after the last the level is theirs.
        self._corners = [-_FAR, *corners, _FAR]
        self._levels = [*levels, levels[-1]]

    def gain(self, start: int, length: int) -> NDArray[np.float32]:
        """Return the factor of each of `length` samples from `start` on."""
        gains = np.empty(length, dtype=np.float32)
        number = bisect_right(self._corners, start) - 1
        at = start
        while at < start + length:
            to = min(self._corners[number + 1], start + length)
            gains[at - start : to - start] = self._between(number, at, to)
            at, number = to, number + 1
        return gains

    def _between(self, number: int, at: int, to: int) -> NDArray[np.float32]:
        """Return the factors between two corners, bent so that no slope begins with a jerk."""
        from_db, to_db = self._levels[number], self._levels[number + 1]
        if from_db == to_db:
            return np.array([gain_of(from_db)], dtype=np.float32)
        begin, end = self._corners[number], self._corners[number + 1]
        way = (np.arange(at, to, dtype=np.float64) - begin) / (end - begin)
        db = from_db + (to_db - from_db) * way * way * (3.0 - 2.0 * way)
        return np.exp(db * (math.log(10.0) / 20.0)).astype(np.float32)
