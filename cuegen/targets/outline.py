"""The session with its targets worked out and laid on the clock.

Conventions
    Instants are milliseconds of the finished track; rowing starts at
    `Outline.lead_in_ms`, after the welcome and the count-in. Distance pieces
    have predicted lengths: from the first of them on, `predicted` is true.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from cuegen.plan.model import Segment, SegmentKind, Session


class Basis(StrEnum):
    """Where a segment's target comes from."""

    GIVEN = "given"  # a split or watts in the plan
    STEP = "step"  # so much faster or slower than the segment before; its split may be unknown
    LAST = "last"  # what this rower last held
    CURVE = "curve"  # what this rower's other results point to
    EFFORT = "effort"  # effort and a modest step: no number to hold


@dataclass(frozen=True, slots=True)
class PlannedSegment:
    """A segment on the clock.

    split_ms: the split to hold, None where effort leads. pace_ms: the split that
    times and metres are reckoned with, the target or else a stated assumption.
    watts is the mean power of pace_ms. strokes is None without a rate; metres
    and watts are 0 where nobody rows. A step from a split that is each rower's
    own (`@last` for a group, `@free`) is Basis.STEP without a split: how large it
    is stands in the segment's target. last_rate: the rate at which this split was held last
    time (for `@last` forms), also known when the rower has no result; last_change_ms: by how
    much the target lies off it, negative is faster. reason: why
    the target is what it is, in one line for the sheet.
    """

    segment: Segment
    start_ms: int
    end_ms: int
    split_ms: int | None
    pace_ms: int
    basis: Basis
    effort_pct: int
    metres: float
    strokes: float | None
    watts: float
    predicted: bool
    reason: str
    last_rate: int | None = None
    last_change_ms: int = 0

    @property
    def index(self) -> int:
        return self.segment.index

    @property
    def kind(self) -> SegmentKind:
        return self.segment.kind

    @property
    def length_ms(self) -> int:
        return self.end_ms - self.start_ms


@dataclass(frozen=True, slots=True)
class Outline:
    """The whole session on the clock, in order and without holes.

    tail_ms: room after the last stroke for the closing words. early_ms and
    late_ms: by how much the end of rowing moves at 2 % faster and slower, 0
    where every length is a time. rower: whose results the targets come from.
    """

    session: Session
    segments: tuple[PlannedSegment, ...]
    lead_in_ms: int
    tail_ms: int
    early_ms: int = 0
    late_ms: int = 0
    rower: str | None = None

    @property
    def row_end_ms(self) -> int:
        return self.segments[-1].end_ms

    @property
    def duration_ms(self) -> int:
        return self.row_end_ms + self.tail_ms

    @property
    def halfway_ms(self) -> int:
        return (self.lead_in_ms + self.row_end_ms) // 2
