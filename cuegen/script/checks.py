"""What is left: time to the end of a segment, metres of a distance piece, the half of a long one.

Conventions
    A time check has several readings, each with the onsets at which it is true:
    the bare figure to within a second, "just over" earlier, "just under" later.
    Distance pieces are checked in metres, at the places where they are expected.

Sources
    When to check (every minute or two, the last two minutes, the last minute, 30,
    10 s): common practice, no source. How wide "just over" is: our own judgement.
"""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.clock import MS_PER_MIN, MS_PER_S
from cuegen.plan.model import Distance, SegmentKind
from cuegen.script.boundaries import STARTS, Change
from cuegen.script.candidate import Candidate
from cuegen.script.desk import Desk, numbered
from cuegen.script.facts import is_distance, is_work
from cuegen.script.fields import Fields
from cuegen.script.kinds import CueKind
from cuegen.script.picker import Reading
from cuegen.script.spoken import MetreValue, Precision, TimeValue
from cuegen.targets.outline import PlannedSegment

EXACT_MS = 1_000
"""A bare figure is true within a second."""

OVER_PART, OVER_MOST_MS = 5, 15_000
UNDER_PART, UNDER_MOST_MS = 8, 10_000
"""'Just over' holds to a fifth above a figure, 'just under' to an eighth below."""

LEAST_ROUNDED_S = 30
"""A figure under this is given exactly or not at all."""

MUST_HEAR_S = 120
"""Checks of this much time left, or less, go before a span of quiet."""

HALFWAY_FROM_MS = 4 * MS_PER_MIN
HALFWAY_APART_MS = 15 * MS_PER_S
"""Two halfway calls nearer than this would be heard as one mistake."""

ABOUT_PART = 0.06
"""'About' so many metres: said within this part of them, at the pace reckoned with."""

_WORK_MARKS = {10: -10, 20: -12, 30: 3, 60: 10, 120: 5, 180: -15, 240: -20}
_EASY_MARKS = {30: 0, 60: 5, 120: -10}
_DISTANCE_MARKS = (100, 250, 500, 1_000, 2_000, 3_000, 4_000, 5_000, 7_500, 10_000, 15_000, 20_000)


def check_cues(desk: Desk) -> Iterator[Candidate]:
    """Yield the checks of every segment."""
    for planned in desk.outline.segments:
        if is_distance(planned):
            yield from _distance_left(desk, planned)
            continue
        yield from _time_left(desk, planned)
        if has_halfway(planned):
            yield from _segment_halfway(desk, planned)


def has_halfway(planned: PlannedSegment) -> bool:
    """Return whether a segment is long enough, and sure enough, for a halfway of its own."""
    return is_work(planned) and not is_distance(planned) and planned.length_ms >= HALFWAY_FROM_MS


def _time_left(desk: Desk, planned: PlannedSegment) -> Iterator[Candidate]:
    case = _case(desk, planned)
    if case is None:
        return
    fields = desk.facts.segment(planned.index)
    if case == "to-start":
        fields = desk.facts.segment(planned.index + 1)
    marks = _marks(planned, case)
    if desk.boundaries[planned.index + 1].change in STARTS:
        marks.pop(20, None)  # "get ready" is said there
    for mark_s, worth in marks.items():
        if desk.is_quiet(planned.end_ms - mark_s * MS_PER_S):
            continue
        yield from desk.floating(
            f"{numbered(planned)}.left.{mark_s}",
            CueKind.TIME_LEFT,
            planned.index,
            time_readings(desk, planned, mark_s, fields),
            cases=(case,),
            prefer_ms=planned.end_ms - mark_s * MS_PER_S,
            worth=worth,
        )


def check_instants(desk: Desk, planned: PlannedSegment) -> list[int]:
    """Return the instants of the checks that no span of quiet may swallow.

    Those are the last two minutes' and the half; earlier ones give way.
    """
    case = _case(desk, planned)
    if is_distance(planned) or case is None:
        return []
    marks = (mark_s for mark_s in _marks(planned, case) if mark_s <= MUST_HEAR_S)
    found = [planned.end_ms - mark_s * MS_PER_S for mark_s in marks]
    if has_halfway(planned):
        found.append((planned.start_ms + planned.end_ms) // 2)
    return found


def _case(desk: Desk, planned: PlannedSegment) -> str | None:
    """Return who waits for what: work for its end, a break for the start, a cool-down."""
    if is_work(planned):
        return "work"
    if desk.boundaries[planned.index + 1].change is Change.GO:
        return "to-start"
    return "easy" if planned.kind in (SegmentKind.COOL_DOWN, SegmentKind.WARM_UP) else None


def _marks(planned: PlannedSegment, case: str) -> dict[int, int]:
    """Return the marks, in seconds left, with what each is worth above its kind."""
    length_s = planned.length_ms // MS_PER_S
    marks = dict(_WORK_MARKS if case == "work" else _EASY_MARKS)
    if case == "work":
        marks |= dict.fromkeys(range(300, length_s, 300), -5)
    return {
        mark: worth
        for mark, worth in marks.items()
        if mark <= (0.8 if mark >= 120 else 0.55) * length_s
        if not (has_halfway(planned) and abs(2 * mark - length_s) < 40)
    }


def time_readings(
    desk: Desk, planned: PlannedSegment, mark_s: int, fields: Fields
) -> tuple[Reading | None, ...]:
    """Return the readings of a time left, the bare figure first."""
    mark_ms = mark_s * MS_PER_S
    at_ms = planned.end_ms - mark_ms
    over_ms = min(mark_ms // OVER_PART, OVER_MOST_MS)
    under_ms = min(mark_ms // UNDER_PART, UNDER_MOST_MS)
    spans = [(Precision.EXACT, at_ms - EXACT_MS, at_ms + EXACT_MS)]
    if mark_s >= LEAST_ROUNDED_S:
        spans.append((Precision.OVER, at_ms - over_ms, at_ms - EXACT_MS - 1))
        spans.append((Precision.UNDER, at_ms + EXACT_MS + 1, at_ms + under_ms))
    must = frozenset({"left"})
    return tuple(
        desk.reading(
            planned.index,
            earliest,
            latest,
            fields | _left(planned, mark_s, precision),
            must=must,
            brief=precision is not Precision.EXACT,
        )
        for precision, earliest, latest in spans
    )


def _left(planned: PlannedSegment, mark_s: int, precision: Precision) -> Fields:
    """Return the time left, and the strokes left where that is one number."""
    fields: Fields = {"left": TimeValue(mark_s * MS_PER_S, precision)}
    rate = planned.segment.rate
    if precision is Precision.EXACT and rate is not None and not rate.is_band and is_work(planned):
        fields["strokes_left"] = rate.low * mark_s / 60
    return fields


def _segment_halfway(desk: Desk, planned: PlannedSegment) -> Iterator[Candidate]:
    middle_ms = (planned.start_ms + planned.end_ms) // 2
    called_ms = desk.halfway_ms
    if called_ms is not None and abs(called_ms - middle_ms) < HALFWAY_APART_MS:
        return  # the session's own halfway is called there
    fields = desk.facts.segment(planned.index)
    if planned.length_ms % (2 * MS_PER_S) == 0:
        fields["left"] = TimeValue(planned.length_ms // 2)
    yield from desk.floating(
        f"{numbered(planned)}.halfway",
        CueKind.SEGMENT_HALFWAY,
        planned.index,
        (desk.reading(planned.index, middle_ms - EXACT_MS, middle_ms + EXACT_MS, fields),),
        prefer_ms=middle_ms,
    )


def _distance_left(desk: Desk, planned: PlannedSegment) -> Iterator[Candidate]:
    length = planned.segment.length
    assert isinstance(length, Distance)
    for metres in _DISTANCE_MARKS:
        if metres > 0.7 * length.metres or not is_work(planned):
            return
        ahead_ms = metres * planned.length_ms // length.metres
        spread_ms = int(ahead_ms * ABOUT_PART)
        at_ms = planned.end_ms - ahead_ms
        fields = desk.facts.segment(planned.index)
        fields["metres"] = MetreValue(metres, Precision.ABOUT)
        yield from desk.floating(
            f"{numbered(planned)}.metres.{metres}",
            CueKind.DISTANCE_LEFT,
            planned.index,
            (
                desk.reading(
                    planned.index,
                    at_ms - spread_ms,
                    at_ms + spread_ms,
                    fields,
                    must=frozenset({"metres"}),
                ),
            ),
            prefer_ms=at_ms,
        )
