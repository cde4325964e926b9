"""Where lines on technique stand in a segment, and its phases.

Conventions
    A slot is an instant that suits a line best and how far it may move either way.
    Slots are at least SPACING_MS apart, their windows included. A phase is the part
    of the segment in which an instant lies: early, middle, late.
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.targets.outline import PlannedSegment

SPACING_MS = 60_000
STRIDE_MS = 66_000
"""Least distance between the instants that suit best: leaves room to either side."""

FIRST_MS, LAST_MS = 42_000, 42_000
"""After the start of a segment and before its end: others speak there."""

LEAST_MS = 50_000
WIDEST_MS = 12_000

EARLY_TO, MIDDLE_TO = 0.4, 0.7
"""Where the phases of a segment end, as parts of its length."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place for a line."""

    best_ms: int
    spread_ms: int
    phase: str


def slots_of(planned: PlannedSegment) -> list[Slot]:
    """Return the slots of a segment, evenly spread; none in one that is too short."""
    length = planned.length_ms
    if length < LEAST_MS:
        return []
    span = length - FIRST_MS - LAST_MS
    if span < STRIDE_MS:
        return [Slot(planned.start_ms + length // 2, min(WIDEST_MS, length // 10), "early")]
    gaps = span // STRIDE_MS
    stride = span // gaps
    spread = min(WIDEST_MS, (stride - SPACING_MS) // 2)
    bests = [planned.start_ms + FIRST_MS + k * stride for k in range(gaps + 1)]
    return [Slot(best, spread, phase_of(planned, best)) for best in bests]


def phase_of(planned: PlannedSegment, at_ms: int) -> str:
    """Return the phase of a segment that an instant lies in."""
    part = (at_ms - planned.start_ms) / planned.length_ms
    return "early" if part < EARLY_TO else "middle" if part < MIDDLE_TO else "late"
