"""The results log as CSV: taken from many hands, given to a spreadsheet and back.

Conventions
    The columns are those of a results file (cuegen.targets.result_cells.COLUMNS), so
    what is written here can also be read there. It is written as UTF-8 with a
    byte-order mark, by which spreadsheets know it, commas, CRLF (RFC 4180), numbers
    with a decimal point. Texts that a spreadsheet would run as a formula carry an
    apostrophe.

    Read is more: UTF-8 and UTF-16 with or without a byte-order mark, and the Western
    code page 1252, of which Latin-1's letters are a part; commas, semicolons, tabs;
    decimal commas; the day or the month first, where one day in the column tells
    which. Any other thing is one ResultsError that names the row.

Contents
    save_entries    entries to a file
    write_table     entries to text
    load_entries    a file to entries, each with its row
    decoded         bytes to text
    read_entries    text to entries
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from cuegen.errors import ResultsError, Where
from cuegen.files import writing
from cuegen.log.entry import FIELDS, LOG_COLUMNS, LogEntry, cell_text
from cuegen.plan.model import SegmentKind
from cuegen.targets import result_cells as cells
from cuegen.targets.result_cells import Column, RefusedError
from cuegen.targets.results import Spot, read_table

MAX_BYTES = 64_000_000
"""A results file of more is none: half a million rows have room in it."""

_NO_TEXT = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")
_SLASHED = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Slashed:
    """A day whose order is not known from itself: 4/5/2031."""

    first: int
    second: int
    year: int


@dataclass(frozen=True, slots=True)
class Read:
    """An entry of a CSV and where it stands."""

    entry: LogEntry
    spot: Spot


# ---------------------------------------------------------------- writing


def write_table(entries: Iterable[LogEntry]) -> str:
    """Return entries as the text of a CSV, byte-order mark included."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(spec.column for spec in FIELDS.values())
    writer.writerows(_cells(entry) for entry in entries)
    return "\ufeff" + out.getvalue()


def save_entries(entries: Iterable[LogEntry], path: Path) -> None:
    """Write entries to a CSV file that only its owner reads. Raises OutputError."""
    text = write_table(entries)
    with writing(path) as part:
        part.chmod(0o600)
        part.write_text(text, encoding="utf-8", newline="")


def _cells(entry: LogEntry) -> Iterator[str]:
    for name, spec in FIELDS.items():
        value = getattr(entry, name)
        yield "" if value is None else spec.write(value)


# ---------------------------------------------------------------- reading


def load_entries(path: Path) -> list[Read]:
    """Return the entries of a CSV file. Raises ResultsError."""
    where = Where(file=str(path))
    try:
        size = path.stat().st_size if path.is_file() else 0
        data = b"" if size > MAX_BYTES else path.read_bytes()
    except OSError as bad:
        problem = f"this results file cannot be read: {bad.strerror or bad}"
        raise ResultsError(problem, where=where, remedy="Check the name.") from None
    if size > MAX_BYTES:
        raise ResultsError(
            f"this file is larger than {MAX_BYTES // 1_000_000} MB",
            where=where,
            remedy="Check that it is the right one, or take it in parts.",
        )
    return read_entries(decoded(data, str(path)), file=str(path))


def decoded(data: bytes, file: str | None = None) -> str:
    """Return the text of a CSV file, whichever of the encodings it is in. Raises ResultsError."""
    for encoding in _encodings(data):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not _NO_TEXT.search(text):
            return text
    raise ResultsError(
        "this is no text that a spreadsheet writes",
        where=Where(file=file),
        remedy="Save it as CSV, in UTF-8.",
    )


def _encodings(data: bytes) -> tuple[str, ...]:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return ("utf-16",)
    if data[1:2] == b"\x00":
        return ("utf-16-le",)
    if data[:1] == b"\x00":
        return ("utf-16-be",)
    return ("utf-8-sig", "cp1252")


def read_entries(text: str, *, file: str | None = None) -> list[Read]:
    """Return the entries of a CSV's text, in its order. Raises ResultsError."""
    rows = list(read_table(text, _COLUMNS, file=file))
    order = _order(row.values["date"] for row in rows)
    return [Read(_entry(row.values, row.spot, order), row.spot) for row in rows]


def _entry(values: Mapping[str, Any], spot: Spot, order: Callable[[Slashed], date]) -> LogEntry:
    found = {name: values[spec.column] for name, spec in FIELDS.items()}
    try:
        if isinstance(found["day"], Slashed):
            found["day"] = order(found["day"])
    except RefusedError as bad:
        day = values["date"]
        text = f"{day.first}/{day.second}/{day.year}"
        remedy = bad.remedy or f"Write {FIELDS['day'].what}."
        raise spot.error(f"column date: {bad.problem}", text, remedy) from None
    try:
        found["segment"], found["label"] = _segment(found["segment"], found["label"])
    except RefusedError as bad:
        raise spot.error(f"column segment: {bad.problem}", values["segment"], bad.remedy) from None
    found["kind"] = found["kind"] or SegmentKind.ROW
    found["parts_ms"] = found["parts_ms"] or ()
    return LogEntry(**found)


def _segment(segment: str | None, label: str | None) -> tuple[int | None, str | None]:
    """Return number and label: a results file may say in words which segment it was."""
    if segment is None:
        return None, label
    try:
        return FIELDS["segment"].read(segment), label
    except RefusedError:
        if label is not None or segment.isdigit():
            raise
        return None, segment


# ------------------------------------------------------------------ days


def _day(text: str) -> date | Slashed:
    match = _SLASHED.fullmatch(text)
    return cells.day(text) if match is None else Slashed(*map(int, match.groups()))


def _order(days: Iterable[date | Slashed]) -> Callable[[Slashed], date]:
    """Return how slashed days are read: by those of them that can be read in one way only."""
    slashed = [day for day in days if isinstance(day, Slashed)]
    day_first = any(day.first > 12 for day in slashed)
    month_first = any(day.second > 12 for day in slashed)
    if day_first == month_first:
        return _unclear
    if day_first:
        return lambda day: cells.day_of(day.year, day.second, day.first)
    return lambda day: cells.day_of(day.year, day.first, day.second)


def _unclear(_: Slashed) -> date:
    raise RefusedError(
        "whether the day or the month comes first cannot be told from this file",
        "Write days as year-month-day, such as 2031-05-24.",
    )


_COLUMNS: dict[str, Column] = LOG_COLUMNS | {
    "date": Column(True, LOG_COLUMNS["date"].what, _day),
    "segment": Column(False, LOG_COLUMNS["segment"].what, cell_text),
}
