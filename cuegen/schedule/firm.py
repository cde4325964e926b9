"""Firm cues: each on its instant, in the fullest words that end in time for the next.

Where two of them cannot both be spoken the plan is at fault, and the error names
its line. A little faster is tried before shorter words.

`measure` gives the length in milliseconds of a line's finished clip in the
chosen voice, so that what is placed here is what will be heard.
"""

from __future__ import annotations

from collections.abc import Callable

from cuegen.errors import ScheduleError
from cuegen.schedule.board import Placed
from cuegen.schedule.cuesheet import GAP_MS, LEAD_MS
from cuegen.schedule.rules import SPEEDS, Frame
from cuegen.script.candidate import Candidate, Line
from cuegen.script.kinds import CUE_KINDS, CueKind

Measure = Callable[[Line], int]


def place_firm(firm: list[Candidate], frame: Frame, measure: Measure) -> list[Placed]:
    """Give each firm cue its fullest wording that ends in time for the next.

    Raises ScheduleError, naming the plan's line, where one cannot stand.
    """
    ordered = sorted(firm, key=lambda c: (c.wordings[0].earliest_ms, c.id))
    placed: list[Placed] = []
    for number, candidate in enumerate(ordered):
        follower = ordered[number + 1] if number + 1 < len(ordered) else None
        placed.append(_firm_cue(candidate, follower, frame, measure))
    return placed


def _firm_cue(
    candidate: Candidate, follower: Candidate | None, frame: Frame, measure: Measure
) -> Placed:
    at_ms = candidate.wordings[0].earliest_ms
    limit = _firm_limit(candidate, follower, frame)
    if at_ms < LEAD_MS:
        raise _no_time_before(candidate)
    for wording in candidate.wordings:
        for speed in SPEEDS:
            line = Line(wording.text, speed)
            cue = Placed(candidate, line, at_ms, measure(line))
            if cue.end_ms <= limit:
                return cue
    raise _cannot_stand(candidate, follower, limit, measure)


def _firm_limit(candidate: Candidate, follower: Candidate | None, frame: Frame) -> int:
    """Return the instant by which a firm cue's clip must have ended."""
    if follower is None:
        return frame.duration_ms
    gap = 0 if _in_one_count(candidate, follower) else GAP_MS
    return follower.wordings[0].earliest_ms - LEAD_MS - gap


def _in_one_count(first: Candidate, second: Candidate) -> bool:
    return CueKind.BEAT in (first.kind, second.kind)


def _no_time_before(candidate: Candidate) -> ScheduleError:
    text = candidate.wordings[0].text
    return ScheduleError(
        f"{text!r} would have to be said before the track begins",
        where=candidate.where,
        remedy="Lengthen `lead_in`, or count in with fewer beats (`count_in`).",
    )


def _cannot_stand(
    candidate: Candidate, follower: Candidate | None, limit: int, measure: Measure
) -> ScheduleError:
    shortest = candidate.wordings[-1]
    room = limit - shortest.earliest_ms + LEAD_MS
    needs = measure(Line(shortest.text, SPEEDS[-1]))
    rival = repr(follower.wordings[0].text) if follower else "the end of the track"
    return ScheduleError(
        f"{shortest.text!r} lasts {needs / 1000:.2f} s, but {rival} leaves it "
        f"{max(room, 0) / 1000:.2f} s",
        where=_at_fault(candidate, follower).where,
        remedy="Lengthen the segment, count in with fewer beats (`count_in`), "
        "or move the line of your own (`say`, `pin`).",
    )


def _at_fault(candidate: Candidate, follower: Candidate | None) -> Candidate:
    """Return which of two cues the coach can move: a line of their own, or one that is pinned."""
    for cue in (candidate, follower):
        if cue is not None and (cue.kind is CueKind.OWN or not CUE_KINDS[cue.kind].firm):
            return cue
    return candidate
