"""The file of the results log: an SQLite database, made, recognised, brought up to date.

Conventions
    `PRAGMA application_id` says that a database is a results log, `PRAGMA
    user_version` how many of MIGRATIONS have been applied to it. A log of an older
    version is copied beside itself first; one of a newer version, a database of
    another program and a file that is no database are refused and left as they are.

    A rollback journal, not a write-ahead log. The log stays one file, which can be
    copied and may lie on a network drive (a write-ahead log may not: sqlite.org,
    "Write-Ahead Logging"); and once a rower is forgotten no second file holds old
    pages. What a write-ahead log would gain, many writes a second, is not needed
    here. `synchronous = EXTRA` also makes the journal's removal durable, so a result
    that was reported written survives a power cut (sqlite.org, "PRAGMA synchronous").

    result   one row per segment rowed (parts_ms: 134200/133800, since version 2)
    batch    one row per change that can be undone: what was done, and when
    former   rows as they were before a change (changed_in: its batch)
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path

from cuegen.errors import LogError, Where
from cuegen.log.place import MAGIC

APPLICATION_ID = 0x43554C47

BUSY_S = 30.0
"""How long a writer waits for another one."""

ROW_FIELDS = (
    "rower", "day", "session", "segment", "label", "rate", "split_ms", "watts", "metres",
    "duration_ms", "heart_rate", "felt_pct", "note", "parts_ms", "kind",
)  # fmt: skip
"""The columns of a result that are fields of an entry."""

GIVEN = ("rower", "rower_key", *ROW_FIELDS[1:])
"""And those that follow from them."""

ROW = ("id", *GIVEN, "added", "batch")
"""All columns of a result, and of a former one."""

_FIRST_ROW_SQL = """
    rower TEXT NOT NULL, rower_key TEXT NOT NULL, day TEXT NOT NULL, session TEXT,
    segment INTEGER, label TEXT, kind TEXT NOT NULL, rate INTEGER NOT NULL,
    split_ms INTEGER NOT NULL, watts REAL, metres REAL, duration_ms INTEGER,
    heart_rate INTEGER, felt_pct INTEGER, note TEXT, added TEXT NOT NULL,
    batch INTEGER NOT NULL
"""

Migration = Sequence[str]

MIGRATIONS: tuple[Migration, ...] = (
    (
        # AUTOINCREMENT: a number that was printed once never means another result
        f"CREATE TABLE result (id INTEGER PRIMARY KEY AUTOINCREMENT, {_FIRST_ROW_SQL})",
        "CREATE INDEX result_of_rower ON result (rower_key, day)",
        "CREATE INDEX result_of_batch ON result (batch)",
        "CREATE TABLE batch (id INTEGER PRIMARY KEY AUTOINCREMENT, action TEXT NOT NULL, "
        "made TEXT NOT NULL)",
        f"CREATE TABLE former (changed_in INTEGER NOT NULL, id INTEGER NOT NULL, "
        f"{_FIRST_ROW_SQL}, PRIMARY KEY (changed_in, id)) WITHOUT ROWID",
    ),
    (
        "ALTER TABLE result ADD COLUMN parts_ms TEXT",
        "ALTER TABLE former ADD COLUMN parts_ms TEXT",
    ),
)
"""The steps from an empty file to the newest version. Steps are added, never changed."""


@contextmanager
def saying(path: Path) -> Iterator[None]:
    """Turn what SQLite says within into a LogError in plain words."""
    try:
        yield
    except sqlite3.Error as bad:
        problem, remedy = _REASONS.get(
            getattr(bad, "sqlite_errorcode", 0) & 0xFF,
            (f"the results log could not be used: {bad}", ""),
        )
        raise LogError(problem, where=Where(file=str(path)), remedy=remedy) from bad


_PLACE = "Check the folder and its permissions, or name another file with --log."
_REASONS = {
    sqlite3.SQLITE_BUSY: (
        "another program is writing to this results log",
        "Wait a moment and try again.",
    ),
    sqlite3.SQLITE_NOTADB: (
        "this file is no results log",
        "Name another one with --log; this one is left as it is.",
    ),
    sqlite3.SQLITE_CORRUPT: (
        "this results log is damaged",
        "Take a copy of it from before; it is left as it is.",
    ),
    sqlite3.SQLITE_READONLY: (
        "this results log may be read but not written to",
        "Check who owns the file and its folder.",
    ),
    sqlite3.SQLITE_FULL: ("there is no room left for this results log", "Check free space."),
    sqlite3.SQLITE_CANTOPEN: (
        "this results log cannot be opened",
        _PLACE,
    ),
}


def connect(path: Path, *, create: bool) -> sqlite3.Connection:
    """Return a connection to a log of the newest version. Raises LogError."""
    _check_file(path, create=create)
    with saying(path):
        # absolute, since SQLite gives some bare names a meaning of its own
        connection = sqlite3.connect(path.absolute(), timeout=BUSY_S, isolation_level=None)
    try:
        with saying(path):
            _set_up(connection)
            bring_up_to_date(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


def _check_file(path: Path, *, create: bool) -> None:
    """Refuse what is no log before SQLite touches it, and make a missing one private."""
    where = Where(file=str(path))
    try:
        if not path.exists():
            if not create:
                remedy = "`cuegen log add` begins one, or name another file with --log."
                raise LogError("there is no results log yet", where=where, remedy=remedy)
            _make_private(path)
        if not path.is_file():
            remedy = "Name a file for the results log."
            raise LogError("this is no file", where=where, remedy=remedy)
        with path.open("rb") as file:
            head = file.read(len(MAGIC))
    except OSError as bad:
        problem = f"the results log cannot be opened: {bad.strerror or bad}"
        raise LogError(problem, where=where, remedy=_PLACE) from None
    if head not in (b"", MAGIC):
        problem, remedy = _REASONS[sqlite3.SQLITE_NOTADB]
        raise LogError(problem, where=where, remedy=remedy)


def _make_private(path: Path) -> None:
    """Make an empty file that only its owner reads; SQLite's journal takes its mode over."""
    if not path.parent.exists():
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))


@contextmanager
def transaction(connection: sqlite3.Connection, mode: str = "IMMEDIATE") -> Iterator[None]:
    """Keep all of what is done within, or none of it.

    IMMEDIATE takes the right to write at once: two writers wait for each other, where
    two readers that both turned writers could only fail.
    """
    connection.execute(f"BEGIN {mode}")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _set_up(connection: sqlite3.Connection) -> None:
    for pragma in (
        "journal_mode = DELETE",
        "synchronous = EXTRA",
        "secure_delete = ON",  # what is deleted is overwritten with zeros
        "temp_store = MEMORY",  # no results in temporary files
    ):
        connection.execute(f"PRAGMA {pragma}")


# ------------------------------------------------------------- versions


def bring_up_to_date(
    connection: sqlite3.Connection, path: Path, migrations: Sequence[Migration] = MIGRATIONS
) -> None:
    """Apply the migrations that a log has not had, all or none, after a copy of it.

    Raises LogError for a database of another program or of a newer version.
    """
    newest = len(migrations)
    with transaction(connection, "DEFERRED"):  # one look, whatever others write meanwhile
        if _version(connection, path, newest) == newest:
            return
    with transaction(connection):
        # asked again, since another process may have been quicker
        version = _version(connection, path, newest)
        if 0 < version < newest:
            _back_up(path, version)
        for statements in migrations[version:]:
            for statement in statements:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {newest}")


def _version(connection: sqlite3.Connection, path: Path, newest: int) -> int:
    """Return the version of a log, 0 for an empty file."""
    ours, version, tables = (
        connection.execute(query).fetchone()[0]
        for query in (
            "PRAGMA application_id",
            "PRAGMA user_version",
            "SELECT count(*) FROM sqlite_master",
        )
    )
    where = Where(file=str(path))
    if ours != APPLICATION_ID and (ours or version or tables):
        raise LogError(
            "this is a database of another program",
            where=where,
            remedy="Name another file with --log; this one is left as it is.",
        )
    if version > newest:
        raise LogError(
            f"this results log is of version {version}, and this cuegen reads up to {newest}",
            where=where,
            remedy="Use the newer cuegen that wrote it; the log is left as it is.",
        )
    return int(version)


def _back_up(path: Path, version: int) -> None:
    """Copy a log beside itself; its own writer waits, so the copy is whole."""
    target = _free_name(path, version)
    _make_private(target)
    with closing(sqlite3.connect(path)) as old, closing(sqlite3.connect(target)) as copy:
        old.backup(copy)


def _free_name(path: Path, version: int) -> Path:
    name = f"{path.name}.version-{version}.backup"
    number = 1
    while (target := path.with_name(name)).exists():
        number += 1
        name = f"{path.name}.version-{version}-{number}.backup"
    return target


def remove_backups(path: Path) -> tuple[Path, ...]:
    """Remove the copies that were made beside a log before it was brought up to date."""
    head, tail = f"{path.name}.version-", ".backup"
    names = (one.name for one in path.absolute().parent.iterdir())
    found = [path.with_name(one) for one in names if one.startswith(head) and one.endswith(tail)]
    try:
        for copy in found:
            copy.unlink(missing_ok=True)
    except OSError as bad:
        raise LogError(
            f"a copy of the log from before an update cannot be removed: {bad.strerror}",
            where=Where(file=str(bad.filename)),
            remedy="Remove it, or let it be removed, and try again.",
        ) from None
    return tuple(sorted(found))
