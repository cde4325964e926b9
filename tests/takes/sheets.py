"""Small sheets whose every instant is given by hand."""

from __future__ import annotations

from cuegen.plan.model import SegmentKind
from cuegen.schedule.cuesheet import LEAD_MS, Cue, CueSheet, SheetSegment, Sound, Span
from cuegen.script.kinds import CueKind


def cue(
    cue_id: str,
    text: str,
    start_ms: int,
    length_ms: int,
    kind: CueKind = CueKind.TECHNIQUE,
    *,
    firm: bool = False,
) -> Cue:
    return Cue(
        id=cue_id,
        kind=kind,
        firm=firm,
        at_ms=start_ms + LEAD_MS,
        start_ms=start_ms,
        end_ms=start_ms + length_ms,
        text=text,
        segment=0,
    )


def sheet(
    *cues: Cue,
    quiet: tuple[tuple[int, int], ...] = (),
    voice: str = "natural",
    language: str = "en",
    duration_ms: int = 120_000,
) -> CueSheet:
    row = SheetSegment(
        start_ms=10_000,
        end_ms=duration_ms - 5_000,
        kind=SegmentKind.ROW,
        rate="20",
        split_ms=None,
        label="Row",
        effort_pct=70,
        metres=400.0,
        strokes=33.0,
        watts=None,
    )
    return CueSheet(
        title="By the slip",
        duration_ms=duration_ms,
        lead_in_ms=10_000,
        row_end_ms=duration_ms - 5_000,
        audience="group",
        talk_share=0.3,
        sound=Sound(voice=voice, language=language),
        segments=(row,),
        cues=cues,
        quiet=tuple(Span(start_ms=start, end_ms=end) for start, end in quiet),
    )
