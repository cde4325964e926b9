"""The cells of the CSV sheet: its columns, how a cell is written and read back.

Conventions
    Times are track time, `m:ss.mmm` (`h:mm:ss.mmm` from an hour on). Segments
    count from 1, as in a plan. A cell that a spreadsheet would run as a formula,
    or turn into a number or a clock time and round, is written with an apostrophe
    before it; the apostrophe goes when the cell is read back.

Sources: RFC 4180 (quoting, CRLF). Characters that begin a formula: OWASP
community page "CSV Injection" (= + - @, tab, carriage return, line feed and the
full-width forms), from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from cuegen.cells import GUARD, guard
from cuegen.clock import MS_PER_H, MS_PER_MIN, MS_PER_S
from cuegen.schedule.cuesheet import Cue, CueSheet
from cuegen.sheet.wording import rowing_clock

_TIME = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):([0-5]\d)(?:[.,](\d{1,3}))?")


@dataclass(frozen=True, slots=True)
class Column:
    """needed: the sheet cannot be read without it. summary: for the docs."""

    name: str
    needed: bool
    summary: str


COLUMNS = (
    Column("id", True, "the cue's name; leave it blank for a line you add"),
    Column("at", True, "track time of the first word, m:ss.mmm"),
    Column("kind", False, "what kind of cue; not to be changed"),
    Column("firm", False, "yes: lands on its instant and cannot be moved; not to be changed"),
    Column("segment", False, "its segment, from 1"),
    Column("text", True, "the words"),
    Column("theme", False, "technique theme"),
    Column("rowing clock", False, "for reading only: the machine's clock at that instant"),
)


@dataclass(frozen=True, slots=True)
class CellTime:
    """A time as it was typed. decimals: how many digits stood after the second, 0 to 3."""

    ms: int
    decimals: int

    def means(self, exact_ms: int) -> bool:
        """Return whether an exact time, rounded or cut to as many digits, reads like this one.

        A spreadsheet that takes the cell for a clock time may save fewer digits.
        """
        unit = 10 ** (3 - self.decimals)
        cut, rounded = exact_ms // unit * unit, (exact_ms + unit // 2) // unit * unit
        return self.ms in (cut, rounded)


def time_cell(ms: int) -> str:
    """Return `'m:ss.mmm`, kept from becoming a rounded clock time by its apostrophe."""
    return GUARD + time_text(ms)


def time_text(ms: int) -> str:
    """Return `m:ss.mmm`, or `h:mm:ss.mmm` from an hour on."""
    hours, rest = divmod(ms, MS_PER_H)
    minutes, rest = divmod(rest, MS_PER_MIN)
    seconds, thousandths = divmod(rest, MS_PER_S)
    head = f"{hours}:{minutes:02d}" if hours else str(minutes)
    return f"{head}:{seconds:02d}.{thousandths:03d}"


def parse_time(cell: str) -> CellTime | None:
    """Return the time of a cell: m:ss, h:mm:ss, to three decimals after a point or comma."""
    match = _TIME.fullmatch(cell.strip().removeprefix(GUARD))
    if match is None:
        return None
    hours, minutes, seconds, fraction = match.groups()
    if hours is not None and int(minutes) > 59:
        return None
    whole = int(hours or 0) * MS_PER_H + int(minutes) * MS_PER_MIN + int(seconds) * MS_PER_S
    decimals = fraction or ""
    return CellTime(whole + int(decimals.ljust(3, "0") or 0), len(decimals))


def cells_of(cue: Cue, sheet: CueSheet) -> tuple[str, ...]:
    """Return the cells of a cue, in the order of COLUMNS."""
    return (
        guard(cue.id),
        time_cell(cue.at_ms),
        cue.kind.value,
        "yes" if cue.firm else "no",
        str(cue.segment + 1),
        guard(cue.text),
        guard(cue.theme or ""),
        GUARD + rowing_clock(sheet, cue.at_ms),
    )


def letter(index: int) -> str:
    """Return what a spreadsheet calls a column that counts from 0: A, ..., Z, AA."""
    name = ""
    index += 1
    while index:
        index, digit = divmod(index - 1, 26)
        name = chr(ord("A") + digit) + name
    return name
