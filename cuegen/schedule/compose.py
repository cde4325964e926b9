"""Outline and placement -> CueSheet: the same facts in the shape that is handed on."""

from __future__ import annotations

from cuegen.plan.loudness import asked_lufs
from cuegen.plan.model import Bed, Distance, Rate, Session
from cuegen.schedule.board import Placed
from cuegen.schedule.cuesheet import (
    Cue,
    CueSheet,
    LeftOut,
    SheetBed,
    SheetBlock,
    SheetSegment,
    Sound,
    Span,
)
from cuegen.schedule.limits import talk_limit
from cuegen.schedule.place import Placement, Refused
from cuegen.schedule.rules import Frame
from cuegen.targets.outline import Outline, PlannedSegment


def compose(
    outline: Outline,
    placement: Placement,
    frame: Frame,
    notes: tuple[str, ...] = (),
    *,
    unsaid: int = 0,
) -> CueSheet:
    """Return the finished sheet of a session. unsaid: cues that no fresh words were left for."""
    session = outline.session
    return CueSheet(
        title=session.title,
        duration_ms=outline.duration_ms,
        lead_in_ms=outline.lead_in_ms,
        row_end_ms=outline.row_end_ms,
        early_ms=outline.early_ms,
        late_ms=outline.late_ms,
        audience=session.audience.value,
        talk_share=session.talk_share,
        sound=_sound(session),
        segments=tuple(_segment(planned) for planned in outline.segments),
        cues=tuple(_cue(placed) for placed in placement.placed),
        quiet=tuple(Span(start_ms=start, end_ms=end) for start, end in frame.quiet),
        left_out=tuple(_left_out(refused) for refused in placement.refused),
        notes=notes,
        block=_block(session),
        rower=outline.rower,
        rower_say=_spoken_name(outline),
        talk_limit=talk_limit(placement, frame, session.talk_share, unsaid),
    )


def _spoken_name(outline: Outline) -> str | None:
    """Return how the rower's name is spoken, as far as the plan of this very rower says it."""
    session = outline.session
    return session.rower_say if outline.rower == session.rower else None


def _block(session: Session) -> SheetBlock | None:
    block = session.block
    return None if block is None else SheetBlock(name=block.name, week=block.week)


def _sound(session: Session) -> Sound:
    return Sound(
        voice=session.voice,
        language=session.language,
        loudness_lufs=asked_lufs(session),
        bed=_bed(session.bed),
        alert=session.alert,
        stroke_tones=session.stroke_tones,
        recovery_tone=session.recovery_tone,
    )


def _bed(bed: Bed | None) -> SheetBed | None:
    if bed is None:
        return None
    return SheetBed(file=bed.file, below_db=bed.below_db, more=bed.more)


def _segment(planned: PlannedSegment) -> SheetSegment:
    length = planned.segment.length
    return SheetSegment(
        start_ms=planned.start_ms,
        end_ms=planned.end_ms,
        kind=planned.kind,
        rate=rate_text(planned.segment.rate),
        split_ms=planned.split_ms,
        label=segment_label(planned),
        effort_pct=planned.effort_pct,
        metres=round(planned.metres, 1),
        strokes=None if planned.strokes is None else round(planned.strokes, 1),
        watts=round(planned.watts, 1) if planned.metres else None,
        predicted=planned.predicted,
        reason=planned.reason,
        distance_m=length.metres if isinstance(length, Distance) else None,
    )


def rate_text(rate: Rate | None) -> str | None:
    """Return "20", or "18-20" for a band."""
    if rate is None:
        return None
    return f"{rate.low}-{rate.high}" if rate.is_band else str(rate.low)


def segment_label(planned: PlannedSegment) -> str:
    """Return what a chapter list calls a segment: "Row 2 of 4, 750 m, rate 24"."""
    segment = planned.segment
    parts = [segment.kind.value.capitalize()]
    if segment.repeats > 1 and segment.spec.is_work:
        parts[0] += f" {segment.repeat + 1} of {segment.repeats}"
    if isinstance(segment.length, Distance):
        parts.append(f"{segment.length.metres} m")
    if segment.rate is not None:
        parts.append(f"rate {rate_text(segment.rate)}")
    return ", ".join(parts)


def _cue(placed: Placed) -> Cue:
    candidate = placed.candidate
    return Cue(
        id=candidate.id,
        kind=candidate.kind,
        firm=candidate.firm,
        at_ms=placed.at_ms,
        start_ms=placed.start_ms,
        end_ms=placed.end_ms,
        text=placed.line.text,
        segment=candidate.segment,
        theme=candidate.theme,
        speed=placed.line.speed,
    )


def _left_out(refused: Refused) -> LeftOut:
    candidate = refused.candidate
    return LeftOut(
        id=candidate.id,
        kind=candidate.kind,
        text=candidate.wordings[0].text,
        why=refused.why,
        lost_to=refused.lost_to,
        at_ms=candidate.prefer_ms,
    )
