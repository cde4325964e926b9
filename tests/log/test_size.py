"""A log of 20,000 results: what is in it comes out whole, and how long that takes is printed.

No time is asserted, since it is the machine's; run with `-s` to see the figures.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import TypeVar

import pytest

from cuegen.log import open_log
from cuegen.log.table import read_entries, write_table
from tests.log.samples import DAY, entry

T = TypeVar("T")

ROWERS, SESSIONS, PIECES = 50, 100, 4


def timed(what: str, do: Callable[[], T]) -> T:
    wall, cpu = time.perf_counter(), time.process_time()
    found = do()
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    print(f"\n{what}: {wall:.2f} s, of the processor {cpu:.2f} s", end="")
    return found


@pytest.mark.slow
def test_twenty_thousand_results(path: Path) -> None:
    everything = [
        entry(
            f"Rower {rower:02}",
            day=DAY - timedelta(SESSIONS - number),
            session="Thursday by the slip",
            segment=piece + 2,
            rate=17 + 2 * piece,
            split_ms=134_000 - 2_000 * piece + 100 * (number % 20),
        )
        for number in range(SESSIONS)
        for rower in range(ROWERS)
        for piece in range(PIECES)
    ]
    with open_log(path) as log:
        assert (
            timed("import", lambda: log.import_entries(everything)).added
            == ROWERS * SESSIONS * PIECES
        )
    with open_log(path) as log:
        mine = timed("list of one rower", lambda: log.entries("rower 07"))
        assert len(mine) == SESSIONS * PIECES
        results = timed("results", log.results)
        assert len(results.rows) == ROWERS * SESSIONS * PIECES
        held = timed("last_held", lambda: results.last_held("Rower 07", 23))
        assert held is not None
        assert (held.date, held.split_ms) == (DAY - timedelta(1), 129_900)
        whole = log.entries()
    text = timed("write CSV", lambda: write_table(whole))
    back = timed("read CSV", lambda: read_entries(text))
    assert [row.entry for row in back] == list(whole)
    with open_log(path) as log:
        again = timed("import again", lambda: log.import_entries(row.entry for row in back))
        assert (again.added, again.known) == (0, ROWERS * SESSIONS * PIECES)
        assert timed("forget", lambda: log.forget("Rower 07")).results == SESSIONS * PIECES
    print(f"\nfile: {path.stat().st_size / 1e6:.1f} MB")
