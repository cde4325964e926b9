"""Whether a cue sheet holds together, beyond what its types can say.

Every reader calls `check_sheet`, so that what comes out of a file someone edited
is as sound as what the scheduler made: segments without holes, cues in order and
apart, firm facts where they belong. One broken rule, one SheetError that names
the cues or segments by id or number (segments count from 1 in messages).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import pairwise

from cuegen.clock import stamp_text
from cuegen.errors import SheetError
from cuegen.schedule.cuesheet import LEAD_MS, Cue, CueSheet, SheetSegment
from cuegen.sheet.wording import one_line

MAX_MS = 24 * 3_600_000
"""No track is longer than a day; more is a slip of units."""

_RATE = re.compile(r"\d{1,2}(-\d{1,2})?")


def check_sheet(sheet: CueSheet) -> None:
    """Raise SheetError for the first rule that a sheet breaks."""
    _check_span(sheet)
    _check_numbers(sheet)
    _check_segments(sheet)
    _check_ids(sheet)
    for cue in sheet.cues:
        _check_cue(cue, sheet)
    for before, after in pairwise(sheet.cues):
        _check_pair(before, after)


def _check_span(sheet: CueSheet) -> None:
    if sheet.duration_ms > MAX_MS:
        raise SheetError(
            f"the track would last {stamp_text(sheet.duration_ms)}, longer than a day",
            remedy="All _ms fields are milliseconds; look whether one holds something finer.",
        )
    if not sheet.segments:
        raise SheetError(
            "the sheet has no segments", remedy="A sheet needs one stretch of rowing at least."
        )


def _check_numbers(sheet: CueSheet) -> None:
    """JSON has no way to write infinity, but 1e999 becomes one."""
    for name, value in _numbers(sheet):
        if not math.isfinite(value):
            raise SheetError(f"{name} is {value}, not a number", remedy="Give a finite number.")


def _numbers(sheet: CueSheet) -> Iterator[tuple[str, float]]:
    yield "talk_share", sheet.talk_share
    if sheet.sound.loudness_lufs is not None:
        yield "sound.loudness_lufs", sheet.sound.loudness_lufs
    if sheet.sound.bed is not None:
        yield "sound.bed.below_db", sheet.sound.bed.below_db
    for number, segment in enumerate(sheet.segments, 1):
        for name in ("metres", "strokes", "watts"):
            value: float | None = getattr(segment, name)
            if value is not None:
                yield f"{name} of segment {number}", value


def _check_segments(sheet: CueSheet) -> None:
    _check_segment_edges(sheet)
    for number, segment in enumerate(sheet.segments, 1):
        _check_segment(number, segment)
    for number, (before, after) in enumerate(pairwise(sheet.segments), 1):
        if before.end_ms != after.start_ms:
            what = "a hole" if before.end_ms < after.start_ms else "an overlap"
            raise SheetError(
                f"there is {what} between segment {number}, which ends at "
                f"{stamp_text(before.end_ms)}, and segment {number + 1}, which starts at "
                f"{stamp_text(after.start_ms)}",
                remedy="Segments touch: make the one's end_ms the other's start_ms.",
            )


def _check_segment_edges(sheet: CueSheet) -> None:
    first, last = sheet.segments[0], sheet.segments[-1]
    if first.start_ms != sheet.lead_in_ms:
        raise SheetError(
            f"segment 1 starts at {stamp_text(first.start_ms)}, "
            f"the lead-in ends at {stamp_text(sheet.lead_in_ms)}",
            remedy="Make lead_in_ms and the first start_ms equal.",
        )
    if last.end_ms != sheet.row_end_ms:
        raise SheetError(
            f"the last segment ends at {stamp_text(last.end_ms)}, "
            f"row_end_ms says {stamp_text(sheet.row_end_ms)}",
            remedy="Make row_end_ms and the last end_ms equal.",
        )
    if sheet.row_end_ms > sheet.duration_ms:
        raise SheetError(
            f"rowing ends at {stamp_text(sheet.row_end_ms)}, "
            f"after the track, which ends at {stamp_text(sheet.duration_ms)}",
            remedy="Make duration_ms no less than row_end_ms.",
        )


def _check_segment(number: int, segment: SheetSegment) -> None:
    if segment.end_ms <= segment.start_ms:
        raise SheetError(
            f"segment {number} ends at {stamp_text(segment.end_ms)}, "
            f"not after its start at {stamp_text(segment.start_ms)}",
            remedy="Give end_ms more than start_ms.",
        )
    if segment.rate is not None and not _RATE.fullmatch(segment.rate):
        raise SheetError(
            f"the rate of segment {number} is {segment.rate!r}",
            remedy='Write strokes per minute as "20", or a band as "18-20".',
        )
    if segment.split_ms is not None and segment.split_ms <= 0:
        raise SheetError(
            f"the split of segment {number} is {segment.split_ms} ms",
            remedy="Give milliseconds per 500 m, or null.",
        )


def _check_ids(sheet: CueSheet) -> None:
    seen: dict[str, Cue] = {}
    for cue in sheet.cues:
        if not one_line(cue.id):
            raise SheetError(f"the cue {cue.text!r} has an empty id", remedy="Give it a name.")
        if cue.id in seen:
            raise SheetError(
                f"two cues are called {cue.id!r}: {seen[cue.id].text!r} and {cue.text!r}",
                remedy="Give each cue an id of its own.",
            )
        seen[cue.id] = cue


def _check_cue(cue: Cue, sheet: CueSheet) -> None:
    _check_text(cue)
    if cue.at_ms - cue.start_ms != LEAD_MS:
        raise SheetError(
            f"cue {cue.id!r}: its first word begins at {stamp_text(cue.at_ms)}, its clip at "
            f"{stamp_text(cue.start_ms)}",
            remedy=f"start_ms is always {LEAD_MS} ms before at_ms.",
        )
    if cue.end_ms <= cue.at_ms:
        raise SheetError(
            f"cue {cue.id!r} ends at {stamp_text(cue.end_ms)}, "
            f"not after its first word at {stamp_text(cue.at_ms)}",
            remedy="end_ms is start_ms plus the length of the clip.",
        )
    if cue.end_ms > sheet.duration_ms:
        raise SheetError(
            f"cue {cue.id!r} ends at {stamp_text(cue.end_ms)}, "
            f"after the track, which ends at {stamp_text(sheet.duration_ms)}",
            remedy="Move the cue to an earlier time, or lengthen duration_ms.",
        )
    if cue.segment >= len(sheet.segments):
        raise SheetError(
            f"cue {cue.id!r} belongs to segment index {cue.segment}, "
            f"but there are only {len(sheet.segments)}",
            remedy=f"Indices count from 0: the last is {len(sheet.segments) - 1}.",
        )
    _check_quiet(cue, sheet)


def _check_text(cue: Cue) -> None:
    if not one_line(cue.text):
        raise SheetError(
            f"cue {cue.id!r} has nothing to say", remedy="Give it words, or take the cue out."
        )
    for name, text in (("id", cue.id), ("text", cue.text)):
        if any("\ud800" <= ch <= "\udfff" for ch in text):
            raise SheetError(
                f"the {name} of cue {cue.id!a} holds half a character that no file can hold",
                remedy="Type the text again.",
            )


def _check_quiet(cue: Cue, sheet: CueSheet) -> None:
    if cue.firm:
        return
    for span in sheet.quiet:
        if cue.start_ms < span.end_ms and cue.end_ms > span.start_ms:
            raise SheetError(
                f"the floating cue {cue.id!r} at {stamp_text(cue.at_ms)} speaks in the quiet from "
                f"{stamp_text(span.start_ms)} to {stamp_text(span.end_ms)}",
                remedy="Move the cue out of it, or take it out of `quiet`.",
            )


def _check_pair(before: Cue, after: Cue) -> None:
    if after.start_ms < before.start_ms:
        raise SheetError(
            f"cue {after.id!r} at {stamp_text(after.at_ms)} stands behind "
            f"{before.id!r} at {stamp_text(before.at_ms)}",
            remedy="Put the cues in order of start_ms.",
        )
    if after.start_ms < before.end_ms:
        raise SheetError(
            f"cues {before.id!r} and {after.id!r} overlap: the first ends at "
            f"{stamp_text(before.end_ms)}, the second starts at {stamp_text(after.start_ms)}",
            remedy="Move one of them, or shorten the first.",
        )
