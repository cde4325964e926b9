"""The cue sheet as CSV: a coach edits words or times in a spreadsheet and it comes back.

Conventions
    One row a cue under one row of headings (cuegen.sheet.csv_cells.COLUMNS).
    The CSV carries what may be edited; what it does not carry (segments, sound,
    lengths of clips) comes from the JSON sheet it was written from, the base.

What an edit means
    words changed      the clip's new length is measured, a little faster where
                       the room before the next cue is short
    time changed       a floating cue, or a line of the coach's own, moves
    row taken out      the cue is dropped; a firm cue of the session is refused
    row without an id  a line of the coach's own, firm at its time
    row order          means nothing
Everything else that differs from the base is refused, with row and column.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise

from cuegen.errors import SheetError, Where
from cuegen.schedule.cuesheet import LEAD_MS, Cue, CueSheet
from cuegen.schedule.rules import SPEEDS
from cuegen.script.candidate import Line
from cuegen.script.kinds import CueKind
from cuegen.sheet.checking import check_sheet
from cuegen.sheet.csv_cells import COLUMNS, cells_of, parse_time, time_text, unguard
from cuegen.sheet.csv_table import Row, read_table

Measure = Callable[[Line], int]

TELLS_A_TIME = frozenset(
    {
        CueKind.TIME_LEFT,
        CueKind.DISTANCE_LEFT,
        CueKind.SEGMENT_HALFWAY,
        CueKind.GOAL,
        CueKind.GET_READY,
    }
)
"""Kinds whose words are true only near their instant; moving one leaves a note."""


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
    edits = [_read_row(row, base) for row in read_table(text, file)]
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


@dataclass(frozen=True, slots=True)
class _Edit:
    """A row understood. was: the cue of the base, None for a line that was added."""

    row: Row
    was: Cue | None
    at_ms: int
    text: str
    segment: int
    theme: str | None

    @property
    def notes(self) -> tuple[str, ...]:
        if self.was is None or self.at_ms == self.was.at_ms or self.was.kind not in TELLS_A_TIME:
            return ()
        moved = f"{self.was.id} was moved from {time_text(self.was.at_ms)} to "
        return (f"{moved}{time_text(self.at_ms)}: see that its words still hold there.",)


def _read_row(row: Row, base: CueSheet) -> _Edit:
    was = _known_cue(row, base)
    _check_fixed(row, was)
    at_ms = _read_time(row, was)
    return _Edit(
        row=row,
        was=was,
        at_ms=at_ms,
        text=_read_words(row, was),
        segment=_read_segment(row, was, base, at_ms),
        theme=_read_theme(row, was),
    )


def _known_cue(row: Row, base: CueSheet) -> Cue | None:
    name = unguard(row.cell("id"))
    if not name.strip():
        return None
    exact = [cue for cue in base.cues if cue.id == name]
    trimmed = [cue for cue in base.cues if cue.id.strip() == name.strip()]
    if exact or trimmed:
        return (exact or trimmed)[0]
    raise row.error(
        "id",
        "the JSON sheet has no cue of that name",
        "Put the id back, or clear the cell to make the row a line of your own.",
    )


def _check_fixed(row: Row, was: Cue | None) -> None:
    """Kind and firmness are shown, not offered; a blank cell changes nothing."""
    kind = row.cell("kind").strip().lower()
    wanted = CueKind.OWN if was is None else was.kind
    if kind and kind != wanted.value:
        remedy = (
            "A line that you add is of kind 'own'; leave the cell blank."
            if was is None
            else f"Put {wanted.value!r} back; to say something of your own, add a row without id."
        )
        raise row.error("kind", f"the kind of a cue cannot be changed to {kind!r}", remedy)
    firm = row.cell("firm").strip().lower()
    is_firm = "yes" if was is None or was.firm else "no"
    if firm and firm != is_firm:
        raise row.error("firm", "whether a cue is firm cannot be changed", f"Put {is_firm!r} back.")


def _read_time(row: Row, was: Cue | None) -> int:
    typed = parse_time(row.cell("at"))
    if typed is None:
        back = f" It was {time_text(was.at_ms)}." if was else ""
        raise row.error(
            "at",
            "this is no time" if row.cell("at").strip() else "the time is missing",
            f"Write minutes and seconds of the track, such as 4:30.000.{back}",
        )
    may_move = was is None or not was.firm or was.kind is CueKind.OWN
    if was is not None and (typed.decimals or not may_move) and typed.means(was.at_ms):
        return was.at_ms
    if was is not None and not may_move:
        raise row.error(
            "at",
            f"the firm cue {was.id!r} was moved from {time_text(was.at_ms)}",
            f"Put {time_text(was.at_ms)} back: firm cues follow from the plan's lengths, "
            "so change those.",
        )
    if typed.ms < LEAD_MS:
        raise row.error(
            "at",
            "this lies before the track begins",
            f"The earliest time is {time_text(LEAD_MS)}.",
        )
    return typed.ms


def _read_words(row: Row, was: Cue | None) -> str:
    text = unguard(row.cell("text"))
    if not text.strip():
        raise row.error(
            "text",
            "there is nothing to say",
            "Put words in, or delete the whole row to drop the cue.",
        )
    if was is not None and _plain(text) == _plain(was.text):
        return was.text
    return text.strip()


def _plain(text: str) -> str:
    """A spreadsheet may change line breaks and trim spaces; neither changes what is said."""
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()


def _read_segment(row: Row, was: Cue | None, base: CueSheet, at_ms: int) -> int:
    cell = row.cell("segment").strip()
    if not cell:
        return _segment_at(base, at_ms) if was is None else was.segment
    number = int(cell) if cell.isascii() and cell.isdigit() and len(cell) < 6 else 0
    if not 1 <= number <= len(base.segments):
        raise row.error("segment", "there is no such segment", f"Write 1 to {len(base.segments)}.")
    return number - 1


def _segment_at(base: CueSheet, at_ms: int) -> int:
    for index, segment in enumerate(base.segments):
        if at_ms < segment.end_ms:
            return index
    return len(base.segments) - 1


def _read_theme(row: Row, was: Cue | None) -> str | None:
    if "theme" not in row.cells:
        return was.theme if was else None
    theme = unguard(row.cell("theme"))
    if was is not None and theme.strip() == (was.theme or "").strip():
        return was.theme
    return theme.strip() or None


def _check_unique(edits: Iterable[_Edit]) -> None:
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


def _check_dropped(edits: Iterable[_Edit], base: CueSheet, file: str | None) -> None:
    kept = {edit.was.id for edit in edits if edit.was is not None}
    for cue in base.cues:
        if cue.id not in kept and cue.firm and cue.kind is not CueKind.OWN:
            raise SheetError(
                f"the row of the firm cue {cue.id!r} ({time_text(cue.at_ms)} {cue.text!r}) is gone",
                where=Where(file),
                remedy="Put the row back: only floating cues and lines of your own can be dropped.",
            )


def _measured(
    edits: list[_Edit], base: CueSheet, measure: Measure | None
) -> list[tuple[_Edit, Cue]]:
    starts = [edit.at_ms - LEAD_MS for edit in edits]
    ends = [*starts[1:], base.duration_ms]  # one too many where every row is gone
    return [
        (edit, _cue_of(edit, room_ms=end - start, measure=measure))
        for edit, start, end in zip(edits, starts, ends, strict=False)
    ]


def _cue_of(edit: _Edit, room_ms: int, measure: Measure | None) -> Cue:
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


def _spoken(edit: _Edit, room_ms: int, measure: Measure | None) -> tuple[float, int]:
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


def _check_apart(placed: list[tuple[_Edit, Cue]]) -> None:
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


def _culprit(early: _Edit, late: _Edit) -> tuple[_Edit, str]:
    """Return the edit that brought two lines together, and the column it was made in."""
    if early.was is None or early.text != early.was.text:
        return early, "text"
    if early.at_ms != early.was.at_ms:
        return early, "at"
    return late, "at"


def _check_inside(placed: list[tuple[_Edit, Cue]], base: CueSheet) -> None:
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


def _named(placed: list[tuple[_Edit, Cue]]) -> list[Cue]:
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
