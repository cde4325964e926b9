"""Split, watts and metres, each from the others.

Check values: 2:05 is 179.20 W exactly and 200 W is 2:00.51, by P = 2.80 / (split /
500)^3 (common practice, no source); 4:00 at 2:00 is 1000 m (derived).
"""

from __future__ import annotations

from typing import Any

import pytest

from cuegen.errors import LogError
from cuegen.log import Log
from cuegen.log.readings import Held, read_held
from cuegen.plan.model import Distance, Duration, Length
from tests.log.samples import entry

FOUR_MINUTES = Duration(240_000)


@pytest.mark.parametrize(
    ("text", "length", "held"),
    [
        ("2:14.2", None, Held(134_200)),
        ("2:14,2", FOUR_MINUTES, Held(134_200, duration_ms=240_000)),
        ("2:14.2", Distance(750), Held(134_200, metres=750.0)),
        ("200W", None, Held(120_500, watts=200.0)),
        ("179.2w", FOUR_MINUTES, Held(125_000, watts=179.2, duration_ms=240_000)),
        ("1000m", FOUR_MINUTES, Held(120_000, metres=1000.0, duration_ms=240_000)),
        # 240 s x 500 / 896 = 133.93 s
        ("896 m", FOUR_MINUTES, Held(133_900, metres=896.0, duration_ms=240_000)),
    ],
)
def test_what_was_typed(text: str, length: Length | None, held: Held) -> None:
    assert read_held(text, length) == held


@pytest.mark.parametrize(
    ("text", "length", "problem", "remedy"),
    [
        ("fast", None, "this is no split", r"2:14\.2.*180W.*896m"),
        ("2:65", None, "this is no split", r"2:14\.2"),
        ("0:49", None, "a split faster than 0:50.0 is hard to believe", "monitor"),
        ("896m", None, "where the piece's time is known", "--lengths 4:00"),
        ("750m", Distance(750), "this piece is 750 m long", "Give its split"),
        ("0W", None, "of that size", "monitor"),
        ("9999W", None, "of that size", "monitor"),
        ("", None, "this is no split", r"2:14\.2"),
    ],
)
def test_what_cannot_be_read(text: str, length: Length | None, problem: str, remedy: str) -> None:
    with pytest.raises(LogError, match=f"(?s){problem}.*{remedy}"):
        read_held(text, length)


WITH_WATTS = {"split_ms": 125_000, "watts": 179.0}
BY_METRES = {"split_ms": 120_000, "metres": 1000.0, "duration_ms": 240_000}


@pytest.mark.parametrize(
    ("before", "changes", "after"),
    [
        (WITH_WATTS, {"split_ms": 120_000}, {"split_ms": 120_000, "watts": 203.0}),
        (WITH_WATTS, {"watts": 200.0}, {"split_ms": 120_500, "watts": 200.0}),
        (WITH_WATTS, {"watts": None}, {"split_ms": 125_000, "watts": None}),
        (
            WITH_WATTS,
            {"split_ms": 120_000, "watts": 190.0},
            {"split_ms": 120_000, "watts": 190.0},
        ),
        ({"watts": 90.0}, {"split_ms": 120_000}, {"split_ms": 120_000, "watts": 90.0}),
        (BY_METRES, {"metres": 960.0}, {"split_ms": 125_000, "metres": 960.0, "watts": None}),
        (BY_METRES, {"split_ms": 125_000}, {"split_ms": 125_000, "metres": 1000.0}),
        ({}, {"metres": 960.0}, {"split_ms": 125_500, "metres": 960.0}),
        (WITH_WATTS, {"note": "calm"}, WITH_WATTS),
    ],
    ids=[
        "watts follow a split",
        "a split follows watts",
        "watts taken away",
        "both given",
        "watts that never went along stay",
        "a split follows metres in a known time",
        "metres do not follow a split",
        "metres alone tell no split",
        "nothing follows a note",
    ],
)
def test_what_follows_a_correction(
    log: Log, before: dict[str, Any], changes: dict[str, Any], after: dict[str, Any]
) -> None:
    log.add([entry(**before)])
    corrected = log.correct(1, **changes)
    assert {name: getattr(corrected, name) for name in after} == after
    assert log.entry(1) == corrected
