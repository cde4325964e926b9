"""Sheets for Hypothesis: any words, any lengths, but sound by the rules of checking."""

from __future__ import annotations

from hypothesis import strategies as st

from cuegen.schedule.cuesheet import LEAD_MS, Cue, CueSheet
from cuegen.script.kinds import CueKind
from cuegen.sheet.wording import one_line
from tests.sheet.samples import sample_sheet

AWKWARD = ("=1+1", "+3", "-2", "@sum", "\ttab", "\rreturn", "'quoted", "''", "a,b;c\td", 'say "go"')

words = (
    st.text(st.characters(codec="utf-8"), min_size=1, max_size=30)
    | st.sampled_from(AWKWARD)
    | st.tuples(st.sampled_from("=+-@\t\r\n'\uff1d "), st.text(max_size=5)).map("".join)
).filter(lambda text: bool(one_line(text)))


@st.composite
def sheets(draw: st.DrawFn) -> CueSheet:
    """Return a checked sheet with cues whose ids, words and themes are anything."""
    base = sample_sheet(quiet=())
    names = draw(st.lists(words, min_size=0, max_size=8, unique=True))
    cursor = 0
    cues: list[Cue] = []
    for name in names:
        start = cursor + draw(st.integers(0, 30_000))
        length = draw(st.integers(LEAD_MS + 1, 20_000))
        cursor = start + length
        kind = draw(st.sampled_from(CueKind))
        cues.append(
            Cue(
                id=name,
                kind=kind,
                firm=draw(st.booleans()),
                at_ms=start + LEAD_MS,
                start_ms=start,
                end_ms=cursor,
                text=draw(words),
                segment=draw(st.integers(0, len(base.segments) - 1)),
                theme=draw(st.none() | words),
                speed=draw(st.sampled_from((1.0, 1.06, 1.12))),
            )
        )
    title = draw(words)
    return base.model_copy(update={"cues": tuple(cues), "title": title})
