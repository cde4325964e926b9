"""Strips and gauges: the sound of a stretch of time in single characters.

Conventions
    A cell stands for an equal part of a row. Its height says what is heard, so
    that no colour is needed: full where a firm line lands, half where the voice
    speaks on, a ground line where it does not. In a span of quiet the ground
    line itself stops. Characters are those of Unicode's Block Elements and Box
    Drawing; where a terminal or a file cannot hold them, plain ASCII stands in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from cuegen.schedule.cuesheet import Cue, CueSheet, Span


@dataclass(frozen=True, slots=True)
class Glyphs:
    """What the time line is drawn with. parts: a cell filled by 0/n, 1/n, ... of its width."""

    firm: str
    talk: str
    ground: str
    quiet: str
    about: str
    cut: str
    parts: str
    unused: str
    most: str
    work: tuple[str, str]
    metres: tuple[str, str]
    easy: tuple[str, str]
    still: tuple[str, str]
    has_figures: bool

    def are_in(self, encoding: str) -> bool:
        """Return whether a terminal or a file of this encoding can hold them all."""
        texts = (self.firm, self.talk, self.ground, self.quiet, self.cut, self.parts, self.most)
        walls = (*self.work, *self.metres, *self.easy, *self.still)
        try:
            "".join((*texts, *walls)).encode(encoding)
        except (UnicodeEncodeError, LookupError):
            return False
        return True


BLOCKS = Glyphs(
    firm="█", talk="▄", ground="▁", quiet="·", about="~", cut="…",
    parts="─▏▎▍▌▋▊▉█", unused="─", most="┼",
    work=("┏", "┃"), metres=("┏", "╏"), easy=("┌", "│"), still=("┌", "┊"), has_figures=True,
)  # fmt: skip
ASCII = Glyphs(
    firm="#", talk="=", ground="_", quiet=".", about="~", cut="...",
    parts="-#", unused="-", most="+",
    work=("+", "I"), metres=("+", "!"), easy=("+", "|"), still=("+", ":"), has_figures=False,
)  # fmt: skip


def strip(sheet: CueSheet, row: range, glyphs: Glyphs, *, cells: int, row_ms: int) -> str:
    """Return the strip of a row, from its first to its last millisecond.

    cells: characters for a whole row of `row_ms`; a shorter row has fewer.
    """
    start_ms, end_ms = row.start, row.stop
    count = max(1, (2 * cells * (end_ms - start_ms) + row_ms) // (2 * row_ms))
    edges = [start_ms + n * row_ms // cells for n in range(count)] + [end_ms]
    cues = [cue for cue in sheet.cues if cue.start_ms < end_ms and start_ms < cue.end_ms]
    marks = [_mark(cues, sheet.quiet, begin, end, glyphs) for begin, end in pairwise(edges)]
    return "".join(marks)


def gauge(share: float, most: float, cells: int, glyphs: Glyphs) -> str:
    """Return a bar for a share of 0 to 1, with a tick at `most` where the bar leaves it free."""
    steps = len(glyphs.parts) - 1
    filled = min(round(share * cells * steps), cells * steps)
    whole, rest = divmod(filled, steps)
    bar = glyphs.parts[-1] * whole + (glyphs.parts[rest] if rest else "")
    bar += glyphs.unused * (cells - len(bar))
    tick = min(int(most * cells), cells - 1)
    return bar if bar[tick] != glyphs.unused else bar[:tick] + glyphs.most + bar[tick + 1 :]


def talk_share(sheet: CueSheet, start_ms: int, end_ms: int) -> float:
    """Return the part of a stretch of time in which the voice speaks, 0 to 1."""
    spoken = sum(_shared(cue.start_ms, cue.end_ms, start_ms, end_ms) for cue in sheet.cues)
    return spoken / (end_ms - start_ms) if end_ms > start_ms else 0.0


def _mark(cues: Sequence[Cue], quiet: Sequence[Span], begin: int, end: int, glyphs: Glyphs) -> str:
    """Return a cell: what begins in it goes before what fills half of it."""
    begun = [cue.firm for cue in cues if begin <= cue.at_ms < end]
    if begun:
        return glyphs.firm if any(begun) else glyphs.talk
    half = (end - begin) / 2
    if sum(_shared(cue.start_ms, cue.end_ms, begin, end) for cue in cues) >= half:
        return glyphs.talk
    if sum(_shared(span.start_ms, span.end_ms, begin, end) for span in quiet) >= half:
        return glyphs.quiet
    return glyphs.ground


def _shared(a_start: int, a_end: int, b_start: int, b_end: int) -> int:
    return max(0, min(a_end, b_end) - max(a_start, b_start))
