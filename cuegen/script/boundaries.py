"""Where segments meet: what kind of change it is, and how it is counted in.

Conventions
    A boundary is called by firm cues: beats one second apart, and on the instant
    itself a word or a short line. The end of a distance piece is only expected:
    it gets no beats and no firm line.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum, auto

from cuegen.clock import MS_PER_S
from cuegen.plan.model import SegmentKind, Session
from cuegen.script.facts import is_distance, is_rowing, is_work
from cuegen.targets.outline import Outline, PlannedSegment

FINISH_BEATS = 5
LINE_ROOM_MS = 2_500
"""Kept free at the start of a segment for its line before a count may begin."""

_DEFAULT_COUNT_IN = next(
    field.default for name, field in Session.__dataclass_fields__.items() if name == "count_in"
)


class Change(Enum):
    """What happens at a boundary."""

    GO = auto()  # work begins, or rowing begins from a stop
    NEXT_PIECE = auto()  # work runs on at the same rate
    RATE = auto()  # the rate changes while rowing runs on
    EASE = auto()  # lighter rowing or rest begins
    EXPECTED = auto()  # a distance piece should be over
    FINISH = auto()  # the session ends on the clock
    NONE = auto()  # nothing to call


STARTS = (Change.GO, Change.RATE, Change.NEXT_PIECE)
"""Changes that one gets ready for."""


@dataclass(frozen=True, slots=True)
class Boundary:
    """The end of segment `before` and start of `after`, one of them None at the ends.

    beats: how many are counted ahead of it; wanted: how many the plan asked for.
    """

    at_ms: int
    change: Change
    before: PlannedSegment | None
    after: PlannedSegment | None
    beats: int = 0
    wanted: int = 0

    @property
    def is_firm(self) -> bool:
        return self.change not in (Change.EXPECTED, Change.NONE)

    @property
    def count_ms(self) -> int:
        """How long the count before it lasts."""
        return self.beats * MS_PER_S

    @property
    def about(self) -> PlannedSegment:
        """The segment that the boundary's cues are about: the one that starts, if any."""
        found = self.after or self.before
        assert found is not None, "a boundary has a segment on one side"
        return found


def boundaries(outline: Outline) -> tuple[Boundary, ...]:
    """Return the boundaries in order, the start of the first segment and the finish included."""
    return tuple(_boundaries(outline))


def _boundaries(outline: Outline) -> Iterator[Boundary]:
    before: PlannedSegment | None = None
    for after in (*outline.segments, None):
        at_ms = after.start_ms if after else outline.row_end_ms
        change = _change(before, after)
        wanted = _wanted(change, before, outline.session.count_in)
        beats = _fitting(change, wanted, before, outline.session.count_in)
        yield Boundary(at_ms, change, before, after, beats, wanted)
        before = after


def _change(before: PlannedSegment | None, after: PlannedSegment | None) -> Change:
    if before is not None and is_distance(before):
        return Change.EXPECTED
    if after is None:
        return Change.FINISH
    if before is None or not is_rowing(before):
        return Change.GO if is_rowing(after) else Change.NONE
    if is_work(after) and not is_work(before):
        return Change.GO
    return _running_on(before, after)


def _running_on(before: PlannedSegment, after: PlannedSegment) -> Change:
    """Return the change where rowing runs on into the same sort of segment, or eases."""
    if after.kind is not before.kind:
        return Change.EASE
    if after.segment.rate is not None and after.segment.rate != before.segment.rate:
        return Change.RATE
    return Change.NEXT_PIECE if is_work(after) else Change.NONE


def _wanted(change: Change, before: PlannedSegment | None, count_in: int) -> int:
    if change is Change.FINISH:
        return FINISH_BEATS if count_in else 0
    if change is Change.EASE:
        return count_in if before is not None and is_work(before) else 0
    return count_in if change in (Change.GO, Change.NEXT_PIECE, Change.RATE) else 0


def _fitting(change: Change, wanted: int, before: PlannedSegment | None, count_in: int) -> int:
    """Return how many beats there is room for; a count that a plan asks for is left as it is."""
    by_default = change is Change.FINISH or count_in == _DEFAULT_COUNT_IN
    if before is None or not by_default:
        return wanted
    return min(wanted, max(0, (before.length_ms - LINE_ROOM_MS) // MS_PER_S))


def paddle_case(after: PlannedSegment) -> str:
    """Return the case of `segment-end` for what begins."""
    by_kind = {SegmentKind.REST: "rest", SegmentKind.COOL_DOWN: "cool-down"}
    return by_kind.get(after.kind, "paddle")
