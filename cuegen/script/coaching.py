"""What a coach adds to the clock: goal, get ready, target, settle, effort, last piece, offer.

Conventions
    Windows are given in milliseconds after a segment's start or before its end,
    and cut to the segment's room. Technique has a module of its own.

Sources
    When each is said (goal about 75 to 60 s ahead of a change, get ready at 20 and
    10 s, the target at once, then time to find it): common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.clock import MS_PER_S
from cuegen.plan.model import SegmentKind
from cuegen.script.boundaries import STARTS, Change
from cuegen.script.candidate import Candidate
from cuegen.script.checks import EXACT_MS
from cuegen.script.desk import Desk, numbered
from cuegen.script.facts import is_rowing, is_work
from cuegen.script.kinds import CueKind
from cuegen.script.spoken import TimeValue
from cuegen.targets.outline import PlannedSegment

MOST_COOL_DOWN = 9
"""Lines in one cool-down: it is for winding down, not for listening."""


def coaching_cues(desk: Desk) -> Iterator[Candidate]:
    """Yield the coaching of every segment, technique and effort checks left aside."""
    for planned in desk.outline.segments:
        if is_work(planned) and planned.index > 0:
            yield from _goal(desk, planned)
            yield from _get_ready(desk, planned)
        if is_work(planned) or planned.kind is SegmentKind.WARM_UP:
            yield from _target(desk, planned)
        yield from _settle(desk, planned)
        yield from _break_progress(desk, planned)
        if planned.kind is SegmentKind.COOL_DOWN:
            yield from _cool_down(desk, planned)
    yield from _last_piece(desk)


def _goal(desk: Desk, planned: PlannedSegment) -> Iterator[Candidate]:
    """The goal is set while the segment before still runs; nearer where that is short."""
    before = desk.outline.segments[planned.index - 1]
    if before.length_ms < 30_000:
        return
    first, last, best = 75_000, 60_000, 72_000
    if before.length_ms < 120_000:
        first, last, best = (before.length_ms * part // 100 for part in (60, 45, 55))
    fields = desk.facts.segment(planned.index)
    yield from desk.floating(
        f"{numbered(planned)}.goal",
        CueKind.GOAL,
        planned.index,
        (desk.reading(before.index, before.end_ms - first, before.end_ms - last, fields),),
        heard_in=before.index,
        cases=(desk.facts.target_case(planned.index), "effort"),
        prefer_ms=before.end_ms - best,
    )


def _get_ready(desk: Desk, planned: PlannedSegment) -> Iterator[Candidate]:
    """About 20 s ahead; 10 s ahead too, unless a time check of the work says so."""
    change = desk.boundaries[planned.index].change
    before = desk.outline.segments[planned.index - 1]
    if change not in STARTS:
        return
    if before.length_ms >= 45_000:
        yield from _ready_at(desk, planned, 20, 3_000, 4_000)
    if before.length_ms >= 25_000 and not is_work(before):
        yield from _ready_at(desk, planned, 10, 2_000, 2_000)


def _ready_at(
    desk: Desk, planned: PlannedSegment, mark_s: int, early_ms: int, late_ms: int
) -> Iterator[Candidate]:
    before = planned.index - 1
    at_ms = planned.start_ms - mark_s * MS_PER_S
    fields = desk.facts.segment(planned.index)
    timed = fields | {"left": TimeValue(mark_s * MS_PER_S)}
    starts = desk.boundaries[planned.index].change is Change.GO
    yield from desk.floating(
        f"{numbered(planned)}.ready.{mark_s}",
        CueKind.GET_READY,
        planned.index,
        (
            desk.reading(
                before, at_ms - EXACT_MS, at_ms + EXACT_MS, timed, must=frozenset({"left"})
            ),
            desk.reading(before, at_ms - early_ms, at_ms + late_ms, fields),
        ),
        heard_in=before,
        cases=("start" if starts else "change",),
        prefer_ms=at_ms,
    )


def _target(desk: Desk, planned: PlannedSegment) -> Iterator[Candidate]:
    """The target follows the change at once; after an expected end, once that was said."""
    start = planned.start_ms
    expected = desk.boundaries[planned.index].change is Change.EXPECTED
    best, last = (7_000, 14_000) if expected else (1_500, 10_000)
    yield from desk.floating(
        f"{numbered(planned)}.target",
        CueKind.TARGET,
        planned.index,
        (desk.reading(planned.index, start, start + last, desk.facts.segment(planned.index)),),
        cases=(desk.facts.target_case(planned.index), "effort"),
        prefer_ms=start + best,
    )


def _settle(desk: Desk, planned: PlannedSegment) -> Iterator[Candidate]:
    """A word once the rush of the change is over."""
    if is_work(planned):
        case, least, first, last, best = "work", 90_000, 16_000, 38_000, 22_000
    elif planned.kind is SegmentKind.WARM_UP:
        case, least, first, last, best = "warm-up", 90_000, 16_000, 38_000, 25_000
    elif planned.kind is SegmentKind.COOL_DOWN:
        return  # it has lines of its own
    else:
        case = "paddle" if is_rowing(planned) else "rest"
        least, first, last, best = 45_000, 3_000, 25_000, 6_000
    if planned.length_ms < least:
        return
    start, fields = planned.start_ms, desk.facts.segment(planned.index)
    yield from desk.floating(
        f"{numbered(planned)}.settle",
        CueKind.SETTLE,
        planned.index,
        (desk.reading(planned.index, start + first, start + last, fields),),
        cases=(case,),
        prefer_ms=start + best,
    )


def _break_progress(desk: Desk, planned: PlannedSegment) -> Iterator[Candidate]:
    """In a break, what is done and what is ahead; not after metres, which may not be done yet."""
    fields = desk.facts.segment(planned.index)
    is_break = planned.kind in (SegmentKind.PADDLE, SegmentKind.REST)
    if not is_break or planned.length_ms < 60_000 or not {"done", "ahead"} <= fields.keys():
        return
    if desk.boundaries[planned.index].change is Change.EXPECTED:
        return
    start = planned.start_ms
    yield from desk.floating(
        f"{numbered(planned)}.progress",
        CueKind.PROGRESS,
        planned.index,
        (desk.reading(planned.index, start + 10_000, start + 35_000, fields),),
        cases=("break",),
        prefer_ms=start + 18_000,
    )


def _cool_down(desk: Desk, planned: PlannedSegment) -> Iterator[Candidate]:
    """Soon after the change, then about once a minute, less often in a long one."""
    fields, start = desk.facts.segment(planned.index), planned.start_ms
    if planned.length_ms < 20_000:
        return
    every = max(42_000, planned.length_ms // MOST_COOL_DOWN)
    bests = range(start + 8_000, planned.end_ms - 20_000, every)
    for number, best in enumerate(bests or (start + 4_000,), start=1):
        yield from desk.floating(
            f"{numbered(planned)}.cool-down.{number}",
            CueKind.COOL_DOWN,
            planned.index,
            (desk.reading(planned.index, best - 5_000, best + 15_000, fields),),
            prefer_ms=best,
            worth=5 - 5 * number if number > 1 else 10,
        )


def _last_piece(desk: Desk) -> Iterator[Candidate]:
    """The last piece is named as such, and late in it there is room for a little more."""
    pieces = desk.facts.pieces
    if not pieces:
        return
    last = pieces[-1]
    fields, start, end = desk.facts.segment(last.index), last.start_ms, last.end_ms
    length = last.length_ms
    if len(pieces) > 1 and length >= 45_000:
        yield from desk.floating(
            f"{numbered(last)}.last-piece",
            CueKind.LAST_PIECE,
            last.index,
            (desk.reading(last.index, start + 9_000, start + min(45_000, length // 2), fields),),
            prefer_ms=start + 13_000,
        )
    if length >= 90_000:
        first, latest = min(100_000, length * 45 // 100), min(45_000, length // 5)
        yield from desk.floating(
            f"{numbered(last)}.offer",
            CueKind.OFFER,
            last.index,
            (desk.reading(last.index, end - first, end - latest, fields),),
            prefer_ms=end - min(78_000, length * 3 // 10),
        )
