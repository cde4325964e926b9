"""Entries as rows of the database, and back; what makes two of them the same.

Conventions
    Days are ISO 8601 text, instants ISO 8601 text in UTC to the second. There are few
    of them beside results: each is read once and kept.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Hashable
from dataclasses import fields
from datetime import UTC, date, datetime
from functools import cache
from operator import attrgetter
from typing import Any

from cuegen.log.entry import LogEntry
from cuegen.log.schema import ROW_FIELDS
from cuegen.plan.model import SegmentKind
from cuegen.targets.rowed import Result, name_key

FIELD_NAMES = tuple(field.name for field in fields(LogEntry))
SELECTED = ", ".join(FIELD_NAMES)
"""The columns to select, in the order that entry_of takes."""

RESULT = (
    "rower, day, rate, split_ms, watts, metres, session, "
    "coalesce(CAST(segment AS TEXT), label), note, id, heart_rate, felt_pct"
)
"""The columns to select, in the order that result_of takes."""

_values_of = attrgetter(*ROW_FIELDS)


def _parts(text: str | None) -> tuple[int, ...]:
    """Return the parts that row_of wrote as `134200/133800`; NULL is none."""
    return () if text is None else tuple(map(int, text.split("/")))


_day, _kind, _instant = cache(date.fromisoformat), cache(SegmentKind), cache(datetime.fromisoformat)
_READ_BACK = tuple(map(FIELD_NAMES.index, ("day", "kind", "parts_ms", "added")))
"""Where the fields stand that the database holds as another type, in their order."""


def now() -> datetime:
    """Return this instant in UTC, to the second."""
    return datetime.now(UTC).replace(microsecond=0)


def key_of(rower: str) -> str:
    """Return by which a rower is found, whatever the spelling of the name."""
    # half characters, which a shell may hand on, can neither be kept nor looked for
    whole = rower.encode("utf-8", "replace").decode("utf-8")
    return name_key(unicodedata.normalize("NFC", whole))


def row_of(entry: LogEntry) -> tuple[Any, ...]:
    """Return the values of an entry in the order of cuegen.log.schema.GIVEN."""
    rower, day, *others, parts_ms, kind = _values_of(entry)
    parts = "/".join(map(str, parts_ms)) or None
    return rower, key_of(rower), day.isoformat(), *others, parts, kind.value


def entry_of(row: tuple[Any, ...]) -> LogEntry:
    """Return the entry of a row that was selected by SELECTED."""
    day, kind, parts, added = _READ_BACK
    values: tuple[Any, ...] = (
        *row[:day],
        _day(row[day]),
        *row[day + 1 : kind],
        _kind(row[kind]),
        *row[kind + 1 : parts],
        _parts(row[parts]),
        *row[parts + 1 : added],
        _instant(row[added]),
        *row[added + 1 :],
    )
    return LogEntry(*values)


def result_of(row: tuple[Any, ...]) -> Result:
    """Return the result of a row that was selected by RESULT."""
    return Result(row[0], _day(row[1]), *row[2:])


def slot_of(entry: LogEntry) -> tuple[Hashable, ...] | None:
    """Return which segment of whose session an entry is about, None if it does not say."""
    if entry.segment is None:
        return None
    session = None if entry.session is None else name_key(entry.session)
    return key_of(entry.rower), entry.day, session, entry.segment


def identity_of(entry: LogEntry) -> tuple[Hashable, ...]:
    """Return what two entries of one and the same rowing share: all but what was noted beside it.

    Without a segment's number, label and kind take its place.
    """
    session = None if entry.session is None else name_key(entry.session)
    which = entry.segment if entry.segment is not None else (entry.label, entry.kind)
    return key_of(entry.rower), entry.day, session, which, entry.rate, entry.split_ms
