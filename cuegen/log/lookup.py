"""The results log: looking up what is in it.

Conventions
    Rowers are one and the same whatever the capitals and spaces of their names.
    Errors are LogError, in plain words whether the file is bad or a value in it.

Contents
    Lookup      what can be asked of a log; cuegen.log.store adds what changes it
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from cuegen.closing import Closing
from cuegen.errors import LogError, Where
from cuegen.log.entry import LogEntry
from cuegen.log.outcomes import Rower
from cuegen.log.rows import RESULT, SELECTED, entry_of, identity_of, key_of, result_of
from cuegen.log.schema import saying
from cuegen.plan.model import SEGMENT_KINDS
from cuegen.plan.nearest import nearest
from cuegen.targets.rowed import Results

_MOST_VARIABLES = 500
"""So many rowers are asked for by name; of more, all are read."""

_MOST_IDS = 2**63
"""SQLite's own limit; a larger number is nobody's."""

_WORK = tuple(kind.value for kind, spec in SEGMENT_KINDS.items() if spec.is_work)


class Lookup(Closing):
    """A results log, as far as it is only read. Used through cuegen.log.store.Log."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection

    def close(self) -> None:
        self._connection.close()

    def entries(
        self,
        rower: str | None = None,
        since: date | None = None,
        until: date | None = None,
        session: str | None = None,
        newest: int | None = None,
    ) -> tuple[LogEntry, ...]:
        """Return entries, oldest day first, in the order they were added within a day.

        since and until are both included; session is a part of the title, whatever
        its capitals. newest: no more than so many, the last ones. Raises LogError for a
        rower of whom there is nothing.
        """
        wanted = [
            ("rower_key = ?", None if rower is None else self._known(rower, "result")),
            ("day >= ?", None if since is None else since.isoformat()),
            ("day <= ?", None if until is None else until.isoformat()),
        ]
        given = [pair for pair in wanted if pair[1] is not None]
        if session is None:
            return self._select(given, newest)
        part = key_of(session)
        found = (one for one in self._select(given) if one.session and part in key_of(one.session))
        return tuple(found)[-newest if newest else None :]

    def entry(self, number: int) -> LogEntry:
        """Return the entry of that id. Raises LogError where there is none."""
        return self._entries_of([number])[0]

    def of_rowers(self, names: Iterable[str]) -> tuple[LogEntry, ...]:
        """Return all entries of these rowers, and perhaps of others, oldest day first."""
        keys = sorted({key_of(name) for name in names})
        if len(keys) > _MOST_VARIABLES:
            return self._select([])
        marks = ", ".join("?" * len(keys))
        return self._select([(f"rower_key IN ({marks})", keys)])

    def rowers(self) -> tuple[Rower, ...]:
        """Return every rower, by name."""
        query = (
            "SELECT one.rower, results, first_day, last_day FROM (SELECT min(id) AS first_id, "
            "count(*) AS results, min(day) AS first_day, max(day) AS last_day FROM result "
            "GROUP BY rower_key) JOIN result AS one ON one.id = first_id ORDER BY rower_key"
        )
        with self._reading():
            return tuple(
                Rower(name, count, date.fromisoformat(first), date.fromisoformat(last))
                for name, count, first, last in self._connection.execute(query)
            )

    def results(self, rower: str | None = None) -> Results:
        """Return what was held in pieces of work, for `@last`, in the order it was added.

        rower: only theirs, which is quick in a large log; of one who has none, those of
        everybody, so that a slip in the name can be told from a newcomer.
        """
        marks = ", ".join("?" * len(_WORK))
        query = f"SELECT {RESULT} FROM result WHERE kind IN ({marks})"
        with self._reading():
            rows: list[Any] = []
            if rower is not None:
                own = f"{query} AND rower_key = ? ORDER BY id"
                rows = self._connection.execute(own, (*_WORK, key_of(rower))).fetchall()
            found = rows or self._connection.execute(f"{query} ORDER BY id", _WORK)
            return Results(tuple(map(result_of, found)), str(self.path))

    def check_known(self, rower: str) -> str:
        """Return by which key the log knows a rower, present or removed. Raises LogError."""
        return self._known(rower, "result", "former")

    def unknown(self, entries: Sequence[LogEntry]) -> list[int]:
        """Return the indices of entries that are not in the log yet.

        Where the same rowing stands twice among them, it must stand twice in the log.
        """
        there = Counter(map(identity_of, self.of_rowers(one.rower for one in entries)))
        new = []
        for index, entry in enumerate(entries):
            identity = identity_of(entry)
            if there[identity] > 0:
                there[identity] -= 1
            else:
                new.append(index)
        return new

    # ----------------------------------------------------------- within

    @contextmanager
    def _reading(self) -> Iterator[None]:
        """Say in plain words what is bad, be it the file or a value in it."""
        try:
            with saying(self.path):
                yield
        except (ValueError, TypeError) as bad:
            raise LogError(
                f"a result in this log cannot be read: {bad}",
                where=Where(file=str(self.path)),
                remedy="Take a copy of the log from before; it is left as it is.",
            ) from None

    def _select(
        self, wanted: Sequence[tuple[str, Any]], newest: int | None = None
    ) -> tuple[LogEntry, ...]:
        conditions = " AND ".join(condition for condition, _ in wanted) or "true"
        values: list[Any] = []
        for _, value in wanted:
            values.extend(value if isinstance(value, list) else [value])
        query = f"SELECT {SELECTED} FROM result WHERE {conditions} ORDER BY"
        with self._reading():
            if newest is None:
                return tuple(map(entry_of, self._connection.execute(f"{query} day, id", values)))
            last = self._connection.execute(
                f"{query} day DESC, id DESC LIMIT ?", (*values, newest)
            ).fetchall()
            return tuple(map(entry_of, reversed(last)))

    def _entries_of(self, numbers: Sequence[int]) -> tuple[LogEntry, ...]:
        found = []
        for number in numbers:
            rows = self._select([("id = ?", number)]) if 0 < number < _MOST_IDS else ()
            if not rows:
                raise LogError(
                    "there is no result of that number",
                    where=Where(file=str(self.path), text=str(number)),
                    remedy="`cuegen log list` shows the numbers.",
                )
            found.append(rows[0])
        return tuple(found)

    def _known(self, rower: str, *tables: str) -> str:
        key = key_of(rower)
        with saying(self.path):
            for table in tables:
                query = f"SELECT 1 FROM {table} WHERE rower_key = ? LIMIT 1"
                if self._connection.execute(query, (key,)).fetchone():
                    return key
        near = nearest(rower, [one.name for one in self.rowers()])
        raise LogError(
            "there are no results of a rower of that name",
            where=Where(file=str(self.path), text=rower),
            remedy=f"Did you mean {near!r}?" if near else "`cuegen log rowers` names them all.",
        )
