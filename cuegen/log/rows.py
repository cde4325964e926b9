"""Entries as rows of the database, and back; what makes two of them the same.

Conventions
    Days are ISO 8601 text, instants ISO 8601 text in UTC to the second. A row has
    the columns of cuegen.log.schema.ROW.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Hashable
from datetime import UTC, date, datetime
from typing import Any

from cuegen.log.entry import LogEntry
from cuegen.log.schema import ROW
from cuegen.plan.model import SegmentKind
from cuegen.targets.rowed import Result, name_key

_READ_BACK = {
    "day": date.fromisoformat,
    "kind": SegmentKind,
    "added": datetime.fromisoformat,
}
"""Fields that the database holds as another type."""

FIELD_NAMES = tuple(name for name in ROW if name != "rower_key")
SELECTED = ", ".join(FIELD_NAMES)
"""The columns to select, in the order that entry_of takes."""


def now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)


def key_of(rower: str) -> str:
    """Return by which a rower is found, whatever the spelling of the name."""
    # half characters, which a shell may hand on, can neither be kept nor looked for
    whole = rower.encode("utf-8", "replace").decode("utf-8")
    return name_key(unicodedata.normalize("NFC", whole))


def row_of(entry: LogEntry) -> tuple[Any, ...]:
    """Return the values of an entry in the order of ROW."""
    found = {name: getattr(entry, name) for name in FIELD_NAMES}
    found["rower_key"] = key_of(entry.rower)
    found["day"] = entry.day.isoformat()
    found["kind"] = entry.kind.value
    found["added"] = None if entry.added is None else entry.added.isoformat()
    return tuple(found[name] for name in ROW)


def entry_of(row: tuple[Any, ...]) -> LogEntry:
    """Return the entry of a row that was selected by SELECTED."""
    values = dict(zip(FIELD_NAMES, row, strict=True))
    for name, read in _READ_BACK.items():
        values[name] = read(values[name])
    return LogEntry(**values)


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


RESULT = "rower, day, rate, split_ms, watts, metres, session, coalesce(segment, label), note, id"
"""The columns to select, in the order that result_of takes."""


def result_of(rower: str, day: str, rate: int, split_ms: int, *rest: Any) -> Result:
    """Return the result of a row that was selected by RESULT."""
    watts, metres, session, segment, note, number = rest
    return Result(
        rower,
        date.fromisoformat(day),
        rate,
        split_ms,
        watts,
        metres,
        session,
        None if segment is None else str(segment),
        note,
        number,
    )
