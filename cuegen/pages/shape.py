"""The shape of a session: rate and effort over time, one on either side of a line.

A session is drawn like a river on a chart: time runs along the line in its middle,
rate lies on one bank, effort on the other, and both step where the session does.

Conventions
    Instants are milliseconds of the track. A share is a part of a bank's breadth,
    0 to 1. Effort has its whole scale (0 to 100 %). Rates lie close together, so
    their bank begins some strokes below the lowest of the session: the bank shows
    which is higher, the figures beside it say how much.
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.plan.model import SegmentKind
from cuegen.schedule.cuesheet import CueSheet, SheetSegment

BELOW_LOWEST = 5.0
"""Strokes per minute below the lowest rate at which the bank begins (our own choice: the
lowest rate is still broad, and a step of two strokes still shows)."""


@dataclass(frozen=True, slots=True)
class Reach:
    """A segment of the river. rate: "20", "18-20" or empty; shares: how far each bank goes."""

    start_ms: int
    end_ms: int
    rate: str
    rate_share: float
    effort_pct: int
    is_rest: bool

    @property
    def effort_share(self) -> float:
        return min(self.effort_pct, 100) / 100


def reaches(sheet: CueSheet) -> tuple[Reach, ...]:
    """Return the segments as reaches of a river, in order."""
    rates = [rate for segment in sheet.segments if (rate := middle_rate(segment)) is not None]
    low = min(rates, default=0.0) - BELOW_LOWEST
    span = max(rates, default=1.0) - low
    return tuple(
        Reach(
            start_ms=segment.start_ms,
            end_ms=segment.end_ms,
            rate=(segment.rate or "").replace("-", "\u2013"),
            rate_share=0.0 if (rate := middle_rate(segment)) is None else (rate - low) / span,
            effort_pct=segment.effort_pct,
            is_rest=segment.kind is SegmentKind.REST,
        )
        for segment in sheet.segments
    )


def rate_band(segment: SheetSegment) -> tuple[int, int] | None:
    """Return a segment's rate in strokes per minute, lowest and highest, or None."""
    if segment.rate is None:
        return None
    low, _, high = segment.rate.partition("-")
    return int(low), int(high or low)


def middle_rate(segment: SheetSegment) -> float | None:
    """Return the middle of a segment's band of rates, or None."""
    band = rate_band(segment)
    return None if band is None else sum(band) / 2
