"""The sheet as plain rows for a terminal of 80 columns; the command line draws them.

Times are the rowing clock. Cells hold no control characters, so a title or a
line cannot drive the terminal.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

from cuegen.schedule.cuesheet import CueSheet, SheetSegment
from cuegen.sheet.wording import (
    end_spreads,
    end_words,
    key_lines,
    length_words,
    one_line,
    rowing_clock,
    script_lines,
    target_words,
)

WORDS_WIDTH = 31
WHAT_WIDTH = 17


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the outline: clock, what it is, rate and target, words to remember it by."""

    time: str
    what: str
    target: str
    words: str


@dataclass(frozen=True, slots=True)
class ScriptRow:
    """One line that is said. firm: it lands on its instant."""

    time: str
    firm: bool
    words: str


def outline_rows(sheet: CueSheet) -> tuple[Row, ...]:
    """Return the opening, one row for each segment, and the finish."""
    opening = Row(rowing_clock(sheet, 0), "opening", "", _short(_first_words(sheet)))
    rows = [_segment_row(sheet, index) for index in range(len(sheet.segments))]
    expected = end_spreads(sheet)[-1] > 0
    end = end_words(sheet, len(sheet.segments) - 1) if expected else ""
    finish = Row(rowing_clock(sheet, sheet.row_end_ms), "finish", "", end)
    return (*((opening,) if sheet.lead_in_ms else ()), *rows, finish)


def script_rows(sheet: CueSheet) -> tuple[ScriptRow, ...]:
    """Return every line that is said, whole; wrapping is the caller's."""
    return tuple(
        ScriptRow(rowing_clock(sheet, line.at_ms), line.firm, line.text)
        for line in script_lines(sheet)
    )


def _segment_row(sheet: CueSheet, index: int) -> Row:
    segment = sheet.segments[index]
    words = key_lines(sheet, index, most=1)
    return Row(
        time=rowing_clock(sheet, segment.start_ms),
        what=textwrap.shorten(
            f"{segment.kind.value} {length_words(segment)}", WHAT_WIDTH, placeholder="..."
        ),
        target=_target(segment),
        words=_short(words[0] if words else ""),
    )


def _target(segment: SheetSegment) -> str:
    rate = f"r{segment.rate}" if segment.rate else ""
    return " ".join(part for part in (rate, target_words(segment)) if part)


def _first_words(sheet: CueSheet) -> str:
    first = next((cue for cue in sheet.cues if cue.at_ms < sheet.lead_in_ms), None)
    return one_line(first.text) if first else ""


def _short(text: str) -> str:
    return textwrap.shorten(text, WORDS_WIDTH, placeholder="...")
