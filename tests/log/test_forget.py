"""A rower who is forgotten is nowhere in the file, not even in a byte that nothing reads."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from cuegen.errors import LogError
from cuegen.log import Log, open_log
from cuegen.log.history import delete_rower
from cuegen.log.schema import MIGRATIONS, bring_up_to_date, transaction
from tests.log.samples import entry

NAME = "Quillon Zephyrine"


def bytes_beside(path: Path) -> bytes:
    """Return all bytes of the log and of whatever lies beside it, without capitals."""
    return b"".join(one.read_bytes() for one in path.parent.iterdir()).lower()


def fill(log: Log) -> None:
    """Enough to spread over many pages, with a history of all kinds."""
    others = [entry(f"Rower {index}", note="x" * 80) for index in range(300)]
    mine = [entry(NAME, note=f"quite my own {index}", session="Zephyr") for index in range(300)]
    log.add([one for pair in zip(mine, others, strict=True) for one in pair])
    log.correct(1, rate=22)
    log.correct(3, rower="Quillon Zephyrin")
    log.correct(5, note="mistyped quite my own")
    log.remove([7, 8, 9])
    log.add([entry(NAME)])
    log.undo()


def test_the_name_is_in_no_byte_of_the_file(path: Path) -> None:
    with open_log(path) as log:
        fill(log)
        assert NAME.lower().encode() in bytes_beside(path)
        forgotten = log.forget(NAME)
        # 300, one of which went over to another name, two of which were removed
        assert forgotten.results == 297
    assert NAME.lower().encode() not in bytes_beside(path)
    with open_log(path) as log:
        assert {one.name for one in log.rowers()} == {
            "Quillon Zephyrin", *(f"Rower {index}" for index in range(300) if index != 3)
        }  # fmt: skip


def test_what_was_noted_is_in_no_byte_either(path: Path) -> None:
    with open_log(path) as log:
        log.add([entry(NAME, note="quite my own"), entry()])
        log.correct(1, note="another")
        log.forget(NAME)
    assert b"quite my own" not in bytes_beside(path)


def test_a_rower_who_was_removed_can_still_be_forgotten(path: Path) -> None:
    with open_log(path) as log:
        log.add([entry(NAME)])
        log.remove([1])
        assert log.forget(NAME).results == 0
    assert NAME.lower().encode() not in bytes_beside(path)


def test_undo_goes_on_for_the_others(log: Log) -> None:
    log.add([entry(NAME), entry("Idris Vale")])
    log.remove([1, 2])
    log.add([entry(NAME)])
    log.forget(NAME)
    assert log.undo().action == "remove"
    assert log.entries() == (entry("Idris Vale"),)
    assert log.undo().action == "add"
    assert log.entries() == ()


def test_where_the_name_still_stands_is_told(path: Path) -> None:
    with open_log(path) as log:
        log.add([entry(note=f"rowed beside {NAME.upper()}."), entry(NAME), entry(note=f"{NAME}s")])
        assert log.forget(NAME).mentions == (1,)


def test_copies_from_before_an_update_go_too(path: Path) -> None:
    with open_log(path) as log:
        log.add([entry(NAME)])
    copy = path.with_name(f"results.db.version-{len(MIGRATIONS)}.backup")
    copy.write_bytes(path.read_bytes())
    beside = path.with_name("results.db.txt")
    beside.write_text("mine")
    with open_log(path) as log:
        assert log.forget(NAME).backups == (copy,)
    assert (copy.exists(), beside.exists()) == (False, True)


def test_an_unknown_rower_is_refused(log: Log) -> None:
    log.add([entry("Maren Holt")])
    with pytest.raises(LogError, match="Did you mean 'Maren Holt'"):
        log.forget("Maren Hold")


def test_forgetting_that_was_cut_short_is_finished_at_the_next_opening(path: Path) -> None:
    """As after a kill between the deletion and the writing anew of the file."""
    with open_log(path) as log:
        fill(log)
    with open_log(path) as log:
        size = path.stat().st_size
        with transaction(log._connection):
            delete_rower(log._connection, NAME.lower())
    with open_log(path) as log:
        assert path.stat().st_size < size
        assert log.undo().action in ("remove", "correct")
    assert NAME.lower().encode() not in bytes_beside(path)


def test_a_log_of_today_can_be_brought_forward_after_forgetting(path: Path) -> None:
    with open_log(path) as log:
        fill(log)
        log.forget(NAME)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        bring_up_to_date(connection, path, (*MIGRATIONS, ("CREATE TABLE boat (name TEXT)",)))
    assert NAME.lower().encode() not in bytes_beside(path)
