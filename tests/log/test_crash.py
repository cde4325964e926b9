"""Killed at any moment, and written to by two at once: what was reported written is there.

The judge of the file is SQLite's own `PRAGMA integrity_check`. A kill leaves what the
operating system was already given; power cuts are not tried here.
"""

from __future__ import annotations

import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from contextlib import closing
from pathlib import Path

import pytest

from cuegen.log import open_log
from tests.log.samples import entry
from tests.log.writer import PIECES

ROOT = Path(__file__).parents[2]

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="the platform has no such kill"),
]


def start(*arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "tests.log.writer", *arguments],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    )


def kill_after(process: subprocess.Popen[str], seconds: float) -> list[str]:
    """Wait for its first word, kill it so long after, and return all that it said."""
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    time.sleep(seconds)
    process.kill()
    said, _ = process.communicate(timeout=20)
    assert process.returncode in (0, -signal.SIGKILL)
    return said.splitlines()


def assert_sound(path: Path) -> None:
    with closing(sqlite3.connect(path)) as file:
        assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


def test_twenty_kills_lose_nothing_that_was_reported_written(path: Path) -> None:
    """The first kills fall into the making of the file, the others anywhere in a write."""
    dice = random.Random(20)
    reported: list[int] = []
    for kill in range(20):
        seconds = 0.002 * kill if kill < 5 else dice.uniform(0.0, 0.4)
        said = kill_after(start(str(path), "Maren Holt", "100000"), seconds)
        reported += [int(line) for line in said]
        with open_log(path) as log:
            sizes = Counter(one.batch for one in log.entries())
        assert_sound(path)
        assert set(reported) <= sizes.keys()
        assert set(sizes.values()) <= {PIECES}
    assert len(reported) > 20


def test_two_writers_at_once_lose_nothing(path: Path) -> None:
    writers = [start(str(path), rower, "250") for rower in ("Maren Holt", "Idris Vale")]
    batches: list[set[int]] = []
    for writer in writers:
        said, _ = writer.communicate(timeout=240)
        assert writer.returncode == 0
        batches.append({int(line) for line in said.splitlines()[1:]})
    assert [len(one) for one in batches] == [250, 250]
    assert not batches[0] & batches[1]
    with open_log(path) as log:
        assert [(one.name, one.results) for one in log.rowers()] == [
            ("Idris Vale", 1000),
            ("Maren Holt", 1000),
        ]
        assert {one.batch for one in log.entries()} == batches[0] | batches[1]
    assert_sound(path)


def test_forgetting_that_is_killed_is_either_not_begun_or_whole(path: Path) -> None:
    dice = random.Random(8)
    outcomes = set()
    for seconds in (0.0, *(dice.uniform(0.0, 0.25) for _ in range(10)), 5.0):
        name = f"Quillon Zephyrine {dice.randrange(10**6)}"
        with open_log(path) as log:
            log.add([entry(name, note="x" * 60) for _ in range(2_000)])
            log.add([entry(note="y" * 60) for _ in range(100)])
        said = kill_after(start("forget", str(path), name), seconds)
        with open_log(path) as log:
            there = [one.results for one in log.rowers() if one.name == name]
        assert there in ([], [2_000])
        assert not (there and said)
        if not there:
            assert name.lower().encode() not in path.read_bytes().lower()
        assert_sound(path)
        outcomes.add((bool(there), bool(said)))
    assert len(outcomes) > 1, "every kill fell into the same moment"
