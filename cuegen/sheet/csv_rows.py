"""One row of an edited CSV understood against the cue it came from.

Conventions
    A cell that still says what was written, as far as a spreadsheet can keep it,
    is no edit. What a row may not change is refused with its row and column.
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.schedule.cuesheet import LEAD_MS, Cue, CueSheet
from cuegen.script.kinds import CueKind
from cuegen.sheet.csv_cells import parse_time, time_text, unguard
from cuegen.sheet.csv_table import Row

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


@dataclass(frozen=True, slots=True)
class Edit:
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


def read_row(row: Row, base: CueSheet) -> Edit:
    was = _known_cue(row, base)
    _check_fixed(row, was)
    at_ms = _read_time(row, was)
    return Edit(
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
