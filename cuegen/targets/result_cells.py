"""The cells of a results file: its columns, how each is read, how text is kept harmless.

Conventions
    A reader takes the text of a cell, blanks trimmed, and returns its value or
    raises RefusedError; the row adds where. It takes what people type and what
    spreadsheets make of it: 2:05.5 saved again is 00:02:05,5, and 2:05 taken for
    two hours is 02:05:00. A text that a spreadsheet would run as a formula, or
    turn into a number or a day, is written with an apostrophe before it, which
    goes when the cell is read.

Sources
    Limits are our own judgement of what is taken for real (common practice, no
    source).

Contents
    COLUMNS, Column             the one table of columns
    words, day, split_between, number_between, whole_between, duration
    parts_between, comma_parts  the splits of the parts of a piece
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from cuegen.cells import unguard
from cuegen.clock import MS_PER_H, MS_PER_MIN, MS_PER_S, parse_split, split_text
from cuegen.plan.model import SEGMENT_KINDS, SegmentKind

RATE_RANGE = (10, 60)
"""Strokes per minute that a result may have, both included."""

SPLIT_RANGE_MS = (70_000, 300_000)
"""Splits taken for real, both included: 1:10 is a sprinter's, 5:00 barely moves."""

HEART_RATE_RANGE = (20, 250)
"""Beats per minute, both included."""

MAX_PARTS = 100
"""Parts of one piece; of more nobody reads the splits off (our own judgement)."""

CHECK = "Check it against what the monitor showed."

_ISO_DAY = re.compile(r"(\d{4})([-/])(\d{1,2})\2(\d{1,2})", re.ASCII)
_DOTTED_DAY = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", re.ASCII)
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?", re.ASCII)
_LONG_SPLIT = re.compile(r"(\d{1,2}):(\d\d):(\d\d)(\.\d{1,3})?", re.ASCII)
_NEXT_PART = re.compile(r",\s*(?=\d{1,2}:)", re.ASCII)
_DURATION = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):([0-5]\d)(?:[.,](\d{1,3}))?", re.ASCII)


class RefusedError(Exception):
    """What is wrong with one cell; the row adds where."""

    def __init__(self, problem: str, remedy: str = "") -> None:
        self.problem = problem
        self.remedy = remedy
        super().__init__(problem)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the results file. what: what a cell of it holds. read: its reader."""

    required: bool
    what: str
    read: Callable[[str], Any]


# --------------------------------------------------------------- readers


def words(text: str) -> str:
    """Return a text with single spaces, its guard taken off."""
    return unguard(" ".join(text.split()))


def day(text: str) -> date:
    """Return the day of 2031-05-24, 2031/05/24 or 24.5.2031.

    24/5/2031 is refused: of 4/5/2031 nobody knows which of the two is the month.
    """
    if (match := _ISO_DAY.fullmatch(text)) is not None:
        return day_of(int(match[1]), int(match[3]), int(match[4]))
    if (match := _DOTTED_DAY.fullmatch(text)) is not None:
        return day_of(int(match[3]), int(match[2]), int(match[1]))
    raise RefusedError("this is no date of the form year-month-day")


def day_of(year: int, month: int, number: int) -> date:
    """Return a day that there is, in a year that somebody may have rowed in."""
    try:
        found = date(year, month, number)
    except ValueError as bad:
        raise RefusedError(f"there is no such day ({bad})") from None
    if not 1950 <= year <= 2200:
        raise RefusedError(f"the year {year} is hard to believe", "Check the date.")
    return found


def split_between(low_ms: int, high_ms: int) -> Callable[[str], int]:
    """Return a reader of splits (ms per 500 m) within these bounds."""

    def read(text: str) -> int:
        split_ms = _split_ms(text.replace(",", "."))
        if split_ms is None:
            raise RefusedError("this is no split (m:ss or m:ss.t per 500 m, seconds 00 to 59)")
        if not low_ms <= split_ms <= high_ms:
            faster = "faster" if split_ms < low_ms else "slower"
            bound = split_text(low_ms if split_ms < low_ms else high_ms)
            raise RefusedError(f"a split {faster} than {bound} is hard to believe", CHECK)
        return split_ms

    return read


def _split_ms(text: str) -> int | None:
    """Return the split, also of 00:02:05.5, and of 02:05:00, which cannot be two hours."""
    match = _LONG_SPLIT.fullmatch(text)
    if match is None:
        return parse_split(text)
    first, second, third, fraction = match.groups()
    if int(first) == 0:
        return parse_split(f"{second}:{third}{fraction or ''}")
    if int(third) == 0 and not (fraction or "").strip(".0"):
        return parse_split(f"{first}:{second}")
    return None


def comma_parts(text: str) -> list[str]:
    """Return the splits of a list with commas, also where its decimals have commas.

    Every split has a colon, so a comma with minutes and a colon behind it begins a new
    one, and any other comma stands before decimals: 2:14,2 is one split, 2:14,2:13 are
    two, and so are 2:14,2,2:13,8.
    """
    return [part.strip() for part in _NEXT_PART.split(text)]


def parts_between(low_ms: int, high_ms: int) -> Callable[[str], tuple[int, ...]]:
    """Return a reader of the parts of a piece: splits joined by slashes or by commas."""
    read_split = split_between(low_ms, high_ms)

    def read(text: str) -> tuple[int, ...]:
        chunks = unguard(text).split("/")
        splits = [split for chunk in chunks for split in comma_parts(chunk)]
        if not 2 <= len(splits) <= MAX_PARTS:
            raise RefusedError(f"a piece has 2 to {MAX_PARTS} parts, and here is {len(splits)}")
        return tuple(
            _part(number, split, read_split) for number, split in enumerate(splits, start=1)
        )

    return read


def _part(number: int, text: str, read: Callable[[str], int]) -> int:
    try:
        return read(text)
    except RefusedError as bad:
        raise RefusedError(f"part {number}, {text!r}: {bad.problem}", bad.remedy) from None


def whole_between(low: int, high: int, what: str, unit: str) -> Callable[[str], int]:
    """Return a reader of whole numbers; what and unit name them in errors."""

    def read(text: str) -> int:
        if not re.fullmatch(r"\d+", text, re.ASCII):
            raise RefusedError(f"this is no whole number of {unit}")
        if not low <= (value := int(text[:9])) <= high:
            raise RefusedError(f"{what} lies between {low} and {high} {unit}", CHECK)
        return value

    return read


def number_between(low: float, high: float) -> Callable[[str], float]:
    """Return a reader of numbers above low and up to high, with a decimal point or comma."""

    def read(text: str) -> float:
        if not _NUMBER.fullmatch(text):
            raise RefusedError("this is no number")
        value = float(text.replace(",", "."))
        if not low < value <= high:
            raise RefusedError("a number of that size is hard to believe", CHECK)
        return value

    return read


def duration(text: str) -> int:
    """Return the milliseconds of m:ss or h:mm:ss, with decimals or without."""
    match = _DURATION.fullmatch(text)
    if match is None:
        raise RefusedError("this is no length of time")
    hours, minutes, seconds, fraction = match.groups()
    if hours is not None and int(minutes) > 59:
        raise RefusedError("minutes go up to 59 after hours")
    whole_ms = int(hours or 0) * MS_PER_H + int(minutes) * MS_PER_MIN + int(seconds) * MS_PER_S
    found_ms = whole_ms + int((fraction or "0").ljust(3, "0"))
    if not 0 < found_ms <= 24 * MS_PER_H:
        raise RefusedError("a length of that size is hard to believe", CHECK)
    return found_ms


def kind(text: str) -> SegmentKind:
    """Return the kind of segment of that name."""
    try:
        return SegmentKind(text.casefold())
    except ValueError:
        raise RefusedError("there is no such kind of segment") from None


def percent(text: str) -> int:
    """Return the whole per cent of 70 or 70 %."""
    return whole_between(0, 100, "felt effort", "per cent")(text.removesuffix("%").rstrip())


COLUMNS: dict[str, Column] = {
    "rower": Column(True, "the rower's name", words),
    "date": Column(True, "the day as year-month-day, such as 2031-05-24", day),
    "rate": Column(
        True,
        "strokes per minute as a whole number, such as 20",
        whole_between(*RATE_RANGE, "a rate", "strokes per minute"),
    ),
    "split": Column(True, "the split per 500 m, such as 2:05.5", split_between(*SPLIT_RANGE_MS)),
    "watts": Column(False, "the mean power in watts", number_between(0, 999_999)),
    "metres": Column(False, "the metres rowed", number_between(0, 999_999)),
    "session": Column(False, "the session's title", words),
    "segment": Column(False, "which segment of it", words),
    "note": Column(False, "anything worth keeping", words),
    "label": Column(False, "what the segment was", words),
    "kind": Column(False, f"one of {', '.join(SEGMENT_KINDS)}", kind),
    "duration": Column(False, "how long it lasted, such as 0:04:00", duration),
    "heart_rate": Column(
        False,
        "the heart rate in beats per minute, such as 150",
        whole_between(*HEART_RATE_RANGE, "a heart rate", "beats per minute"),
    ),
    "felt": Column(False, "how hard it felt, in per cent, such as 70", percent),
    "parts": Column(
        False,
        "the splits of its equally long parts, such as 2:14.2/2:13.8",
        parts_between(*SPLIT_RANGE_MS),
    ),
}
