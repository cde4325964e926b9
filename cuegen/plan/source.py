"""Text with its place in a file, so that an error in it points at the right line and column.

Conventions
    Offsets count characters of `text` from 0; lines and columns count from 1.
    `Where.text` is the offending text, cut to SHOWN_CHARS, and `Where.column` the
    column at which it begins.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass

from cuegen.errors import PlanError, Where

SHOWN_CHARS = 60

Place = Callable[[int], tuple[int, int]]
"""From an offset to its line and column."""


@dataclass(frozen=True, slots=True)
class Source:
    text: str
    place: Place
    file: str | None = None

    def where(self, start: int, end: int) -> Where:
        """Return the place of text[start:end]."""
        line, column = self.place(start)
        return Where(self.file, line, column, shown(self.text[start:end]) or None)

    def error(self, problem: str, start: int, end: int, remedy: str = "") -> PlanError:
        """Return (not raise) the error about text[start:end]."""
        return PlanError(problem, where=self.where(start, end), remedy=remedy)


def shown(text: str) -> str:
    """Return text as an error shows it: on one line, and not too much of it."""
    flat = " ".join(text.split())
    return flat if len(flat) <= SHOWN_CHARS else flat[: SHOWN_CHARS - 1] + "…"


def lines_of(text: str, first_line: int = 1, first_column: int = 1) -> Place:
    """Return the places of a text each of whose lines begins at `first_column`."""
    starts = [0]
    starts.extend(at + 1 for at, char in enumerate(text) if char == "\n")

    def place(offset: int) -> tuple[int, int]:
        row = bisect_right(starts, offset) - 1
        return first_line + row, first_column + offset - starts[row]

    return place
