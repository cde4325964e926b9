"""A session with its targets worked out and laid on the clock.

Conventions
    Whole milliseconds of the finished track: the lead-in (welcome and count-in),
    then the segments, touching, then the tail for the closing words. A distance
    piece is as long as its pace makes it; its start and end, and those of all
    that follows, are predictions.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from cuegen.clock import MS_PER_S, clock_text
from cuegen.errors import PlanError
from cuegen.plan.limits import MAX_SESSION_MS
from cuegen.plan.model import Distance, Duration, Segment, Session
from cuegen.targets.aim import Aim, Rowing, aims
from cuegen.targets.effort import efforts
from cuegen.targets.outline import Outline, PlannedSegment
from cuegen.targets.pace import Pace, paces
from cuegen.targets.power import metres_in, strokes_in, time_for, watts_from_split, whole
from cuegen.targets.rowed import Results

LEAD_IN_MS = 30_000
"""Room before the first stroke for the welcome, the caution and the count-in."""

TAIL_MS = 12_000
"""Room after the last stroke for the closing words."""

COUNT_ROOM_MS = 500
"""Silence before the first beat of a count-in, whose beats are a second apart."""

SPREAD = 0.02
"""How far the pace of a distance piece may lie off for early_ms and late_ms."""


def outline(
    session: Session,
    results: Results | None = None,
    *,
    rower: str | None = None,
    day: date | None = None,
) -> Outline:
    """Return the session on the clock, every target worked out.

    rower: whose results `@last` looks up; the plan's own `rower` by default. day: that of
    the session, from which results are so many weeks old.
    Raises PlanError for a target, a length or a lead-in that cannot be.
    """
    segments = session.segments
    if not segments:
        raise PlanError(
            "the session has no segments", where=session.where, remedy="Write at least one line."
        )
    rowing = Rowing(session.audience, rower or session.rower, results, day)
    lead_in_ms = _lead_in_ms(session)
    laid = tuple(_laid(segments, rowing, lead_in_ms))
    spread_ms = whole(SPREAD * _distance_ms(laid))
    return Outline(
        session=session,
        segments=laid,
        lead_in_ms=lead_in_ms,
        tail_ms=TAIL_MS,
        early_ms=spread_ms,
        late_ms=spread_ms,
        rower=rowing.rower,
    )


def _lead_in_ms(session: Session) -> int:
    lead_in_ms = LEAD_IN_MS if session.lead_in_ms is None else session.lead_in_ms
    needed_ms = session.count_in * MS_PER_S + COUNT_ROOM_MS if session.count_in else 0
    if lead_in_ms < needed_ms:
        raise PlanError(
            f"a count-in of {session.count_in} does not fit into {lead_in_ms / 1000:g} s before "
            "the first stroke",
            where=session.where,
            remedy=f"Give it {needed_ms / 1000:g} s or more, or set count_in to 0.",
        )
    return lead_in_ms


def _laid(segments: Sequence[Segment], rowing: Rowing, start_ms: int) -> Iterator[PlannedSegment]:
    found = aims(segments, rowing)
    hard = efforts(segments)
    at_ms, predicted = start_ms, False
    for segment, aim, effort, pace in zip(
        segments, found, hard, paces(segments, found, hard, rowing), strict=True
    ):
        predicted = predicted or isinstance(segment.length, Distance)
        planned = _planned(segment, aim, pace, effort, at_ms)
        at_ms = planned.end_ms
        if at_ms - start_ms > MAX_SESSION_MS:
            raise PlanError(
                f"by here the session lasts {clock_text(at_ms - start_ms)}, over 12 hours",
                where=segment.where,
                remedy="Check this length and the number of repeats.",
            )
        yield replace(planned, predicted=predicted)


def _planned(
    segment: Segment, aim: Aim, pace: Pace, effort_pct: int, start_ms: int
) -> PlannedSegment:
    length_ms = _length_ms(segment, pace.split_ms)
    rowing = segment.spec.is_rowing
    return PlannedSegment(
        segment=segment,
        start_ms=start_ms,
        end_ms=start_ms + length_ms,
        split_ms=aim.split_ms,
        pace_ms=pace.split_ms,
        basis=aim.basis,
        effort_pct=effort_pct,
        metres=_metres(segment, length_ms, pace.split_ms),
        strokes=strokes_in(length_ms, segment.rate.middle) if rowing and segment.rate else None,
        watts=watts_from_split(pace.split_ms) if rowing else 0.0,
        predicted=False,
        reason="; ".join(part for part in (aim.reason, pace.assumed) if part),
        last_rate=aim.last_rate,
        last_change_ms=aim.last_change_ms,
    )


def _length_ms(segment: Segment, pace_ms: int) -> int:
    match segment.length:
        case Duration(ms=length_ms):
            pass
        case Distance() if not segment.spec.is_rowing:
            raise PlanError(
                "a rest has no metres", where=segment.where, remedy="Give it a time, such as 2:00."
            )
        case Distance(metres=metres):
            length_ms = time_for(metres, pace_ms)
    if length_ms <= 0:
        raise PlanError(
            "a segment has no length", where=segment.where, remedy="Give it a time or metres."
        )
    return length_ms


def _metres(segment: Segment, length_ms: int, pace_ms: int) -> float:
    if not segment.spec.is_rowing:
        return 0.0
    if isinstance(segment.length, Distance):
        return float(segment.length.metres)
    return metres_in(length_ms, pace_ms)


def _distance_ms(laid: Sequence[PlannedSegment]) -> int:
    return sum(one.length_ms for one in laid if isinstance(one.segment.length, Distance))
