"""The firm cues: counts, changes, ends, the halfway call, and the coach's own lines."""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.clock import MS_PER_S, clock_text
from cuegen.plan.model import Rate
from cuegen.script.boundaries import Boundary, Change, paddle_case
from cuegen.script.candidate import Candidate
from cuegen.script.desk import Desk, numbered
from cuegen.script.fields import Fields
from cuegen.script.kinds import CueKind
from cuegen.script.own import own_cues, own_instants
from cuegen.targets.outline import PlannedSegment

HALFWAY_BEFORE_MS = 3_000
HALFWAY_AFTER_MS = 2_500
"""A halfway call this close before a count, or after a firm line, would run into it."""


def firm_cues(desk: Desk) -> Iterator[Candidate]:
    """Yield every firm cue of the session; the desk is told of the halfway call."""
    halfway_ms = desk.halfway_ms = _halfway(desk)
    merged = False
    for boundary in desk.boundaries:
        _note_shortened(desk, boundary)
        yield from _beats(desk, boundary)
        joined = boundary.at_ms == halfway_ms and boundary.is_firm
        merged = merged or joined
        yield from _line(desk, boundary, _halfway_text(desk) if joined else "")
    if halfway_ms is not None and not merged:
        about = desk.segment_at(halfway_ms)
        yield desk.firm("halfway", CueKind.HALFWAY, about, halfway_ms)
    yield from own_cues(desk)


def _beats(desk: Desk, boundary: Boundary) -> Iterator[Candidate]:
    about = boundary.about
    stem = "finish" if boundary.after is None else numbered(about)
    for count in range(boundary.beats, 0, -1):
        yield desk.firm(
            f"{stem}.beat.{count}",
            CueKind.BEAT,
            about.index,
            boundary.at_ms - count * MS_PER_S,
            case="count",
            fields={"count": count},
        )


def _line(desk: Desk, boundary: Boundary, ending: str) -> Iterator[Candidate]:
    """Yield what is said on the instant itself."""
    if not boundary.is_firm:
        return
    stem, index, at_ms = numbered(boundary.about), boundary.about.index, boundary.at_ms
    match boundary.change:
        case Change.GO if boundary.beats and not ending:
            yield desk.firm(f"{stem}.beat.go", CueKind.BEAT, index, at_ms, case="go")
        case Change.GO:
            yield desk.firm(f"{stem}.start", CueKind.START, index, at_ms, case="go", ending=ending)
        case Change.NEXT_PIECE:
            yield desk.firm(
                f"{stem}.start",
                CueKind.START,
                index,
                at_ms,
                case="next-piece",
                fields=_counts(desk, index),
                ending=ending,
            )
        case Change.RATE:
            yield _rate_change(desk, boundary, ending)
        case Change.EASE:
            case = paddle_case(boundary.about)
            yield desk.firm(
                f"{stem}.ease",
                CueKind.SEGMENT_END,
                index,
                at_ms,
                case=case,
                fields=_counts(desk, index),
                ending=ending,
            )
        case _:
            yield desk.firm("finish", CueKind.FINISH, index, at_ms)


def _counts(desk: Desk, index: int) -> Fields:
    """Return which piece begins, of how many, and how many are done."""
    known = desk.facts.segment(index)
    return {name: known[name] for name in ("piece", "pieces", "done") if name in known}


def _rate_change(desk: Desk, boundary: Boundary, ending: str) -> Candidate:
    about = boundary.about
    rate = about.segment.rate
    assert rate is not None, "a change of rate has a rate"
    return desk.firm(
        f"{numbered(about)}.rate",
        CueKind.RATE_CHANGE,
        about.index,
        boundary.at_ms,
        case=_direction(boundary.before, rate),
        fields=_counts(desk, about.index) | {"rate": rate},
        ending=ending,
    )


def _direction(before: PlannedSegment | None, rate: Rate) -> str:
    known = before.segment.rate if before is not None else None
    if known is None or known.middle == rate.middle:
        return "change"
    return "up" if rate.middle > known.middle else "down"


def _note_shortened(desk: Desk, boundary: Boundary) -> None:
    if boundary.beats < boundary.wanted:
        desk.notes.append(
            f"the count before {clock_text(boundary.at_ms - desk.outline.lead_in_ms)} has "
            f"{boundary.beats} beats instead of {boundary.wanted}: "
            "the segment before it is too short"
        )


def _halfway(desk: Desk) -> int | None:
    """Return the instant of the halfway call, None (and a note) where there is none."""
    outline = desk.outline
    why = ""
    if any(planned.predicted for planned in outline.segments):
        why = "distance pieces make the session's length a prediction"
    elif _runs_into_boundary(desk, outline.halfway_ms):
        why = "it falls within a few seconds of a count or a change"
    elif _runs_into_own(desk, outline.halfway_ms):
        why = "a line of the coach's own stands there"
    if why:
        desk.notes.append(f"halfway of the session is not called: {why}")
        return None
    return outline.halfway_ms


def _runs_into_boundary(desk: Desk, halfway_ms: int) -> bool:
    for boundary in desk.boundaries:
        early = boundary.at_ms - boundary.count_ms - HALFWAY_BEFORE_MS
        if not boundary.is_firm or halfway_ms == boundary.at_ms:
            continue
        if early < halfway_ms < boundary.at_ms + HALFWAY_AFTER_MS:
            return True
    return False


def _runs_into_own(desk: Desk, halfway_ms: int) -> bool:
    lasts = [(at_ms, len(line.text) * 80) for line, at_ms in own_instants(desk.outline)]
    return any(
        at_ms - HALFWAY_BEFORE_MS < halfway_ms < at_ms + length + MS_PER_S
        for at_ms, length in lasts
    )


def _halfway_text(desk: Desk) -> str:
    """Return the shortest words for it, to follow a boundary's own line."""
    call = desk.firm("halfway", CueKind.HALFWAY, 0, desk.outline.halfway_ms)
    return call.wordings[-1].text
