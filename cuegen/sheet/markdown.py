"""The session and its script as Markdown tables, for a club's pages or a message.

Times are the rowing clock. Source of the notation: CommonMark 0.31 (backslash
escapes, section 2.4) with the pipe tables of GitHub Flavored Markdown.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from cuegen.clock import clock_text
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.cautions import CAUTIONS
from cuegen.sheet.wording import (
    audience_words,
    end_words,
    length_words,
    one_line,
    rate_words,
    rowing_clock,
    script_lines,
    target_words,
)

_ANYWHERE = re.compile(r"[\\`*_\[\]<>|~#$]|&(?=#?\w+;)")
_AT_START = re.compile(r"^((?:\d+(?=[.)]))?)([-+=.)])")


def to_text(sheet: CueSheet) -> str:
    """Return the sheet as Markdown."""
    parts = [
        f"# {_escape(sheet.title)}",
        _facts(sheet),
        "## Session",
        _table(
            ("Start", "Segment", "Length", "Rate", "Target", "End", "Why"), _segment_rows(sheet)
        ),
        "## Script",
        "Times are the rowing clock; what is said before the first stroke carries a minus.",
        _table(("Clock", "Firm", "Words"), _script_rows(sheet)),
    ]
    if sheet.notes:
        parts += ["## Notes", _bullets(sheet.notes)]
    parts += ["## Cautions", _bullets(CAUTIONS)]
    return "\n\n".join(parts) + "\n"


def _facts(sheet: CueSheet) -> str:
    rowing = clock_text(sheet.row_end_ms - sheet.lead_in_ms)
    metres = sum(segment.metres for segment in sheet.segments)
    share = 100 * sheet.talk_ms / sheet.duration_ms
    return (
        f"Rowing {rowing}, about {metres:.0f} m, for {_escape(audience_words(sheet))}. "
        f"Track {clock_text(sheet.duration_ms)}, "
        f"{len(sheet.cues)} lines, {share:.0f} % of it speech."
    )


def _segment_rows(sheet: CueSheet) -> Iterator[tuple[str, ...]]:
    for index, segment in enumerate(sheet.segments):
        yield (
            rowing_clock(sheet, segment.start_ms),
            segment.label or segment.kind.value,
            length_words(segment),
            rate_words(segment),
            target_words(segment),
            end_words(sheet, index),
            segment.reason,
        )


def _script_rows(sheet: CueSheet) -> Iterator[tuple[str, ...]]:
    for line in script_lines(sheet):
        yield rowing_clock(sheet, line.at_ms), "firm" if line.firm else "", line.text


def _table(headings: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [_row(headings), _row("---" for _ in headings)]
    lines += [_row(_escape(cell) for cell in row) for row in rows]
    return "\n".join(lines)


def _row(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _bullets(lines: Iterable[str]) -> str:
    return "\n".join(f"- {_escape_start(line)}" for line in lines)


def _escape(text: str) -> str:
    """Return a text on one line, as it is to be seen, for a cell or after other words."""
    return _ANYWHERE.sub(r"\\\g<0>", one_line(text))


def _escape_start(text: str) -> str:
    """Return the same for the start of a block, where more characters mean something."""
    return _AT_START.sub(r"\1\\\2", _escape(text))
