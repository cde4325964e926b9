"""The coach's own lines: firm, at the instant that the plan gives them.

Figures are written out in words, so that the sheet shows what is heard and the
words can be found again in the sound: "10" becomes "ten", "2:05" a split, "80%"
"eighty percent".
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from cuegen.clock import parse_split
from cuegen.errors import PlanError
from cuegen.plan.model import SayLine
from cuegen.script.candidate import Candidate, Wording
from cuegen.script.desk import Desk
from cuegen.script.kinds import CueKind
from cuegen.script.phrase import tidy, unspeakable
from cuegen.script.spoken import SpokenForms, spoken_forms
from cuegen.targets.outline import Outline

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
            wordings=(Wording(_spoken(line, forms), at_ms, at_ms),),
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


def _spoken(line: SayLine, forms: SpokenForms) -> str:
    text = tidy(in_words(line.text, forms))
    signs = unspeakable(text)
    if signs or not text:
        raise PlanError(
            f"{signs!r} in a line of `say` cannot be spoken" if signs else "a `say` line is empty",
            where=line.where,
            remedy="Write it in words.",
        )
    return text


def _instant(line: SayLine, outline: Outline) -> int:
    if line.segment is None:
        at_ms = outline.lead_in_ms + (line.at_ms or 0)
    elif not 1 <= line.segment <= len(outline.segments):
        raise PlanError(
            f"there is no segment {line.segment} to say a line in",
            where=line.where,
            remedy=f"The session has {len(outline.segments)}.",
        )
    else:
        planned = outline.segments[line.segment - 1]
        base = planned.end_ms if line.offset_ms < 0 else planned.start_ms
        at_ms = base + line.offset_ms
    if not 0 < at_ms < outline.duration_ms:
        raise PlanError(
            "this line would be said outside the session",
            where=line.where,
            remedy="Give an instant between the first stroke and the last.",
        )
    return at_ms


def _id(line: SayLine) -> str:
    if line.segment is None:
        return f"own.at.{line.at_ms or 0}"
    return f"own.s{line.segment:02d}.{line.offset_ms}"
