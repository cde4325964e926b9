"""A cue sheet made by hand, its values all different, so that a mix-up of two fields shows.

25 s of opening, a warm-up, a timed row, a 750 m row, a cool-down and closing
words. 750 m at 2:00.0 is 180 s (time = distance x split / 500 m), 2 % of it 3.6 s.
"""

from __future__ import annotations

from cuegen.plan.model import SegmentKind, ToneSpan
from cuegen.schedule.cuesheet import (
    LEAD_MS,
    Cue,
    CueSheet,
    LeftOut,
    SheetBed,
    SheetSegment,
    Sound,
    Span,
)
from cuegen.script.kinds import CUE_KINDS, CueKind


def cue(
    name: str,
    kind: CueKind,
    at_ms: int,
    length_ms: int,
    text: str,
    *,
    segment: int,
    theme: str | None = None,
    speed: float = 1.0,
) -> Cue:
    """Return a cue whose clip begins LEAD_MS before its first word."""
    return Cue(
        id=name,
        kind=kind,
        firm=CUE_KINDS[kind].firm,
        at_ms=at_ms,
        start_ms=at_ms - LEAD_MS,
        end_ms=at_ms - LEAD_MS + length_ms,
        text=text,
        segment=segment,
        theme=theme,
        speed=speed,
    )


def segments() -> tuple[SheetSegment, ...]:
    return (
        SheetSegment(
            start_ms=25_000,
            end_ms=145_000,
            kind=SegmentKind.WARM_UP,
            rate="18",
            split_ms=None,
            label="Warm-up, rate 18",
            effort_pct=55,
            metres=431.4,
            strokes=36.0,
            watts=120.5,
            reason="easy, to get warm",
        ),
        SheetSegment(
            start_ms=145_000,
            end_ms=385_000,
            kind=SegmentKind.ROW,
            rate="20",
            split_ms=134_000,
            label="Row 1 of 2, rate 20",
            effort_pct=75,
            metres=895.5,
            strokes=80.0,
            watts=145.4,
            reason="2:14.0 given in the plan",
        ),
        SheetSegment(
            start_ms=385_000,
            end_ms=565_000,
            kind=SegmentKind.ROW,
            rate="24-26",
            split_ms=120_000,
            label="Row 2 of 2, 750 m, rate 24-26",
            effort_pct=85,
            metres=750.0,
            strokes=75.5,
            watts=202.5,
            predicted=True,
            reason="2:00.0 given in the plan",
            distance_m=750,
        ),
        SheetSegment(
            start_ms=565_000,
            end_ms=661_250,
            kind=SegmentKind.COOL_DOWN,
            rate=None,
            split_ms=None,
            label="Cool-down",
            effort_pct=50,
            metres=312.7,
            strokes=None,
            watts=98.7,
            predicted=True,
            reason="light, to come down",
        ),
    )


def cues() -> tuple[Cue, ...]:
    return (
        cue("welcome", CueKind.WELCOME, 500, 4_321, "Welcome to the Alder ladder.", segment=0),
        cue("caution", CueKind.CAUTION, 6_010, 5_432, "Stop if anything hurts.", segment=0),
        cue("count.0.3", CueKind.BEAT, 22_000, 411, "Three.", segment=0),
        cue("count.0.2", CueKind.BEAT, 23_000, 402, "Two.", segment=0),
        cue("count.0.1", CueKind.BEAT, 24_000, 393, "One.", segment=0),
        cue("start.0", CueKind.START, 25_000, 1_234, "Go, rate eighteen.", segment=0),
        cue("goal.1", CueKind.GOAL, 80_007, 3_210, "Next: twenty, two fourteen.", segment=1),
        cue("change.1", CueKind.RATE_CHANGE, 145_000, 1_357, "Rate up, twenty.", segment=1),
        cue(
            "technique.1.1",
            CueKind.TECHNIQUE,
            200_250,
            3_003,
            "Let the wheel spin down & breathe.",
            segment=1,
            theme="recovery",
            speed=1.06,
        ),
        cue("own.1", CueKind.OWN, 230_000, 2_002, "Kit, sit tall on the seat.", segment=1),
        cue("left.1.60", CueKind.TIME_LEFT, 325_125, 1_111, "One minute left.", segment=1),
        cue("change.2", CueKind.RATE_CHANGE, 385_000, 1_468, "Rate up, twenty-four.", segment=2),
        cue(
            "technique.2.1",
            CueKind.TECHNIQUE,
            420_375,
            2_525,
            "Hang off the handle.",
            segment=2,
            theme="legs",
        ),
        cue("end.2", CueKind.EXPECTED_END, 562_000, 1_515, "Nearly there.", segment=2),
        cue("cool.3", CueKind.COOL_DOWN, 600_450, 2_626, "Long and light.", segment=3),
        cue("finish", CueKind.FINISH, 661_250, 1_717, "And done.", segment=3),
        cue("results", CueKind.RESULTS, 664_000, 2_828, "Write your splits down.", segment=3),
    )


def sample_sheet(**changes: object) -> CueSheet:
    """Return the sheet, with any fields changed (unchecked, for tests of the checks)."""
    sheet = CueSheet(
        title="Alder ladder <thirteen>",
        duration_ms=671_000,
        lead_in_ms=25_000,
        row_end_ms=661_250,
        early_ms=3_600,
        late_ms=3_600,
        audience="group",
        talk_share=0.35,
        sound=Sound(
            voice="small",
            language="en-gb",
            loudness_lufs=-17.5,
            bed=SheetBed(file="music.opus", below_db=22.5),
            stroke_tones=ToneSpan.FIRST_MINUTE,
        ),
        segments=segments(),
        cues=cues(),
        quiet=(Span(start_ms=440_000, end_ms=460_000),),
        left_out=(
            LeftOut(id="settle.1", kind=CueKind.SETTLE, text="Settle.", why="no room before it"),
        ),
        notes=("The cool-down is short.",),
    )
    return sheet.model_copy(update=changes) if changes else sheet
