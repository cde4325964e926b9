"""What can be undone, and what is forgotten for good: the tables beside the results.

Conventions
    These functions run inside a transaction of their caller. A change writes down
    the rows it changes as they were (table `former`); the rows that a batch added
    are those that carry its number.

    FORGET is the action of a batch that cannot be undone: it says that the file has
    still to be written anew, should the program be stopped in between.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable

from cuegen.log.outcomes import Undone
from cuegen.log.rows import key_of, now
from cuegen.log.schema import ROW

FORGET = "forget"

_ROW = ", ".join(ROW)


def begin(connection: sqlite3.Connection, action: str) -> int:
    """Return the number of a new batch."""
    row = connection.execute(
        "INSERT INTO batch (action, made) VALUES (?, ?)", (action, now().isoformat())
    )
    assert row.lastrowid is not None
    return row.lastrowid


def write_down(connection: sqlite3.Connection, batch: int, numbers: Iterable[int]) -> None:
    """Keep results as they are before a batch changes them."""
    connection.executemany(
        f"INSERT INTO former (changed_in, {_ROW}) SELECT ?, {_ROW} FROM result WHERE id = ?",
        [(batch, number) for number in numbers],
    )


def take_back(connection: sqlite3.Connection) -> Undone | None:
    """Undo the last batch and return what it was, None where there is none."""
    run = connection.execute
    last = run(
        "SELECT id, action, made FROM batch WHERE action <> ? ORDER BY id DESC LIMIT 1", (FORGET,)
    ).fetchone()
    if last is None:
        return None
    batch = (last[0],)
    touched = run(
        "SELECT rower FROM result WHERE batch = ? UNION ALL "
        "SELECT rower FROM former WHERE changed_in = ?",
        batch * 2,
    ).fetchall()
    run("DELETE FROM result WHERE batch = ?", batch)
    run(
        f"INSERT OR REPLACE INTO result ({_ROW}) SELECT {_ROW} FROM former WHERE changed_in = ?",
        batch,
    )
    run("DELETE FROM former WHERE changed_in = ?", batch)
    run("DELETE FROM batch WHERE id = ?", batch)
    names = tuple(dict.fromkeys(row[0] for row in touched))
    return Undone(last[0], last[1], last[2], len(touched), names)


def delete_rower(connection: sqlite3.Connection, key: str) -> int:
    """Delete a rower's results, and all that undo knows of them; return how many there were."""
    run = connection.execute
    mine = "SELECT id FROM result WHERE rower_key = ?"
    run(f"DELETE FROM former WHERE rower_key = ? OR id IN ({mine})", (key, key))
    count = run("DELETE FROM result WHERE rower_key = ?", (key,)).rowcount
    run(
        "DELETE FROM batch WHERE id NOT IN (SELECT batch FROM result UNION "
        "SELECT batch FROM former UNION SELECT changed_in FROM former)"
    )
    begin(connection, FORGET)
    return count


def is_forgetting(connection: sqlite3.Connection) -> bool:
    """Return whether a rower was deleted and the file not yet written anew."""
    query = "SELECT 1 FROM batch WHERE action = ? LIMIT 1"
    return connection.execute(query, (FORGET,)).fetchone() is not None


def write_anew(connection: sqlite3.Connection) -> None:
    """Write the whole file again, outside of any transaction: nothing deleted is left in it."""
    connection.execute("VACUUM")
    connection.execute("DELETE FROM batch WHERE action = ?", (FORGET,))


def mentions_of(connection: sqlite3.Connection, key: str) -> tuple[int, ...]:
    """Return the ids of results, present and former ones, whose texts hold a name."""
    name = re.compile(rf"(?<!\w){re.escape(key)}(?!\w)")
    columns = "id, coalesce(session, ''), coalesce(label, ''), coalesce(note, '')"
    query = f"SELECT {columns} FROM result UNION SELECT {columns} FROM former"
    found = {
        number
        for number, *texts in connection.execute(query)
        if any(name.search(key_of(text)) for text in texts)
    }
    return tuple(sorted(found))
