"""The coach's own lines: firm, at the instant that the plan gives them.

A line stands at an instant of the rowing, near the start or the end of a segment
or of a piece of work, or near a change; the change to segment 1 is the first stroke.

Figures are written out in words, so that the sheet shows what is heard and the
words can be found again in the sound: "10" becomes "ten", "2:05" a split, "80%"
"eighty percent".
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from cuegen.clock import clock_text, parse_split
from cuegen.errors import PlanError, Where
from cuegen.plan.model import Duration, SayLine
from cuegen.script.candidate import Candidate, Wording
from cuegen.script.desk import Desk
from cuegen.script.kinds import CueKind
from cuegen.script.phrase import tidy, unspeakable
from cuegen.script.spoken import SpokenForms, spoken_forms
from cuegen.targets.outline import Outline, PlannedSegment

_SPLIT = re.compile(r"(?<![\w.:])\d{1,2}:[0-5]\d(?:\.\d)?(?![\w:]|\.\d)")
_PERCENT = re.compile(r"(?<![\w.:])(\d{1,4})\s?%")
_COUNT = re.compile(r"(?<![\w.:,])(\d{1,6})(?![\w:]|[.,]\d)")


def own_instants(outline: Outline) -> list[tuple[SayLine, int]]:
    """Return the coach's lines with their instants on the track. Raises PlanError."""
    return [(line, _instant(line, outline)) for line in outline.session.say]


def own_cues(desk: Desk) -> Iterator[Candidate]:
    """Yield the coach's lines. Raises PlanError for one outside the track or unspeakable."""
    forms = spoken_forms(desk.outline.session.language)
    seen: dict[str, int] = {}
    for line, at_ms in own_instants(desk.outline):
        stem = _id(line)
        seen[stem] = seen.get(stem, 0) + 1
        yield Candidate(
            id=stem if seen[stem] == 1 else f"{stem}.{seen[stem]}",
            kind=CueKind.OWN,
            segment=desk.segment_at(at_ms),
            wordings=(Wording(spoken_text(line.text, forms, line.where, "say"), at_ms, at_ms),),
            firm=True,
            prefer_ms=at_ms,
            where=line.where,
        )


def in_words(text: str, forms: SpokenForms) -> str:
    """Return a text with its splits, percentages and whole numbers in words."""

    def split(found: re.Match[str]) -> str:
        return forms.split(parse_split(found[0]) or 0)

    text = _SPLIT.sub(split, text)
    text = _PERCENT.sub(lambda found: forms.percent(int(found[1])), text)
    return _COUNT.sub(lambda found: forms.count(int(found[1])), text)


def spoken_text(text: str, forms: SpokenForms, where: Where, field: str) -> str:
    """Return a coach's words as they are heard, figures in words. Raises PlanError.

    field: the field of the plan in which they stand, for the error.
    """
    said = tidy(in_words(text, forms))
    signs = unspeakable(said)
    if signs or not said:
        raise PlanError(
            f"{signs!r} in a line of `{field}` cannot be spoken"
            if signs
            else f"a `{field}` line is empty",
            where=where,
            remedy="Write it in words.",
        )
    return said


def _instant(line: SayLine, outline: Outline) -> int:
    if line.at_ms is not None:
        at_ms = outline.lead_in_ms + line.at_ms
    elif line.change is not None:
        begins = _named(line, line.change.number, outline, pieces=line.change.piece)
        at_ms = begins.start_ms + line.offset_ms
    elif line.piece is not None:
        at_ms = _inside(line, _named(line, line.piece, outline, pieces=True))
    else:
        at_ms = _inside(line, _named(line, line.segment or 0, outline, pieces=False))
    if not 0 < at_ms < outline.duration_ms:
        raise PlanError(
            "this line would be said outside the session",
            where=line.where,
            remedy="Give an instant between the first stroke and the last."
            if at_ms > 0
            else "Lengthen `lead_in`, or say it later.",
        )
    return at_ms


def _named(line: SayLine, number: int, outline: Outline, *, pieces: bool) -> PlannedSegment:
    """Return the segment, or the piece of work, of that number."""
    chosen = [planned for planned in outline.segments if planned.segment.spec.is_work or not pieces]
    if 1 <= number <= len(chosen):
        return chosen[number - 1]
    what = "piece" if pieces else "segment"
    raise PlanError(
        f"there is no {what} {number} to say a line in",
        where=line.where,
        remedy=f"The session has {len(chosen)}"
        + (": its segments of work." if pieces else "; breaks count too."),
    )


def _inside(line: SayLine, planned: PlannedSegment) -> int:
    """Return the instant of a line in a segment: from its start, or back from its end."""
    at_ms = (planned.end_ms if line.offset_ms < 0 else planned.start_ms) + line.offset_ms
    timed = isinstance(planned.segment.length, Duration)
    if timed and not planned.start_ms <= at_ms < planned.end_ms:
        what = "segment" if line.piece is None else "piece"
        raise PlanError(
            f"this instant lies outside its {what}",
            where=line.where,
            remedy=f"It lasts {clock_text(planned.length_ms)}.",
        )
    return at_ms


def _id(line: SayLine) -> str:
    if line.at_ms is not None:
        return f"own.at.{line.at_ms}"
    if line.change is not None:
        letter = "p" if line.change.piece else "s"
        return f"own.to.{letter}{line.change.number:02d}.{line.offset_ms}"
    if line.piece is not None:
        return f"own.p{line.piece:02d}.{line.offset_ms}"
    return f"own.s{line.segment or 0:02d}.{line.offset_ms}"
