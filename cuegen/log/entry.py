"""One entry of the results log: a segment that a rower rowed.

Conventions
    Splits are whole milliseconds per 500 m, rates whole strokes per minute, power
    watts, lengths metres and whole milliseconds, heart rates beats per minute,
    felt effort whole per cent of the hardest one can. Parts are the splits of a
    piece's equally long parts, in their order. Texts are in Unicode's
    composed form (NFC) with single spaces: a name typed on two keyboards is one.

    What nobody rows is refused here; what is merely hard to believe is asked
    about (cuegen.log.doubts).

Contents
    LogEntry    one entry
    FIELDS      the one table of its fields: column, reader, writer, bounds
    checked     an entry put in order, or LogError
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from cuegen.cells import guard
from cuegen.clock import MS_PER_H, MS_PER_MIN, MS_PER_S, split_text
from cuegen.errors import LogError, Where
from cuegen.plan.limits import MAX_SEGMENTS, MAX_SPLIT_MS, MAX_TEXT_CHARS, MIN_SPLIT_MS
from cuegen.plan.model import SegmentKind
from cuegen.targets import result_cells as cells
from cuegen.targets.result_cells import COLUMNS, HEART_RATE_RANGE, MAX_PARTS, Column, RefusedError

RATE_BOUNDS = (1, 200)
MAX_WATTS = 3_000
MAX_METRES = 999_999
MAX_DURATION_MS = 24 * MS_PER_H

_HIDDEN = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Characters that turn the direction of what follows, which a terminal obeys."""


@dataclass(frozen=True, slots=True)
class LogEntry:
    """What one rower held over one segment. segment: its number in the session, from 1.

    parts_ms: the splits of its parts, two or more of the same length, () where only
    the whole was read. split_ms is that of the whole (cuegen.log.readings).
    id, added (UTC) and batch are given by the log and left out of equality.
    """

    rower: str
    day: date
    rate: int
    split_ms: int
    session: str | None = None
    segment: int | None = None
    label: str | None = None
    kind: SegmentKind = SegmentKind.ROW
    watts: float | None = None
    metres: float | None = None
    duration_ms: int | None = None
    heart_rate: int | None = None
    felt_pct: int | None = None
    note: str | None = None
    parts_ms: tuple[int, ...] = ()
    id: int | None = field(default=None, compare=False)
    added: datetime | None = field(default=None, compare=False)
    batch: int | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Field:
    """A field of an entry. column: its name in a CSV. bounds: both included, None for texts.

    most: how many values it holds; of more than one it is a tuple, empty where nothing is said.
    """

    column: str
    read: Callable[[str], Any]
    write: Callable[[Any], str]
    types: tuple[type, ...]
    bounds: tuple[float, float] | None = None
    most: int = 1

    @property
    def nothing(self) -> Any:
        """What stands there where nothing is said."""
        return None if self.most == 1 else ()

    @property
    def required(self) -> bool:
        return COLUMNS[self.column].required

    @property
    def what(self) -> str:
        return COLUMNS[self.column].what


# --------------------------------------------------- a field as a cell


def text_of(text: str) -> str:
    """Return a text in order. Raises RefusedError for what a terminal would obey."""
    tidy = " ".join(unicodedata.normalize("NFC", text).split())
    for letter in "" if tidy.isprintable() else tidy:
        if unicodedata.category(letter) in ("Cc", "Cs") or letter in _HIDDEN:
            raise RefusedError(
                f"the sign U+{ord(letter):04X} in it is no part of any text", "Take it out."
            )
    if len(tidy) > MAX_TEXT_CHARS:
        raise RefusedError(f"this text is longer than {MAX_TEXT_CHARS} characters", "Shorten it.")
    return tidy


def cell_text(cell: str) -> str:
    """Return the text of a cell, its guard taken off. Raises RefusedError."""
    return text_of(cells.words(cell))


def exact_split(split_ms: int) -> str:
    """Return `m:ss.t`, to the millisecond where it has any."""
    if split_ms % 100 == 0:
        return split_text(split_ms)
    minutes, rest = divmod(split_ms, MS_PER_MIN)
    return f"{minutes}:{rest // MS_PER_S:02d}.{rest % MS_PER_S:03d}"


def exact_parts(parts_ms: tuple[int, ...]) -> str:
    """Return `2:14.2/2:13.8/2:14.6`, each part to the millisecond where it has any."""
    return "/".join(map(exact_split, parts_ms))


def exact_duration(duration_ms: int) -> str:
    """Return `h:mm:ss`, with hours always: a spreadsheet takes 4:00 for four hours."""
    hours, rest = divmod(duration_ms, MS_PER_H)
    minutes, rest = divmod(rest, MS_PER_MIN)
    fraction = f".{rest % MS_PER_S:03d}".rstrip("0").rstrip(".")
    return f"{hours}:{minutes:02d}:{rest // MS_PER_S:02d}{fraction}"


def exact_number(number: float) -> str:
    """Return a number with as many digits as it has, and no more."""
    return str(int(number)) if number == int(number) else repr(float(number))


def _segment(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= MAX_SEGMENTS):
        raise RefusedError("this is no segment's number", f"They go from 1 to {MAX_SEGMENTS}.")
    return int(text)


def _whole(bounds: tuple[int, int], what: str, unit: str) -> Callable[[str], int]:
    return cells.whole_between(*bounds, what, unit)


_SPLITS = (MIN_SPLIT_MS, MAX_SPLIT_MS)
_TEXT = (cell_text, guard, (str,))
_WHOLE, _NUMBER = (int,), (int, float)

FIELDS: dict[str, Field] = {
    "rower": Field("rower", *_TEXT),
    "day": Field("date", cells.day, date.isoformat, (date,)),
    "session": Field("session", *_TEXT),
    "segment": Field("segment", _segment, str, _WHOLE, (1, MAX_SEGMENTS)),
    "label": Field("label", *_TEXT),
    "kind": Field("kind", cells.kind, str, (SegmentKind,)),
    "rate": Field(
        "rate", _whole(RATE_BOUNDS, "a rate", "strokes per minute"), str, _WHOLE, RATE_BOUNDS
    ),
    "split_ms": Field("split", cells.split_between(*_SPLITS), exact_split, _WHOLE, _SPLITS),
    "watts": Field(
        "watts", cells.number_between(0, MAX_WATTS), exact_number, _NUMBER, (0, MAX_WATTS)
    ),
    "metres": Field(
        "metres", cells.number_between(0, MAX_METRES), exact_number, _NUMBER, (0, MAX_METRES)
    ),
    "duration_ms": Field("duration", cells.duration, exact_duration, _WHOLE, (1, MAX_DURATION_MS)),
    "heart_rate": Field(
        "heart_rate",
        _whole(HEART_RATE_RANGE, "a heart rate", "beats per minute"),
        str,
        _WHOLE,
        HEART_RATE_RANGE,
    ),
    "felt_pct": Field("felt", cells.percent, str, _WHOLE, (0, 100)),
    "note": Field("note", *_TEXT),
    "parts_ms": Field(
        "parts", cells.parts_between(*_SPLITS), exact_parts, _WHOLE, _SPLITS, MAX_PARTS
    ),
}

LOG_COLUMNS: dict[str, Column] = {
    one.column: Column(one.required, one.what, one.read) for one in FIELDS.values()
}
"""The columns of a CSV that goes into the log or comes out of it."""


# ------------------------------------------------------------- checking


def checked(entry: LogEntry) -> LogEntry:
    """Return an entry with its texts in order. Raises LogError for what cannot be kept."""
    found: dict[str, Any] = {}
    for name, spec in FIELDS.items():
        value = getattr(entry, name)
        if isinstance(value, str) and spec.types == (str,):
            value = _checked_text(name, value)
            if value != getattr(entry, name):
                found[name] = value
        if value is None:
            if spec.required:
                raise _refused(spec, "is missing", None)
            if spec.most > 1:
                found[name] = spec.nothing
        elif spec.most > 1:
            _check_values(spec, value)
        else:
            _check_value(spec, value)
    return replace(entry, **found) if found else entry


def _checked_text(name: str, text: str) -> str | None:
    try:
        return text_of(text) or None
    except RefusedError as bad:
        where = Where(text=repr(text[:80]))
        raise LogError(f"{name}: {bad.problem}", where=where, remedy=bad.remedy) from None


def _check_values(spec: Field, values: Any) -> None:
    if not isinstance(values, tuple):
        raise _refused(spec, "is of the wrong kind", values)
    if values and not 2 <= len(values) <= spec.most:
        raise _refused(spec, f"has 2 to {spec.most} values, or none", values)
    for value in values:
        _check_value(spec, value)


def _check_value(spec: Field, value: Any) -> None:
    if not _is_one(value, spec.types):
        raise _refused(spec, "is of the wrong kind", value)
    if spec.bounds is None:
        return
    # written so that NaN, which is neither below nor above anything, is refused
    if not spec.bounds[0] <= value <= spec.bounds[1]:
        raise _refused(spec, "is beyond what anybody rows", value)
    if value == 0 and spec.types == _NUMBER:
        raise _refused(spec, "is nothing", value)


def _is_one(value: Any, types: tuple[type, ...]) -> bool:
    """True is no number here, and an instant no day, whatever Python says."""
    return isinstance(value, types) and not isinstance(value, (bool, datetime))


def _refused(spec: Field, problem: str, value: Any) -> LogError:
    return LogError(
        f"{spec.column} {problem}",
        where=Where(text=None if value is None else str(value)),
        remedy=f"Give {spec.what}.",
    )
