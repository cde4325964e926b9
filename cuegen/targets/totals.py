"""What a session comes to: time, metres, strokes, power and work.

Conventions
    Time is whole milliseconds, work kilojoules. Mean power is weighted by time and
    counts rowing only: a rest is no part of it. Strokes are counted where a rate is
    known; `strokes_ms` says how much of the rowing that is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from cuegen.targets.outline import Outline, PlannedSegment


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums over some segments.

    time_ms: all of it, rowing_ms: without rests, strokes_ms: with a known rate.
    strokes: None where no rate is known. watts: mean over rowing_ms, 0 without rowing.
    """

    time_ms: int
    rowing_ms: int
    strokes_ms: int
    metres: float
    strokes: float | None
    watts: float
    work_kj: float


@dataclass(frozen=True, slots=True)
class SessionTotals:
    """segments: one Totals each. work: pieces only. session: from first stroke to last."""

    segments: tuple[Totals, ...]
    work: Totals
    session: Totals


def totals(outline: Outline) -> SessionTotals:
    """Return what every segment, all pieces together and the whole session come to."""
    return SessionTotals(
        segments=tuple(total([segment]) for segment in outline.segments),
        work=total(one for one in outline.segments if one.segment.spec.is_work),
        session=total(outline.segments),
    )


def total(segments: Iterable[PlannedSegment]) -> Totals:
    """Return what some segments come to together."""
    chosen = tuple(segments)
    rowed = [one for one in chosen if one.segment.spec.is_rowing]
    counted = [(one, one.strokes) for one in rowed if one.strokes is not None]
    rowing_ms = sum(one.length_ms for one in rowed)
    joules = sum(one.watts * one.length_ms / 1000 for one in rowed)
    return Totals(
        time_ms=sum(one.length_ms for one in chosen),
        rowing_ms=rowing_ms,
        strokes_ms=sum(one.length_ms for one, _ in counted),
        metres=sum(one.metres for one in rowed),
        strokes=sum(strokes for _, strokes in counted) if counted else None,
        watts=joules * 1000 / rowing_ms if rowing_ms else 0.0,
        work_kj=joules / 1000,
    )
