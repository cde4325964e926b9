"""The results log: add, correct, remove, undo, forget; looking up is cuegen.log.lookup.

Conventions
    Every change is one transaction: it is kept whole when the method returns, and
    not at all when it raises. One change is one batch; `undo` takes the last one
    back, and again the one before. Rowers are one and the same whatever the
    capitals and spaces of their names. Errors are LogError.

Contents
    open_log    a log on disk, made where there is none
    Log         what can be done with it
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

from cuegen.errors import LogError, Where
from cuegen.log.entry import FIELDS, LogEntry, checked
from cuegen.log.history import (
    begin,
    delete_rower,
    is_forgetting,
    mentions_of,
    take_back,
    write_anew,
    write_down,
)
from cuegen.log.lookup import Lookup
from cuegen.log.outcomes import Forgotten, Imported, Undone
from cuegen.log.place import default_log_path
from cuegen.log.readings import followed
from cuegen.log.rows import now, row_of
from cuegen.log.schema import GIVEN, connect, remove_backups, saying, transaction


def open_log(path: Path | str | None = None, *, create: bool = True) -> Log:
    """Return the log in a file, to be used in a `with` block; by default default_log_path().

    A missing file is made, readable by its owner alone, unless create is False. Raises
    LogError for a file that is no results log, or one of a newer version.
    """
    where = default_log_path() if path is None else Path(path)
    connection = connect(where, create=create)
    with suppress(sqlite3.Error):  # of a log that may only be read
        if is_forgetting(connection):
            write_anew(connection)
    return Log(where, connection)


class Log(Lookup):
    """An open results log."""

    def add(self, entries: Iterable[LogEntry]) -> int:
        """Add entries and return the number of their batch."""
        ready = [checked(entry) for entry in entries]
        if not ready:
            raise LogError("there is nothing to add", where=Where(file=str(self.path)))
        with self._writing():
            return self._insert("add", ready)

    def import_entries(self, entries: Iterable[LogEntry]) -> Imported:
        """Add the entries that are not in the log yet (see `unknown`), as one batch."""
        ready = [checked(entry) for entry in entries]
        with self._writing():
            new = [ready[index] for index in self.unknown(ready)]
            batch = self._insert("import", new) if new else None
        return Imported(batch, len(new), len(ready) - len(new))

    def correct(self, number: int, **changes: Any) -> LogEntry:
        """Change fields of one entry and return it as it is now.

        Of split, watts and metres, those that are not given follow the one that is
        (cuegen.log.readings). Nothing is written where nothing changes.
        """
        with self._writing():
            before = self.entry(number)
            after = self.corrected(before, changes)
            if after != before:
                write_down(self._connection, begin(self._connection, "correct"), [number])
                pairs = ", ".join(f"{name} = ?" for name in GIVEN)
                self._connection.execute(
                    f"UPDATE result SET {pairs} WHERE id = ?", (*row_of(after), number)
                )
        return after

    @staticmethod
    def corrected(before: LogEntry, changes: dict[str, Any]) -> LogEntry:
        """Return what `correct` makes of an entry. Raises LogError, TypeError for no field."""
        if unknown := changes.keys() - FIELDS.keys():
            raise TypeError(f"a result has no field {min(unknown)!r} that can be changed")
        return checked(replace(before, **followed(before, changes)))

    def remove(self, numbers: Iterable[int]) -> tuple[LogEntry, ...]:
        """Remove the entries of these ids, all or none, and return them as they were."""
        wanted = list(dict.fromkeys(numbers))
        with self._writing():
            found = self._entries_of(wanted)
            if found:
                write_down(self._connection, begin(self._connection, "remove"), wanted)
                self._connection.executemany(
                    "DELETE FROM result WHERE id = ?", [(number,) for number in wanted]
                )
        return found

    def undo(self) -> Undone:
        """Take back the last batch that stands. Raises LogError where there is none."""
        with self._writing():
            undone = take_back(self._connection)
            if undone is None:
                raise LogError("there is nothing to undo", where=Where(file=str(self.path)))
        return undone

    def forget(self, rower: str) -> Forgotten:
        """Remove a rower wholly and for good: results, undo history, backups made beside the log.

        The file is written anew, so that no byte of the results is left in it. Where
        texts of other rowers' results hold the name, they are told, not touched.
        """
        with self._writing():
            key = self.check_known(rower)
            count = delete_rower(self._connection, key)
            copies = remove_backups(self.path)
            mentions = mentions_of(self._connection, key)
        with saying(self.path):
            write_anew(self._connection)
        return Forgotten(count, mentions, copies)

    # ----------------------------------------------------------- within

    @contextmanager
    def _writing(self) -> Iterator[None]:
        with saying(self.path), transaction(self._connection):
            yield

    def _insert(self, action: str, entries: Iterable[LogEntry]) -> int:
        batch, added = begin(self._connection, action), now().isoformat()
        columns = ", ".join((*GIVEN, "added", "batch"))
        marks = ", ".join("?" * (len(GIVEN) + 2))
        self._connection.executemany(
            f"INSERT INTO result ({columns}) VALUES ({marks})",
            ((*row_of(one), added, batch) for one in entries),
        )
        return batch
