"""One row of an edited CSV understood against the cue it came from.

Conventions
    A cell that still says what was written, as far as a spreadsheet can keep it,
    is no edit. What a row may not change is refused with its row and column. New
    words are kept as they will be heard: figures written out, dashes and dots that a
    spreadsheet made "nicer" as they were typed.
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.cells import unguard
from cuegen.plan.nearest import nearest
from cuegen.schedule.cuesheet import LEAD_MS, Cue, CueSheet
from cuegen.script.edits import TRUE_IN_WINDOW
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.own import in_words
from cuegen.script.phrase import unspeakable
from cuegen.script.spoken import SPOKEN, base_language
from cuegen.sheet.csv_cells import parse_time, time_text
from cuegen.sheet.csv_table import Row

TELLS_A_TIME = TRUE_IN_WINDOW | {CueKind.GOAL}
"""Kinds whose words are true only near their instant; moving one leaves a note."""

_AUTOCORRECTED = str.maketrans({"\u2013": "-", "\u2014": "-", "\u2026": "..."})


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


def is_bound(cue: Cue) -> bool:
    """Return whether a cue follows from the session, so that it is neither moved nor dropped.

    A line of the coach's own and a cue that the plan pinned are firm too, but theirs to move.
    """
    return cue.firm and cue.kind is not CueKind.OWN and CUE_KINDS[cue.kind].firm


def read_row(row: Row, base: CueSheet) -> Edit:
    """Return what a row says of the base. Raises SheetError with row and column."""
    was = _known_cue(row, base)
    _check_fixed(row, was)
    at_ms = _read_time(row, was)
    return Edit(
        row=row,
        was=was,
        at_ms=at_ms,
        text=_read_words(row, was, base),
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
    near = nearest(name, [cue.id for cue in base.cues])
    raise row.error(
        "id",
        "the sheet has no cue of that name",
        (f"Did you mean {near!r}? " if near else "Put the id back. ")
        + "A row whose id is blank is a line of your own.",
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


def typed_time(row: Row, was: Cue | None) -> int:
    """Return the time of a row; one that a spreadsheet cut or rounded means the cue's own."""
    typed = parse_time(row.cell("at"))
    if typed is None:
        back = f" It was {time_text(was.at_ms)}." if was else ""
        raise row.error(
            "at",
            "this is no time" if row.cell("at").strip() else "the time is missing",
            f"Write minutes and seconds of the track, such as 4:30.000.{back}",
        )
    if was is not None and (typed.decimals or is_bound(was)) and typed.means(was.at_ms):
        return was.at_ms
    return typed.ms


def _read_time(row: Row, was: Cue | None) -> int:
    at_ms = typed_time(row, was)
    if was is not None and is_bound(was) and at_ms != was.at_ms:
        raise row.error(
            "at",
            f"the firm cue {was.id!r} was moved from {time_text(was.at_ms)}",
            f"Put {time_text(was.at_ms)} back: firm cues follow from the plan's lengths, "
            "so change those.",
        )
    if at_ms < LEAD_MS:
        raise row.error(
            "at",
            "this lies before the track begins",
            f"The earliest time is {time_text(LEAD_MS)}.",
        )
    return at_ms


def _read_words(row: Row, was: Cue | None, base: CueSheet) -> str:
    text = unguard(row.cell("text"))
    if not text.strip():
        raise row.error(
            "text",
            "there is nothing to say",
            "Put words in, or delete the whole row to drop the cue.",
        )
    if was is not None and plain(text) == plain(was.text):
        return was.text
    said = heard(text, base.sound.language)
    signs = unspeakable(said)
    if signs:
        raise row.error("text", f"{signs!r} cannot be spoken", "Write it in words.")
    return said


def plain(text: str) -> str:
    """Return a text as a spreadsheet may give it back: it changes line breaks and trims spaces."""
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()


def heard(text: str, language: str | None) -> str:
    """Return new words as they will be heard; a language without forms keeps its figures."""
    said = " ".join(text.translate(_AUTOCORRECTED).split())
    forms = None if language is None else SPOKEN.get(base_language(language))
    return said if forms is None else in_words(said, forms)


def _read_segment(row: Row, was: Cue | None, base: CueSheet, at_ms: int) -> int:
    """Return the segment in the cell; where that was left alone, a cue's new time decides."""
    cell = row.cell("segment").strip()
    stays = was is not None and at_ms == was.at_ms
    if not cell or (was is not None and not stays and cell == str(was.segment + 1)):
        return was.segment if was is not None and stays else _segment_at(base, at_ms)
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
