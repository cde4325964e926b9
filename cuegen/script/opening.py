"""Before the first stroke and after the last: welcome, caution, first goal, results.

Also what is said where a distance piece should be over: its end is expected, so
that its line floats where a timed one would be firm.

Sources
    The caution names the usual signs to stop at and defers to those who know the
    rower: common practice in club safety notes; no wording is taken from any.
"""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.clock import MS_PER_S
from cuegen.script.boundaries import Boundary, Change
from cuegen.script.candidate import Candidate
from cuegen.script.checks import EXACT_MS
from cuegen.script.desk import Desk, numbered, within
from cuegen.script.facts import is_rowing
from cuegen.script.kinds import CueKind
from cuegen.script.picker import Reading
from cuegen.script.spoken import TimeValue

CAUTION_LATEST_MS = 60_000
"""Where the opening is too short for it, the caution comes within the first minute."""

EXPECTED_ROOM_MS = 5_000
CLOSING_MS = 3_000
"""The shortest closing words need this long."""


def opening_cues(desk: Desk) -> Iterator[Candidate]:
    """Yield what is said before the first stroke."""
    first, last = desk.opening_room()
    yield from desk.floating(
        "welcome",
        CueKind.WELCOME,
        0,
        (within((first, last), first, first + 2_500, desk.facts.session()),),
        prefer_ms=first,
    )
    if desk.outline.session.caution:
        yield from _caution(desk)
    if is_rowing(desk.outline.segments[0]):
        yield from _first_goal(desk)


def _caution(desk: Desk) -> Iterator[Candidate]:
    first, _ = desk.opening_room()
    planned = desk.outline.segments[0]
    latest = planned.start_ms + min(CAUTION_LATEST_MS, planned.length_ms // 2)
    yield from desk.floating(
        "caution",
        CueKind.CAUTION,
        0,
        (Reading({}, first, latest),),
        prefer_ms=max(first, min(7_000, desk.outline.lead_in_ms // 4)),
    )


def _first_goal(desk: Desk) -> Iterator[Candidate]:
    """What the first segment asks, once welcome and caution are over; then ten seconds."""
    lead_in, room, fields = desk.outline.lead_in_ms, desk.opening_room(), desk.facts.segment(0)
    yield from desk.floating(
        "s01.goal",
        CueKind.GOAL,
        0,
        (within(room, lead_in // 2, lead_in - 11_000, fields),),
        cases=(desk.facts.target_case(0), "effort"),
        prefer_ms=lead_in - 15_000,
    )
    if lead_in < 15_000 or desk.boundaries[0].change is not Change.GO:
        return
    at_ms = lead_in - 10 * MS_PER_S
    timed = fields | {"left": TimeValue(10 * MS_PER_S)}
    yield from desk.floating(
        "s01.ready.10",
        CueKind.GET_READY,
        0,
        (
            within(room, at_ms - EXACT_MS, at_ms + EXACT_MS, timed, must=frozenset({"left"})),
            within(room, at_ms - 2_000, at_ms + 3_000, fields),
        ),
        cases=("start",),
        prefer_ms=at_ms,
    )


def closing_cues(desk: Desk) -> Iterator[Candidate]:
    """Yield what is said after the last stroke."""
    outline = desk.outline
    start, latest = outline.row_end_ms, outline.duration_ms - CLOSING_MS
    yield from desk.floating(
        "results",
        CueKind.RESULTS,
        len(outline.segments) - 1,
        (within((start + 1_000, latest), start, latest, desk.facts.session()),),
        prefer_ms=start + 2_500,
    )


def expected_ends(desk: Desk) -> Iterator[Candidate]:
    """Yield what is said where each distance piece should be over."""
    for boundary in desk.boundaries:
        if boundary.change is Change.EXPECTED and boundary.before is not None:
            yield from _expected_end(desk, boundary, boundary.before.index)


def _expected_end(desk: Desk, boundary: Boundary, index: int) -> Iterator[Candidate]:
    after, at_ms = boundary.after, boundary.at_ms
    room_ms = after.length_ms // 2 if after else desk.outline.tail_ms - CLOSING_MS
    latest = at_ms + min(EXPECTED_ROOM_MS, max(room_ms, 0))
    case = "finish" if after is None else "row" if after.kind == "row" else "break"
    yield from desk.floating(
        f"{numbered(desk.outline.segments[index])}.expected-end",
        CueKind.EXPECTED_END,
        index,
        (Reading(desk.facts.segment(index), at_ms, latest),),
        cases=(case,),
        prefer_ms=at_ms + 300,
    )
