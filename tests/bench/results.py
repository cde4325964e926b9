"""A log of 100,000 results: list it, fit one rower's curve, set their next targets.

The peer is SQLite alone, reading every column of every row of the same file. A curve of
very many results is set beside a straight line through them by statsmodels.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from time import perf_counter

import numpy as np
import statsmodels.api as statsmodels

from cuegen.cli.log import MOST_LISTED
from cuegen.log import LogEntry, open_log
from cuegen.occasion import given, occasion_of
from cuegen.plan.block_reading import load_block
from cuegen.targets.curve import CurvePoint, fit_curve, points_of

RESULTS, ROWERS = 100_000, 100
POINTS = 10_000
START = date(2026, 11, 2)
RATES = (17, 19, 21, 23)
BLOCK = Path(__file__).parents[2] / "examples" / "blocks" / "harbour-block.yaml"
_ROUNDS = 3


def _entries() -> Iterator[LogEntry]:
    """Yield as many results for each rower, four a day, every other day, up to week 1."""
    days = RESULTS // ROWERS // len(RATES)
    for rower in range(ROWERS):
        for back in range(days, 0, -1):
            for place, rate in enumerate(RATES):
                split_ms = 136_000 - 3_400 * place + 100 * ((rower * 7 + back * 13 + place) % 30)
                day = START + timedelta(days=2 - 2 * (back - 1))
                yield LogEntry(f"Rower {rower:03d}", day, rate, split_ms, segment=place + 2)


def _points() -> tuple[CurvePoint, ...]:
    """Return many results of one rower who holds about the same power at every rate."""
    rng = np.random.default_rng(3)
    rates = rng.integers(10, 61, POINTS)
    watts = np.exp(rng.normal(5.3, 0.1, POINTS))
    days = rng.uniform(0, 1_000, POINTS)
    return tuple(
        CurvePoint(float(rate), float(power), float(ago))
        for rate, power, ago in zip(rates, watts, days, strict=True)
    )


def _best(work: object) -> float:
    assert callable(work)
    took = []
    for _ in range(_ROUNDS):
        start = perf_counter()
        work()
        took.append(perf_counter() - start)
    return min(took)


def from_a_large_log(folder: Path) -> dict[str, float]:
    """Return the seconds of each, the best of some rounds, and of the peer."""
    path, rower = folder / "large.db", "Rower 042"
    with open_log(path) as log:
        log.add(_entries())
    block = load_block(BLOCK)

    def listed() -> None:
        with open_log(path, create=False) as log:
            assert len(log.entries(newest=MOST_LISTED)) == MOST_LISTED
            assert len(log.entries(rower)) == RESULTS // ROWERS

    def fitted() -> None:
        held = given(path, rower)
        assert held is not None
        assert fit_curve(points_of(held, rower, START)) is not None

    def next_targets() -> None:
        laid = occasion_of(block, 2, given(path, rower), rower).outline()
        assert all(one.split_ms for one in laid.segments if one.segment.spec.is_work)

    def peer() -> None:
        with closing(sqlite3.connect(path)) as connection:
            assert len(connection.execute("SELECT * FROM result").fetchall()) == RESULTS

    many = _points()

    def curve() -> None:
        assert fit_curve(many) is not None

    def line() -> None:
        logs = np.log([(point.rate, point.watts) for point in many])
        statsmodels.OLS(logs[:, 1], statsmodels.add_constant(logs[:, 0])).fit()

    return {
        "points": len(many),
        "curve_s": _best(curve),
        "lines_s": _best(line),
        "results": RESULTS,
        "list_s": _best(listed),
        "fit_s": _best(fitted),
        "next_s": _best(next_targets),
        "peer_s": _best(peer),
    }
