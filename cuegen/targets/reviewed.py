"""What a review of a session says: its words and its figures.

Conventions
    Splits are whole milliseconds per 500 m, rates strokes per minute, work joules,
    lengths metres and whole milliseconds. A change is rowed less asked, so of splits a
    negative one is faster. Segments count from 1 as in the plan, breaks included;
    pieces, the segments of work, count from 1 among themselves.

Contents
    Outcome, Rule                           how a target and a step came out
    PlannedPiece, PieceReview, StepReview   one piece asked, one rowed, one step
    WholeReview, Review                     the session
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from cuegen.targets.placing import Numbering, RowedSegment
from cuegen.targets.power import metres_in
from cuegen.targets.steadiness import Steadiness


class Outcome(StrEnum):
    """How a piece came out against its target."""

    HELD = "held"
    FASTER = "faster"
    SLOWER = "slower"


class Rule(StrEnum):
    """Where a step lies against the rule of 2 to 5 s for two strokes, both included."""

    BELOW = "below"
    WITHIN = "within"
    ABOVE = "above"


@dataclass(frozen=True, slots=True)
class PlannedPiece:
    """What was asked. metres: only of a piece given in metres, whose length_ms is reckoned.

    split_ms: None where effort leads. stepped: it was so much faster or slower than the
    split found before, and is reckoned from what was rowed there. effort_pct: None
    where the plan neither names it nor is led by it.
    """

    piece: int
    segment: int
    theme: str | None
    length_ms: int
    metres: int | None
    rates: tuple[int, int] | None
    split_ms: int | None
    stepped: bool
    effort_pct: int | None
    reason: str


@dataclass(frozen=True, slots=True)
class PieceReview:
    """A piece that was rowed. time_ms: how long it took. work_j: work per stroke.

    change_ms, power_pct, outcome: against the split that was asked, None without one.
    rate_change: strokes beyond the rate or band that was asked, 0 within it.
    felt_change_pct: felt less planned effort, None unless both are known.
    """

    planned: PlannedPiece
    rowed: RowedSegment
    time_ms: int
    work_j: float
    change_ms: int | None
    power_pct: float | None
    outcome: Outcome | None
    rate_change: int | None
    felt_change_pct: int | None
    steadiness: Steadiness | None

    @property
    def metres(self) -> float:
        return metres_in(self.time_ms, self.rowed.split_ms)


@dataclass(frozen=True, slots=True)
class StepReview:
    """A change of rate from one piece rowed to the next.

    gained_ms: by how much the split fell (negative: rose). per_step_ms: that for each
    two strokes of higher rate, whichever way the rate went. constant_ms: the split that
    constant work per stroke would have given from the first one; constant_per_step_ms
    what it would have been worth. asked_ms: what the plan asked to gain, None where it
    names no splits. work_pct: by how much the work per stroke grew.
    alike: both pieces are of one length.
    """

    pieces: tuple[int, int]
    rates: tuple[int, int]
    gained_ms: int
    asked_ms: int | None
    per_step_ms: int
    constant_ms: int
    constant_per_step_ms: int
    work_pct: float
    rule: Rule
    alike: bool


@dataclass(frozen=True, slots=True)
class WholeReview:
    """All pieces rowed. split_ms: None where none was. targets: how many of them had one."""

    time_ms: int
    metres: float
    split_ms: int | None
    targets: int
    held: int
    faster: int
    slower: int


@dataclass(frozen=True, slots=True)
class Review:
    """A session reviewed. not_rowed: pieces of the plan without a result.

    logged_as: the title of the results where it is not the plan's, empty for none.
    unplanned: results of no piece of the plan. again: results of a piece that was
    logged once more later, which is the one that counts. numbering: how the results
    were given to the pieces.
    """

    title: str
    rower: str | None
    day: date | None
    logged_as: str | None
    pieces: tuple[PieceReview, ...]
    steps: tuple[StepReview, ...]
    whole: WholeReview
    not_rowed: tuple[PlannedPiece, ...]
    unplanned: tuple[RowedSegment, ...]
    again: tuple[RowedSegment, ...]
    numbering: Numbering
