"""What rowers held last time: a small results file.

Conventions
    A CSV with a header row: columns in any order, separated by commas or
    semicolons, UTF-8 with or without a byte-order mark, any line ends. Dates are
    ISO 8601 days (2031-05-24), rates whole strokes per minute, splits `m:ss` or
    `m:ss.t` per 500 m; a decimal comma is understood where the file is separated
    by semicolons or the cell is quoted. Rows count from 1 as a spreadsheet shows
    them, header and blank rows included. Names are one and the same whatever
    their capitals and spaces. A header without rows is a log not yet begun.

Contents
    COLUMNS                     the one table of columns
    Result, Results             one row, the whole file (cuegen.targets.rowed)
    read_results, load_results  from text, from a path
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TypeVar

from cuegen.clock import parse_split, split_text
from cuegen.errors import ResultsError, Where
from cuegen.files import read_text
from cuegen.plan.nearest import nearest
from cuegen.targets.power import watts_from_split
from cuegen.targets.rowed import Result, Results, name_key

__all__ = ["COLUMNS", "Column", "Result", "Results", "load_results", "read_results"]

T = TypeVar("T")

RATE_RANGE = (10, 60)
"""Strokes per minute that a result may have, both included."""

SPLIT_RANGE_MS = (70_000, 300_000)
"""Splits taken for real, both included: 1:10 is a sprinter's, 5:00 barely moves."""

WATTS_TOLERANCE = 0.10
"""How far watts may lie from those of the split beside them before we ask."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the results file. what: what a cell of it holds."""

    required: bool
    what: str


COLUMNS: dict[str, Column] = {
    "rower": Column(True, "the rower's name"),
    "date": Column(True, "the day as year-month-day, such as 2031-05-24"),
    "rate": Column(True, "strokes per minute as a whole number, such as 20"),
    "split": Column(True, "the split per 500 m, such as 2:05.5"),
    "watts": Column(False, "the mean power in watts"),
    "metres": Column(False, "the metres rowed"),
    "session": Column(False, "the session's title"),
    "segment": Column(False, "which segment of it"),
    "note": Column(False, "anything worth keeping"),
}

_HEADER = ",".join(name for name, column in COLUMNS.items() if column.required)
_CHECK = "Check it against what the monitor showed."
_DATE = re.compile(r"(\d{4})-(\d{2})-(\d{2})")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


def load_results(path: Path | str) -> Results:
    """Read a results file. Raises ResultsError."""
    return read_results(read_text(Path(path), ResultsError, "results file"), file=str(path))


def read_results(text: str, *, file: str | None = None) -> Results:
    """Read the text of a results file; `file` is named in errors. Raises ResultsError."""
    rows = _rows(text.removeprefix("\ufeff"), file)
    header = next(rows, None)
    if header is None:
        raise ResultsError(
            "this results file is empty",
            where=Where(file=file),
            remedy=f"Begin it with the header {_HEADER}.",
        )
    columns = _columns(header)
    results = tuple(_result(row, columns) for row in rows)
    _refuse_repeats(results, file)
    return Results(results, file)


# ------------------------------------------------------------------ rows


@dataclass(frozen=True, slots=True)
class _Row:
    """A row that is not blank: its number in a spreadsheet, its last line in the file."""

    number: int
    line: int
    cells: list[str]
    file: str | None

    def error(self, problem: str, text: str | None, remedy: str) -> ResultsError:
        where = Where(file=self.file, line=self.line, text=text)
        return ResultsError(f"row {self.number}, {problem}", where=where, remedy=remedy)


def _rows(text: str, file: str | None) -> Iterator[_Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            if any(cell.strip() for cell in cells):
                yield _Row(number, reader.line_num, [cell.strip() for cell in cells], file)
    except csv.Error as bad:
        raise ResultsError(
            f"row {number + 1} is no CSV: {bad}",
            where=Where(file=file, line=reader.line_num),
            remedy="Look for a quotation mark that is never closed.",
        ) from None


def _delimiter(text: str) -> str:
    """Return what separates the header's names; a decimal comma cannot stand there."""
    header = next((line for line in text.splitlines() if line.strip()), "")
    return ";" if header.count(";") > header.count(",") else ","


def _columns(header: _Row) -> list[str]:
    names = [name.casefold() for name in header.cells]
    while names and not names[-1]:
        names.pop()
    for name in names:
        if name not in COLUMNS:
            near = nearest(name, COLUMNS)
            raise header.error(
                "there is no such column" + (f", perhaps {near!r} is meant" if near else ""),
                name,
                f"Columns are {', '.join(COLUMNS)}, separated by commas or semicolons.",
            )
        if names.count(name) > 1:
            raise header.error(f"the column {name!r} stands twice", name, "Keep one of them.")
    for name, column in COLUMNS.items():
        if column.required and name not in names:
            raise header.error(
                f"the column {name!r} is missing", None, f"The header is {_HEADER} at the least."
            )
    return names


def _result(row: _Row, columns: list[str]) -> Result:
    cells = _Cells(row, _values(row, columns))
    result = Result(
        rower=cells.need("rower", _words),
        date=cells.need("date", _day),
        rate=cells.need("rate", _rate),
        split_ms=cells.need("split", _split),
        watts=cells.may("watts", _number),
        metres=cells.may("metres", _number),
        session=cells.may("session", _words),
        segment=cells.may("segment", _words),
        note=cells.may("note", _words),
        row=row.number,
    )
    _check_watts(row, result)
    return result


def _values(row: _Row, columns: list[str]) -> dict[str, str]:
    cells = list(row.cells)
    while len(cells) > len(columns) and not cells[-1]:
        cells.pop()
    if len(cells) > len(columns):
        raise row.error(
            f"there are {len(cells)} cells under {len(columns)} columns",
            ",".join(cells),
            "If a comma stands before decimals, write a full stop (2:05.5) or quote the cell.",
        )
    return dict(zip(columns, cells, strict=False))


def _check_watts(row: _Row, result: Result) -> None:
    """Refuse watts and split that cannot both be true: one of them is in the wrong column."""
    expected = watts_from_split(result.split_ms)
    if result.watts and abs(result.watts / expected - 1) > WATTS_TOLERANCE:
        raise row.error(
            f"column watts: the split {split_text(result.split_ms)} is {expected:.0f} W",
            f"{result.watts:g}",
            _CHECK,
        )


def _refuse_repeats(results: tuple[Result, ...], file: str | None) -> None:
    seen: dict[Result, int] = {}
    for result in results:
        same = replace(result, rower=name_key(result.rower))
        if (first := seen.setdefault(same, result.row)) != result.row:
            raise ResultsError(
                f"row {result.row} says the same as row {first}",
                where=Where(file=file, text=f"{result.rower}, {result.date}, rate {result.rate}"),
                remedy="Remove one of them; if both were rowed, number them in a segment column.",
            )


# ----------------------------------------------------------------- cells


@dataclass(frozen=True, slots=True)
class _Cells:
    """The cells of a row under their columns' names."""

    row: _Row
    values: dict[str, str]

    def need(self, name: str, read: Callable[[str], T]) -> T:
        value = self.may(name, read)
        if value is None:
            remedy = f"Write {COLUMNS[name].what}."
            raise self.row.error(f"column {name}: the cell is empty", None, remedy)
        return value

    def may(self, name: str, read: Callable[[str], T]) -> T | None:
        text = self.values.get(name, "")
        if not text:
            return None
        try:
            return read(text)
        except _RefusedError as bad:
            remedy = bad.remedy or f"Write {COLUMNS[name].what}."
            raise self.row.error(f"column {name}: {bad.problem}", text, remedy) from None


class _RefusedError(Exception):
    """What is wrong with one cell; the row adds where."""

    def __init__(self, problem: str, remedy: str = "") -> None:
        self.problem = problem
        self.remedy = remedy
        super().__init__(problem)


def _words(text: str) -> str:
    return " ".join(text.split())


def _day(text: str) -> date:
    match = _DATE.fullmatch(text)
    if match is None:
        raise _RefusedError("this is no date of the form year-month-day")
    year, month, day = map(int, match.groups())
    try:
        found = date(year, month, day)
    except ValueError as bad:
        raise _RefusedError(f"there is no such day ({bad})") from None
    if not 1950 <= year <= 2200:
        raise _RefusedError(f"the year {year} is hard to believe", "Check the date.")
    return found


def _rate(text: str) -> int:
    if not re.fullmatch(r"\d+", text, re.ASCII):
        raise _RefusedError("this is no whole number of strokes per minute")
    low, high = RATE_RANGE
    if not low <= (rate := int(text[:9])) <= high:
        raise _RefusedError(f"a rate lies between {low} and {high} strokes per minute", _CHECK)
    return rate


def _split(text: str) -> int:
    split_ms = parse_split(text.replace(",", "."))
    if split_ms is None:
        raise _RefusedError("this is no split (m:ss or m:ss.t per 500 m, seconds 00 to 59)")
    low, high = SPLIT_RANGE_MS
    if not low <= split_ms <= high:
        faster = "faster" if split_ms < low else "slower"
        bound = split_text(low if split_ms < low else high)
        raise _RefusedError(f"a split {faster} than {bound} is hard to believe", _CHECK)
    return split_ms


def _number(text: str) -> float:
    if not _NUMBER.fullmatch(text):
        raise _RefusedError("this is no number")
    value = float(text.replace(",", "."))
    if not 0 < value < 1_000_000:
        raise _RefusedError("a number of that size is hard to believe", _CHECK)
    return value
