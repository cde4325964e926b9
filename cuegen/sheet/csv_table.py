"""A CSV text as rows that know what a spreadsheet calls them.

Conventions
    Rows count from 1 as a spreadsheet counts them, blank ones too; a cell with a
    line break in it does not begin a row. Commas, semicolons and tabs are told
    apart by the headings; a byte-order mark and a leading `sep=` line are passed
    over. Columns are found by their heading, so they may be moved, and a coach
    may add columns of their own.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from cuegen.errors import SheetError, Where
from cuegen.sheet.csv_cells import COLUMNS, letter

DELIMITERS = ",;\t"
_NAMES = tuple(column.name for column in COLUMNS)


@dataclass(frozen=True, slots=True)
class Row:
    """One row. cells: by heading, still guarded; a heading that is missing has no cell."""

    number: int
    cells: dict[str, str]
    letters: dict[str, str]
    file: str | None

    def cell(self, name: str) -> str:
        """Return a cell, "" where its column or the end of the row is missing."""
        return self.cells.get(name, "")

    def error(self, name: str, problem: str, remedy: str) -> SheetError:
        """Return an error that names the row and the column as a spreadsheet does."""
        place = f"row {self.number}, column {self.letters.get(name, '?')} {name!r}"
        where = Where(file=self.file, text=self.cell(name) or None)
        return SheetError(f"{place}: {problem}", where=where, remedy=remedy)


def read_table(text: str, file: str | None = None) -> tuple[Row, ...]:
    """Return the rows below the headings, blank ones left out."""
    text = text.removeprefix("\ufeff")
    declared = _declared_delimiter(text)
    if declared is not None:
        text = text[text.index("\n") + 1 :] if "\n" in text else ""
    records = _records(text, declared or _likely_delimiter(text), file)
    if not records:
        raise SheetError(
            "the CSV is empty",
            where=Where(file),
            remedy="Write the CSV again from its JSON sheet.",
        )
    headings = [_heading(cell) for cell in records[0]]
    _check_headings(headings, file)
    letters = {name: letter(index) for index, name in enumerate(headings) if name in _NAMES}
    return tuple(
        Row(number, dict(zip(headings, record, strict=False)), letters, file)
        for number, record in enumerate(records[1:], 2)
        if any(cell.strip() for cell in record)
    )


def _declared_delimiter(text: str) -> str | None:
    first = text.partition("\n")[0].rstrip("\r").strip('"').lower()
    known = {f"sep={mark}": mark for mark in DELIMITERS}
    return known.get(first)


def _likely_delimiter(text: str) -> str:
    """Return the delimiter by which the first line shows most of our headings."""

    def found(mark: str) -> int:
        try:
            cells = next(csv.reader(io.StringIO(text, newline=""), delimiter=mark), [])
        except csv.Error:  # said by whoever reads the whole, with its place
            return 0
        return sum(_heading(cell) in _NAMES for cell in cells)

    return max(DELIMITERS, key=found)


def _records(text: str, delimiter: str, file: str | None) -> list[list[str]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    records: list[list[str]] = []
    try:
        records.extend(reader)
    except csv.Error as bad:
        raise SheetError(
            f"row {len(records) + 1} cannot be read: {bad}",
            where=Where(file, line=max(reader.line_num, 1)),
            remedy="A quotation mark may be open; save the sheet from the spreadsheet again.",
        ) from None
    return records


def _heading(cell: str) -> str:
    return cell.strip().lower()


def _check_headings(headings: list[str], file: str | None) -> None:
    for column in COLUMNS:
        if headings.count(column.name) > 1:
            raise SheetError(
                f"row 1: two columns are headed {column.name!r}",
                where=Where(file),
                remedy="Keep one of them.",
            )
    missing = [column.name for column in COLUMNS if column.needed and column.name not in headings]
    if missing:
        raise SheetError(
            f"row 1: there is no column headed {missing[0]!r}",
            where=Where(file, text=", ".join(headings)[:80] or None),
            remedy=f"The first row holds the headings: {', '.join(_NAMES)}.",
        )
