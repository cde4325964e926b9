"""Publish notes: what a coach pastes under a recording, as plain text.

Conventions
    Chapters are track time, one a line, `m:ss Title`, the first at 0:00, each of them
    later than the one before: hosts that make chapters of such a list ask for that
    (common practice, no source). No rower's name or result goes into them: notes are
    public.
"""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from cuegen.clock import clock_text
from cuegen.plan.model import SEGMENT_KINDS
from cuegen.schedule.cuesheet import CueSheet, SheetSegment
from cuegen.sheet.cautions import CAUTIONS
from cuegen.sheet.webvtt import chapters_of
from cuegen.sheet.wording import length_words, one_line, rate_words, target_words

WIDTH = 72


def to_text(sheet: CueSheet) -> str:
    """Return the notes: title, what it is, chapters, targets, cautions."""
    parts = [_head(sheet), _chapters(sheet), _targets(sheet), _cautions()]
    return "\n\n".join("\n".join(part) for part in parts) + "\n"


def _head(sheet: CueSheet) -> Iterator[str]:
    yield one_line(sheet.title)
    rowing = clock_text(sheet.row_end_ms - sheet.lead_in_ms)
    pieces = sum(SEGMENT_KINDS[segment.kind].is_work for segment in sheet.segments)
    counted = f"{pieces} piece{'' if pieces == 1 else 's'}"
    yield f"A guided rowing session: {rowing} of rowing, {counted}."
    if sheet.block is not None:
        yield f"{one_line(sheet.block.name)}, week {sheet.block.week}."


def _chapters(sheet: CueSheet) -> Iterator[str]:
    yield "Chapters"
    before = ""
    for chapter in chapters_of(sheet):
        at = clock_text(chapter.start_ms)
        if at != before:  # two in one second: the first stands for both
            yield f"{at} {chapter.title}"
        before = at


def _targets(sheet: CueSheet) -> Iterator[str]:
    yield "What each part asks"
    for number, segment in enumerate(sheet.segments, start=1):
        yield f"{number}. {_asked(segment, own=sheet.rower is not None)}"


def _asked(segment: SheetSegment, *, own: bool) -> str:
    rate = f"rate {rate_words(segment)}" if segment.rate else ""
    # One rower's own split is theirs; the effort is everybody's.
    asks = f"{segment.effort_pct} % effort" if own and segment.effort_pct else target_words(segment)
    return ", ".join(
        part for part in (segment.kind.value, length_words(segment), rate, asks) if part
    )


def _cautions() -> Iterator[str]:
    yield "Before you row"
    for caution in CAUTIONS:
        yield from wrap(caution.replace("this sheet", "this track"), WIDTH)
