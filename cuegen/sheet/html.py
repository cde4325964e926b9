"""The sheet on paper: page one to tape to a machine, then the whole script.

Times are the rowing clock, since that is what the machine shows. Big: when,
which rate, what to hold. Black on white with outlined shapes, so that it prints
the same where a browser leaves backgrounds out. A4 and US Letter.
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.clock import clock_text, split_text
from cuegen.plan.model import SEGMENT_KINDS
from cuegen.schedule.cuesheet import CueSheet, SheetSegment
from cuegen.sheet.cautions import CAUTIONS
from cuegen.sheet.page import fill_page
from cuegen.sheet.wording import (
    audience_words,
    end_spreads,
    end_words,
    key_lines,
    length_words,
    one_line,
    rowing_clock,
    script_lines,
)

DENSITIES = ((7, "roomy"), (9, "plain"), (16, "dense"))
"""So many pieces and no more share page one in this setting; found by printing, on A4 and
US Letter. Still more are "packed"."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One segment as the page shows it; an empty string is left out.

    is_expected: metres came before it, so its start moves with the pace.
    """

    start: str
    is_expected: bool
    is_work: bool
    kind: str
    rate: str
    hold: str
    hold_unit: str
    length: str
    ends: str
    words: tuple[str, ...]
    name: str


@dataclass(frozen=True, slots=True)
class Spoken:
    clock: str
    firm: bool
    text: str


@dataclass(frozen=True, slots=True)
class Chapter:
    """The lines of one stretch of the script, under its heading."""

    heading: str
    why: str
    lines: tuple[Spoken, ...]


def to_text(sheet: CueSheet) -> str:
    """Return the sheet as one HTML page."""
    return fill_page(
        "sheet.html.jinja",
        "sheet.css",
        title=one_line(sheet.title),
        language=one_line(sheet.sound.language),
        audience=audience_words(sheet),
        rowing=clock_text(sheet.row_end_ms - sheet.lead_in_ms),
        metres=round(sum(segment.metres for segment in sheet.segments)),
        track=clock_text(sheet.duration_ms),
        density=_density(sheet),
        pieces=tuple(_piece(sheet, index) for index in range(len(sheet.segments))),
        finish=rowing_clock(sheet, sheet.row_end_ms),
        end=end_words(sheet, len(sheet.segments) - 1),
        is_expected=end_spreads(sheet)[-1] > 0,
        chapters=_chapters(sheet),
        notes=tuple(one_line(note) for note in sheet.notes),
        cautions=CAUTIONS,
    )


def _piece(sheet: CueSheet, index: int) -> Piece:
    segment = sheet.segments[index]
    hold, unit = _hold(segment)
    return Piece(
        start=rowing_clock(sheet, segment.start_ms),
        is_expected=index > 0 and end_spreads(sheet)[index - 1] > 0,
        is_work=SEGMENT_KINDS[segment.kind].is_work,
        kind=segment.kind.value,
        rate=(segment.rate or "").replace("-", "\u2013"),
        hold=hold,
        hold_unit=unit,
        length=length_words(segment),
        ends=end_words(sheet, index) if segment.distance_m is not None else "",
        words=key_lines(sheet, index, most=2 if _density(sheet) in {"roomy", "plain"} else 1),
        name=_name(segment),
    )


def _hold(segment: SheetSegment) -> tuple[str, str]:
    """Return what to hold and its unit: a split before an effort."""
    if segment.split_ms is not None:
        return split_text(segment.split_ms), "/500 m"
    if segment.effort_pct:
        return f"{segment.effort_pct} %", "effort"
    return "", ""


def _name(segment: SheetSegment) -> str:
    """Return "Row 2 of 4", or nothing where the page shows the kind in the rate's place."""
    return one_line(segment.label).partition(",")[0] if segment.rate else ""


def _density(sheet: CueSheet) -> str:
    """Return how tightly the pieces must stand to share page one."""
    pieces = len(sheet.segments)
    return next((name for most, name in DENSITIES if pieces <= most), "packed")


def _chapters(sheet: CueSheet) -> tuple[Chapter, ...]:
    """Return the script by where it is heard: before the first stroke, then each segment."""
    headings = [("Before the first stroke", "")]
    headings += [(one_line(s.label) or s.kind.value, one_line(s.reason)) for s in sheet.segments]
    bounds = [sheet.lead_in_ms, *(s.end_ms for s in sheet.segments[:-1]), sheet.duration_ms + 1]
    lines = script_lines(sheet)
    begin = 0
    chapters = []
    for (heading, why), end in zip(headings, bounds, strict=True):
        spoken = tuple(
            Spoken(rowing_clock(sheet, line.at_ms), line.firm, line.text)
            for line in lines
            if begin <= line.at_ms < end
        )
        begin = end
        if spoken or why:
            chapters.append(Chapter(heading, why, spoken))
    return tuple(chapters)
