"""What rowers held last time: a small results file.

Conventions
    A CSV with a header row: columns in any order, separated by commas, semicolons
    or tabs, UTF-8 with or without a byte-order mark, any line ends. Dates are
    ISO 8601 days (2031-05-24), rates whole strokes per minute, splits `m:ss` or
    `m:ss.t` per 500 m; a decimal comma is understood where the file is not
    separated by commas or the cell is quoted. Rows count from 1 as a spreadsheet
    shows them, header and blank rows included. Names are one and the same whatever
    their capitals and spaces. A header without rows is a log not yet begun. Where
    there is a column `kind`, only rows of work count: nobody holds a warm-up.

Contents
    COLUMNS                     the one table of columns (cuegen.targets.result_cells)
    Result, Results             one row, the whole file (cuegen.targets.rowed)
    read_results, load_results  from text, from a path
    TableRow, Spot, read_table  the rows of such a file, by any table of columns
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from cuegen.clock import split_text
from cuegen.errors import ResultsError, Where
from cuegen.files import read_text
from cuegen.plan.model import SEGMENT_KINDS
from cuegen.plan.nearest import nearest
from cuegen.targets.power import watts_from_split
from cuegen.targets.result_cells import CHECK, COLUMNS, Column, RefusedError
from cuegen.targets.rowed import Result, Results, name_key

__all__ = [
    "COLUMNS",
    "Column",
    "Result",
    "Results",
    "Spot",
    "TableRow",
    "load_results",
    "read_results",
    "read_table",
]

WATTS_TOLERANCE = 0.10
"""How far watts may lie from those of the split beside them before we ask."""

_DELIMITERS = ",;\t"
_MOST_SHOWN = 80
"""Characters of an offending text that an error shows."""


def load_results(path: Path | str) -> Results:
    """Read a results file. Raises ResultsError."""
    return read_results(read_text(Path(path), ResultsError, "results file"), file=str(path))


def read_results(text: str, *, file: str | None = None) -> Results:
    """Read the text of a results file; `file` is named in errors. Raises ResultsError."""
    results = tuple(_result(row) for row in read_table(text, COLUMNS, file=file) if _counts(row))
    _refuse_repeats(results, file)
    return Results(results, file)


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a row stands. number: its own in a spreadsheet; line: its last in the file."""

    number: int
    line: int
    file: str | None

    def error(self, problem: str, text: str | None, remedy: str) -> ResultsError:
        """Return an error that says where this row stands."""
        if text is not None and len(text) > _MOST_SHOWN:
            text = f"{text[:_MOST_SHOWN]}..."
        where = Where(file=self.file, line=self.line, text=text)
        return ResultsError(f"row {self.number}, {problem}", where=where, remedy=remedy)


@dataclass(frozen=True, slots=True)
class TableRow:
    """A row that is not blank. values: by column; None where a cell is empty or missing."""

    spot: Spot
    values: Mapping[str, Any]


def read_table(
    text: str, columns: Mapping[str, Column], *, file: str | None = None
) -> Iterator[TableRow]:
    """Yield the rows below the header, each cell read by its column. Raises ResultsError."""
    rows = _rows(text.removeprefix("\ufeff"), file)
    header = next(rows, None)
    if header is None:
        raise ResultsError(
            "this results file is empty",
            where=Where(file=file),
            remedy=f"Begin it with the header {_least(columns)}.",
        )
    names = _names(*header, columns)
    for spot, cells in rows:
        yield TableRow(spot, _values(spot, cells, names, columns))


def _least(columns: Mapping[str, Column]) -> str:
    return ",".join(name for name, column in columns.items() if column.required)


# ------------------------------------------------------------------ rows


def _rows(text: str, file: str | None) -> Iterator[tuple[Spot, list[str]]]:
    """Yield the rows that are not blank, their cells trimmed."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            if any(cell.strip() for cell in cells):
                yield Spot(number, reader.line_num, file), [cell.strip() for cell in cells]
    except csv.Error as bad:
        raise ResultsError(
            f"row {number + 1} is no CSV: {bad}",
            where=Where(file=file, line=reader.line_num),
            remedy="Look for a quotation mark that is never closed.",
        ) from None


def _delimiter(text: str) -> str:
    """Return what separates the header's names; a decimal comma cannot stand there."""
    header = next((line for line in io.StringIO(text) if line.strip()), "")
    return max(_DELIMITERS, key=header.count)


def _names(header: Spot, cells: list[str], columns: Mapping[str, Column]) -> list[str]:
    names = ["_".join(name.casefold().split()) for name in cells]
    while names and not names[-1]:
        names.pop()
    for name in names:
        if name not in columns:
            near = nearest(name[:_MOST_SHOWN], columns)
            raise header.error(
                "there is no such column" + (f", perhaps {near!r} is meant" if near else ""),
                name,
                f"Columns are {', '.join(columns)}, separated by commas or semicolons.",
            )
        if names.count(name) > 1:
            raise header.error(f"the column {name!r} stands twice", name, "Keep one of them.")
    for name, column in columns.items():
        if column.required and name not in names:
            raise header.error(
                f"the column {name!r} is missing",
                None,
                f"The header is {_least(columns)} at the least.",
            )
    return names


def _values(
    spot: Spot, cells: list[str], names: list[str], columns: Mapping[str, Column]
) -> dict[str, Any]:
    while len(cells) > len(names) and not cells[-1]:
        cells.pop()
    if len(cells) > len(names):
        raise spot.error(
            f"there are {len(cells)} cells under {len(names)} columns",
            ",".join(cells),
            "If a comma stands before decimals, write a full stop (2:05.5) or quote the cell.",
        )
    texts = dict(zip(names, cells, strict=False))
    return {name: _value(spot, name, texts.get(name, ""), columns[name]) for name in columns}


def _value(spot: Spot, name: str, text: str, column: Column) -> Any:
    if not text:
        if column.required:
            remedy = f"Write {column.what}."
            raise spot.error(f"column {name}: the cell is empty", None, remedy)
        return None
    try:
        return column.read(text)
    except RefusedError as bad:
        remedy = bad.remedy or f"Write {column.what}."
        raise spot.error(f"column {name}: {bad.problem}", text, remedy) from None


# --------------------------------------------------------------- results


def _counts(row: TableRow) -> bool:
    kind = row.values["kind"]
    return kind is None or SEGMENT_KINDS[kind].is_work


def _result(row: TableRow) -> Result:
    values = row.values
    result = Result(
        rower=values["rower"],
        date=values["date"],
        rate=values["rate"],
        split_ms=values["split"],
        watts=values["watts"],
        metres=values["metres"],
        session=values["session"],
        segment=values["segment"],
        note=values["note"],
        row=row.spot.number,
        heart_rate=values["heart_rate"],
        felt_pct=values["felt"],
    )
    _check_watts(row, result)
    return result


def _check_watts(row: TableRow, result: Result) -> None:
    """Refuse watts and split that cannot both be true: one of them is in the wrong column."""
    expected = watts_from_split(result.split_ms)
    if result.watts and abs(result.watts / expected - 1) > WATTS_TOLERANCE:
        raise row.spot.error(
            f"column watts: the split {split_text(result.split_ms)} is {expected:.0f} W",
            f"{result.watts:g}",
            CHECK,
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
