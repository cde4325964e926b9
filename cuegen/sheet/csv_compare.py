"""A CSV sheet as it stands, to be compared with another sheet; nothing is merged or measured.

Merging (cuegen.sheet.csv_format) refuses what an edit breaks and needs a voice for
new words. Comparing needs neither: a CSV of another version of the session, or one
that is not finished, can be compared as well. What a CSV does not hold (segments,
sound, the lengths of clips) is taken from the sheet that it is compared with.
"""

from __future__ import annotations

from cuegen.cells import unguard
from cuegen.errors import SheetError, Where
from cuegen.schedule.cuesheet import LEAD_MS, Cue, CueSheet
from cuegen.script.kinds import CueKind
from cuegen.sheet.csv_rows import heard, plain, typed_time
from cuegen.sheet.csv_table import Row, read_table

_UNKNOWN_LENGTH_MS = 1_000


def as_sheet(text: str, beside: CueSheet | None = None, file: str | None = None) -> CueSheet:
    """Return a CSV as an unchecked sheet; without one `beside` it, times are those of the track.

    Raises SheetError with row and column for a time, a kind or an id that cannot be read.
    """
    known = {} if beside is None else {cue.id: cue for cue in beside.cues}
    language = None if beside is None else beside.sound.language
    cues: dict[str, Cue] = {}
    for row in read_table(text, file):
        cue = _cue(row, known, language)
        if cue.id in cues:
            raise row.error("id", "another row has the same id", "Delete one of the two.")
        cues[cue.id] = cue
    ordered = tuple(sorted(cues.values(), key=lambda cue: (cue.at_ms, cue.id)))
    if beside is not None:
        return beside.model_copy(update={"cues": ordered, "left_out": ()})
    if not ordered:
        raise SheetError("the CSV has no lines", where=Where(file), remedy="Name another file.")
    return CueSheet(
        title="",
        duration_ms=max(cue.end_ms for cue in ordered),
        lead_in_ms=0,
        row_end_ms=0,
        audience="",
        talk_share=0,
        segments=(),
        cues=ordered,
    )


def _cue(row: Row, known: dict[str, Cue], language: str | None) -> Cue:
    name = unguard(row.cell("id")).strip()
    was = known.get(name)
    at_ms = typed_time(row, was)
    text = unguard(row.cell("text"))
    same = was is not None and plain(text) == plain(was.text)
    length_ms = was.end_ms - was.start_ms if was is not None else _UNKNOWN_LENGTH_MS
    start_ms = max(at_ms - LEAD_MS, 0)
    return Cue.model_construct(
        id=name or f"own.added.{at_ms}",
        kind=_kind(row, was),
        firm=_is_firm(row, was),
        at_ms=at_ms,
        start_ms=start_ms,
        end_ms=start_ms + length_ms,
        text=was.text if was is not None and same else heard(text, language),
        segment=_segment(row, was),
        theme=_theme(row, was),
        speed=1.0 if was is None else was.speed,
    )


def _kind(row: Row, was: Cue | None) -> CueKind:
    cell = row.cell("kind").strip().lower()
    if not cell:
        return CueKind.OWN if was is None else was.kind
    if cell in list(CueKind):
        return CueKind(cell)
    raise row.error("kind", "there is no such kind of cue", "Leave the cell blank, or put it back.")


def _is_firm(row: Row, was: Cue | None) -> bool:
    cell = row.cell("firm").strip().lower()
    if cell:
        return cell == "yes"
    return True if was is None else was.firm


def _segment(row: Row, was: Cue | None) -> int:
    cell = row.cell("segment").strip()
    if cell.isascii() and cell.isdigit() and 0 < int(cell) < 100_000:
        return int(cell) - 1
    return 0 if was is None else was.segment


def _theme(row: Row, was: Cue | None) -> str | None:
    if "theme" not in row.cells:
        return was.theme if was else None
    return unguard(row.cell("theme")).strip() or None
