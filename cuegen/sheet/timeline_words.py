"""Which words stand beside a row of the time line, and how much of them fits.

Conventions
    Widths are cells of a terminal, as rich counts them: a wide character takes
    two. Cut texts end in the mark that says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size

from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.sheet.timeline_strip import Glyphs
from cuegen.sheet.wording import rowing_clock, script_lines

_READ_FIRST = (
    CueKind.OWN, CueKind.FINISH, CueKind.RATE_CHANGE, CueKind.START, CueKind.HALFWAY,
    CueKind.TARGET, CueKind.GOAL, CueKind.CAUTION, CueKind.WELCOME, CueKind.EXPECTED_END,
    CueKind.LAST_PIECE, CueKind.OFFER, CueKind.TECHNIQUE, CueKind.SEGMENT_END, CueKind.BEAT,
)  # fmt: skip
"""What one looks for in a time line, before all other kinds: the coach's own, what must be on
time, what is asked. The others follow by their worth to a rower."""

GAP = 3
"""Cells between two lines that share a row."""


@dataclass(frozen=True, slots=True)
class Said:
    """Something that stands at an instant: a line, or the start of a span of quiet."""

    at_ms: int
    mark: str
    text: str
    firm: bool
    order: int


def all_said(sheet: CueSheet, glyphs: Glyphs) -> tuple[Said, ...]:
    """Return every line and every span of quiet in order of time."""
    spans = (
        Said(span.start_ms, glyphs.quiet, f"quiet to {rowing_clock(sheet, span.end_ms)}", False, -1)
        for span in sheet.quiet
    )
    lines = (
        Said(
            line.at_ms,
            glyphs.firm if line.firm else glyphs.talk,
            line.text,
            line.firm,
            _order(line.kind),
        )
        for line in script_lines(sheet)
    )
    return tuple(sorted((*spans, *lines), key=lambda said: said.at_ms))


def choose(said: Iterable[Said], clock_width: int, width: int, cut: str) -> tuple[Said, ...]:
    """Return what fits into one row, in order of time: the first in rank, then what is whole.

    Each takes its clock, its mark and its words; only the first in rank may be cut.
    """
    chosen: list[Said] = []
    free = width
    for one in sorted(said, key=lambda one: (one.order, one.at_ms)):
        room = free - (GAP if chosen else 0) - clock_width - 3
        if not chosen:
            chosen.append(_cut(one, room, cut))
        elif cell_len(one.text) <= room:
            chosen.append(one)
        else:
            continue
        free = room - cell_len(chosen[-1].text)
    return tuple(sorted(chosen, key=lambda one: one.at_ms))


def shorten(text: str, width: int, cut: str) -> str:
    """Return a text of at most `width` cells, cut between words where that costs little."""
    if cell_len(text) <= width:
        return text
    room = width - cell_len(cut)
    if room <= 0:
        return ""
    kept = set_cell_size(text, room)
    is_whole = text[len(kept) : len(kept) + 1] == " " or kept.endswith(" ")
    words = kept.rstrip() if is_whole else kept.rpartition(" ")[0]
    return (words if 2 * cell_len(words) >= room else kept).rstrip(" ,;:.") + cut


def clauses(text: str, width: int, cut: str) -> str:
    """Return as many of a text's clauses (between "; ") as fit, at least a cut first one."""
    parts = text.split("; ")
    for count in range(len(parts), 0, -1):
        kept = "; ".join(parts[:count])
        if cell_len(kept) <= width:
            return kept
    return shorten(parts[0], width, cut)


def wrap(text: str, width: int) -> Iterator[str]:
    """Give the lines of a text, none wider than `width` cells; a longer word is broken."""
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if cell_len(longer) <= width:
            line = longer
            continue
        if line:
            yield line
        *full, line = _broken(word, width)
        yield from full
    yield line


def _broken(word: str, width: int) -> list[str]:
    """Return a word in pieces of at most `width` cells."""
    pieces = [""]
    for letter in word:
        if cell_len(pieces[-1] + letter) > width:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def _order(kind: CueKind) -> int:
    if kind in _READ_FIRST:
        return _READ_FIRST.index(kind)
    return len(_READ_FIRST) + 1_000 - CUE_KINDS[kind].value


def _cut(said: Said, width: int, cut: str) -> Said:
    return Said(said.at_ms, said.mark, shorten(said.text, width, cut), said.firm, said.order)
