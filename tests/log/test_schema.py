"""The file: made private, recognised, brought up to date, never overwritten."""

from __future__ import annotations

import os
import sqlite3
import stat
from contextlib import closing
from pathlib import Path

import pytest

from cuegen.errors import LogError
from cuegen.log import default_log_path, open_log
from cuegen.log.schema import APPLICATION_ID, MIGRATIONS, bring_up_to_date
from tests.log.samples import entry

posix = pytest.mark.skipif(os.name != "posix", reason="the platform has no modes")


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@posix
def test_the_file_is_its_owners_alone(tmp_path: Path) -> None:
    path = tmp_path / "new" / "results.db"
    with open_log(path) as log:
        log.add([entry()])
    assert (mode(path), mode(path.parent)) == (0o600, 0o700)


@posix
def test_the_journal_is_its_owners_alone(path: Path) -> None:
    """SQLite gives its journal the mode of the database; we rely on it."""
    with open_log(path):
        pass
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("INSERT INTO batch (action, made) VALUES ('add', '')")
        assert mode(path.with_name("results.db-journal")) == 0o600


def test_nothing_is_left_beside_the_file(path: Path) -> None:
    with open_log(path) as log:
        log.add([entry()])
    assert [one.name for one in path.parent.iterdir()] == ["results.db"]


def test_the_variable_names_another_file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("CUEGEN_LOG", str(tmp_path / "mine.db"))
    with open_log():
        assert (tmp_path / "mine.db").exists()
    monkeypatch.setenv("CUEGEN_LOG", "")
    assert default_log_path().name == "results.db"


def test_a_missing_file_is_not_made_to_be_read(path: Path) -> None:
    with pytest.raises(LogError, match="there is no results log yet"):
        open_log(path, create=False)
    assert not path.exists()


def test_an_empty_file_becomes_a_log(path: Path) -> None:
    """That is what a program leaves which is killed while it begins one."""
    path.touch()
    with open_log(path) as log:
        assert log.add([entry()]) == 1


@pytest.mark.parametrize("content", [b"a diary, not a database", b"SQLite", bytes(range(256)) * 40])
def test_a_file_that_is_no_database_is_refused_and_left(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    with pytest.raises(LogError, match="this file is no results log"):
        open_log(path)
    assert path.read_bytes() == content


def test_a_database_of_another_program_is_refused_and_left(path: Path) -> None:
    with closing(sqlite3.connect(path)) as other, other:
        other.execute("CREATE TABLE boats (name TEXT)")
    before = path.read_bytes()
    with pytest.raises(LogError, match="database of another program"):
        open_log(path)
    assert path.read_bytes() == before


def test_a_damaged_log_is_said_and_left(path: Path) -> None:
    with open_log(path) as log:
        log.add([entry(note=f"n{index}") for index in range(500)])
    spoilt = bytearray(path.read_bytes())
    spoilt[4096:8192] = b"\xff" * 4096
    path.write_bytes(spoilt)
    with pytest.raises(LogError, match="damaged"), open_log(path) as log:
        log.entries()
    assert path.read_bytes() == bytes(spoilt)


def test_a_folder_is_no_log(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="this is no file"):
        open_log(tmp_path)


def test_a_place_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(LogError, match="cannot be opened"):
        open_log(tmp_path / "file" / "results.db")


def test_a_name_that_sqlite_gives_a_meaning_is_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with open_log(":memory:") as log:
        log.add([entry()])
    with open_log(":memory:") as log:
        assert log.entries() == (entry(),)


# -------------------------------------------------------------- versions


def version(path: Path) -> tuple[int, int]:
    with closing(sqlite3.connect(path)) as file:
        ours = file.execute("PRAGMA application_id").fetchone()[0]
        return ours, file.execute("PRAGMA user_version").fetchone()[0]


def migrate(path: Path, *more: tuple[str, ...]) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        bring_up_to_date(connection, path, (*MIGRATIONS, *more))


def test_a_new_log_is_of_the_newest_version(path: Path) -> None:
    with open_log(path):
        assert version(path) == (APPLICATION_ID, len(MIGRATIONS))


def test_an_older_log_is_copied_and_then_brought_forward(path: Path) -> None:
    with open_log(path) as log:
        log.add([entry()])
    migrate(path, ("ALTER TABLE result ADD COLUMN boat TEXT",), ("CREATE TABLE boat (name TEXT)",))
    assert version(path)[1] == len(MIGRATIONS) + 2
    copy = path.with_name(f"results.db.version-{len(MIGRATIONS)}.backup")
    with open_log(copy) as log:
        assert log.entries() == (entry(),)
    with closing(sqlite3.connect(path)) as file:
        assert file.execute("SELECT split_ms, boat FROM result").fetchall() == [(125_500, None)]


@posix
def test_the_copy_is_its_owners_alone(path: Path) -> None:
    with open_log(path):
        pass
    migrate(path, ("CREATE TABLE boat (name TEXT)",))
    assert mode(path.with_name(f"results.db.version-{len(MIGRATIONS)}.backup")) == 0o600


def test_a_copy_never_takes_the_place_of_another(path: Path) -> None:
    with open_log(path):
        pass
    first = path.with_name(f"results.db.version-{len(MIGRATIONS)}.backup")
    first.write_text("mine")
    migrate(path, ("CREATE TABLE boat (name TEXT)",))
    assert first.read_text() == "mine"
    assert path.with_name(f"results.db.version-{len(MIGRATIONS)}-2.backup").exists()


def test_a_step_forward_that_fails_leaves_the_log_as_it_was(path: Path) -> None:
    with open_log(path) as log:
        log.add([entry()])
    with pytest.raises(sqlite3.OperationalError, match="syntax"):
        migrate(path, ("ALTER TABLE result ADD COLUMN boat TEXT",), ("no SQL",))
    assert version(path)[1] == len(MIGRATIONS)
    with open_log(path) as log:
        log.add([entry(rate=22)])
        assert len(log.entries()) == 2


# ------------------------------------------------------ version 1: no parts

FIRST = (
    "INSERT INTO batch (action, made) VALUES ('add', '2031-05-24T18:00:00+00:00'), "
    "('correct', '2031-05-24T19:00:00+00:00')",
    "INSERT INTO result (rower, rower_key, day, kind, rate, split_ms, added, batch) VALUES "
    "('Maren Holt', 'maren holt', '2031-05-24', 'row', 20, 125500, "
    "'2031-05-24T18:00:00+00:00', 1)",
    "INSERT INTO former (changed_in, id, rower, rower_key, day, kind, rate, split_ms, added, batch)"
    " VALUES (2, 1, 'Maren Holt', 'maren holt', '2031-05-24', 'row', 20, 126500, "
    "'2031-05-24T18:00:00+00:00', 1)",
)
"""A result added at 2:06.5 and corrected to 2:05.5, as version 1 held it."""


@pytest.fixture
def first(path: Path) -> Path:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        bring_up_to_date(connection, path, MIGRATIONS[:1])
        for statement in FIRST:
            connection.execute(statement)
    assert version(path)[1] == 1
    return path


def test_a_log_of_version_1_is_copied_and_brought_forward(first: Path) -> None:
    with open_log(first) as log:
        assert log.entries() == (entry(),)
        assert log.entry(1).parts_ms == ()
    assert version(first)[1] == len(MIGRATIONS)
    copy = first.with_name("results.db.version-1.backup")
    assert version(copy)[1] == 1
    with closing(sqlite3.connect(copy)) as kept, closing(sqlite3.connect(first)) as now:
        for table in ("result", "former"):
            assert columns(now, table) - columns(kept, table) == {"parts_ms"}
        assert kept.execute("SELECT split_ms FROM former").fetchall() == [(126_500,)]


def columns(connection: sqlite3.Connection, table: str) -> set[str]:
    return {row[1] for row in connection.execute(f"PRAGMA table_info({table})")}


def test_what_version_1_could_undo_can_still_be_undone(first: Path) -> None:
    with open_log(first) as log:
        log.correct(1, parts_ms=(125_000, 125_000))
        assert log.undo().action == "correct"
        assert log.entries() == (entry(),)
        assert log.undo().action == "correct"
        assert log.entries() == (entry(split_ms=126_500),)


def test_parts_that_were_removed_come_back(path: Path) -> None:
    parted = entry(parts_ms=(125_400, 125_600))
    with open_log(path) as log:
        log.add([parted])
        log.correct(1, parts_ms=())
        log.remove([1])
        log.undo()
        log.undo()
    with open_log(path) as log:
        assert log.entries() == (parted,)


def test_parts_that_another_program_spoilt_are_said(path: Path) -> None:
    with open_log(path) as log:
        log.add([entry()])
    with closing(sqlite3.connect(path)) as other, other:
        other.execute("UPDATE result SET parts_ms = 'fast'")
    with open_log(path) as log, pytest.raises(LogError, match=r"(?s)cannot be read.*'fast'"):
        log.entries()


# --------------------------------------------------------------- newer ones


def test_a_newer_log_is_refused_and_left(path: Path) -> None:
    with open_log(path):
        pass
    migrate(path, ("CREATE TABLE boat (name TEXT)",))
    before = path.read_bytes()
    newer = len(MIGRATIONS) + 1
    with pytest.raises(LogError, match=f"version {newer}, and this cuegen reads up to"):
        open_log(path)
    assert path.read_bytes() == before
