"""The cue sheet as CSV: a coach edits words or times in a spreadsheet and it comes back.

Conventions
    One row a cue under one row of headings (cuegen.sheet.csv_cells.COLUMNS).
    The CSV carries what may be edited; what it does not carry (segments, sound,
    lengths of clips) comes from the JSON sheet it was written from, the base.

What an edit means
    words changed      the clip's new length is measured, a little faster where
                       the room before the next cue is short
    time changed       a floating cue moves, and a line of the coach's own, and a
                       cue that the plan pinned
    row taken out      the cue is dropped; a firm cue of the session is refused
    row without an id  a line of the coach's own, firm at its time
    row order          means nothing
Everything else that differs from the base is refused, with row and column.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable
from itertools import pairwise

from cuegen.errors import SheetError, Where
from cuegen.schedule.cuesheet import LEAD_MS, Cue, CueSheet
from cuegen.schedule.rules import SPEEDS
from cuegen.script.candidate import Line
from cuegen.script.kinds import CueKind
from cuegen.sheet.checking import check_sheet
from cuegen.sheet.csv_cells import COLUMNS, cells_of, time_text
from cuegen.sheet.csv_rows import Edit, is_bound, read_row
from cuegen.sheet.csv_table import Row, read_table

Measure = Callable[[Line], int]


def to_text(sheet: CueSheet) -> str:
    """Return the sheet as CSV with a byte-order mark, by which spreadsheets know UTF-8."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(column.name for column in COLUMNS)
    writer.writerows(cells_of(cue, sheet) for cue in sheet.cues)
    return "\ufeff" + out.getvalue()


def from_text(
    text: str, base: CueSheet, measure: Measure | None = None, file: str | None = None
) -> CueSheet:
    """Return the base with the edits of a CSV.

    measure: gives the length in ms of a line's clip in the sheet's voice; without
    it changed or added words are refused. Raises SheetError with row and column.
    """
    edits = [read_row(row, base) for row in read_table(text, file)]
    _check_unique(edits)
    _check_dropped(edits, base, file)
    edits.sort(key=lambda edit: (edit.at_ms, edit.row.number))
    placed = _measured(edits, base, measure)
    _check_apart(placed)
    _check_inside(placed, base)
    cues = _named(placed)
    notes = (*base.notes, *(note for edit, _ in placed for note in edit.notes))
    sheet = base.model_copy(update={"cues": tuple(cues), "notes": notes})
    try:
        check_sheet(sheet)
    except SheetError as bad:
        raise SheetError(bad.problem, where=Where(file), remedy=bad.remedy) from None
    return sheet


def _check_unique(edits: Iterable[Edit]) -> None:
    seen: dict[str, Row] = {}
    for edit in edits:
        if edit.was is None:
            continue
        other = seen.setdefault(edit.was.id, edit.row)
        if other is not edit.row:
            raise edit.row.error(
                "id",
                f"row {other.number} has the same id",
                "Delete one of the two, or clear this id to make the row a line of your own.",
            )


def _check_dropped(edits: list[Edit], base: CueSheet, file: str | None) -> None:
    """Raise for the first firm cue that has no row, naming the row it stood next to."""
    rows = {edit.was.id: edit.row for edit in edits if edit.was is not None}
    for index, cue in enumerate(base.cues):
        if cue.id in rows or not is_bound(cue):
            continue
        problem = (
            f"the row of the firm cue {cue.id!r} ({time_text(cue.at_ms)} {cue.text!r}) is gone"
        )
        remedy = "Put the row back: only floating cues and lines of your own can be dropped."
        after = next((rows[c.id] for c in base.cues[index:] if c.id in rows), None)
        before = next((rows[c.id] for c in base.cues[index::-1] if c.id in rows), None)
        row, side = (after, "above") if after is not None else (before, "below")
        if row is None:
            raise SheetError(problem, where=Where(file), remedy=remedy)
        raise row.error("id", f"{problem} from {side} this one", remedy)


def _measured(edits: list[Edit], base: CueSheet, measure: Measure | None) -> list[tuple[Edit, Cue]]:
    starts = [edit.at_ms - LEAD_MS for edit in edits]
    ends = [*starts[1:], base.duration_ms]  # one too many where every row is gone
    return [
        (edit, _cue_of(edit, room_ms=end - start, measure=measure))
        for edit, start, end in zip(edits, starts, ends, strict=False)
    ]


def _cue_of(edit: Edit, room_ms: int, measure: Measure | None) -> Cue:
    was = edit.was
    start_ms = edit.at_ms - LEAD_MS
    if was is not None and edit.text == was.text:
        moved_ms = start_ms - was.start_ms
        changes = {
            "at_ms": edit.at_ms,
            "start_ms": start_ms,
            "end_ms": was.end_ms + moved_ms,
            "segment": edit.segment,
            "theme": edit.theme,
        }
        return was.model_copy(update=changes)
    speed, length_ms = _spoken(edit, room_ms, measure)
    return Cue(
        id=was.id if was else "",
        kind=was.kind if was else CueKind.OWN,
        firm=was.firm if was else True,
        at_ms=edit.at_ms,
        start_ms=start_ms,
        end_ms=start_ms + length_ms,
        text=edit.text,
        segment=edit.segment,
        theme=edit.theme,
        speed=speed,
    )


def _spoken(edit: Edit, room_ms: int, measure: Measure | None) -> tuple[float, int]:
    """Return the pace and length of new words: the slowest pace that fits, else the first."""
    if measure is None:
        raise edit.row.error(
            "text",
            "the words are new, and without a voice their length is not known",
            "Name the voice that is to say them.",
        )
    lengths = [(speed, measure(Line(edit.text, speed))) for speed in SPEEDS[:1]]
    for speed in SPEEDS[1:]:
        if lengths[-1][1] <= room_ms:
            break
        lengths.append((speed, measure(Line(edit.text, speed))))
    return lengths[-1] if lengths[-1][1] <= room_ms else lengths[0]


def _check_apart(placed: list[tuple[Edit, Cue]]) -> None:
    for (early, before), (late, after) in pairwise(placed):
        if after.start_ms < before.end_ms:
            edit, column = _culprit(early, late)
            raise edit.row.error(
                column,
                f"rows {early.row.number} and {late.row.number} overlap: {before.text!r} is "
                f"spoken until {time_text(before.end_ms)}, {after.text!r} begins at "
                f"{time_text(after.start_ms)}",
                f"Shorten row {early.row.number}, or move one of the two that is not firm.",
            )


def _culprit(early: Edit, late: Edit) -> tuple[Edit, str]:
    """Return the edit that brought two lines together, and the column it was made in."""
    if early.was is None or early.text != early.was.text:
        return early, "text"
    if early.at_ms != early.was.at_ms:
        return early, "at"
    return late, "at"


def _check_inside(placed: list[tuple[Edit, Cue]], base: CueSheet) -> None:
    for edit, cue in placed:
        if cue.end_ms > base.duration_ms:
            raise edit.row.error(
                "at",
                f"the line is spoken until {time_text(cue.end_ms)}, the track ends at "
                f"{time_text(base.duration_ms)}",
                "Move it to an earlier time, written as minutes:seconds, or shorten it.",
            )
        for span in base.quiet:
            if not cue.firm and cue.start_ms < span.end_ms and cue.end_ms > span.start_ms:
                raise edit.row.error(
                    "at",
                    f"the line would be spoken in the quiet from {time_text(span.start_ms)} to "
                    f"{time_text(span.end_ms)}",
                    "Move it out of the quiet.",
                )


def _named(placed: list[tuple[Edit, Cue]]) -> list[Cue]:
    """Name the lines that were added after their instant, never with a name that is taken."""
    taken = {cue.id for _, cue in placed}
    cues = []
    for _, cue in placed:
        if cue.id:
            cues.append(cue)
            continue
        name = f"own.added.{cue.at_ms}"
        while name in taken:
            name += "b"
        taken.add(name)
        cues.append(cue.model_copy(update={"id": name}))
    return cues
