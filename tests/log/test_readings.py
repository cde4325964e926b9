"""Split, watts and metres, each from the others.

Check values: 2:05 is 179.20 W exactly and 200 W is 2:00.51, by P = 2.80 / (split /
500)^3 (common practice, no source); 4:00 at 2:00 is 1000 m (derived). The means of
parts are held to Python's statistics module.
"""

from __future__ import annotations

import statistics
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.errors import LogError
from cuegen.log import Log
from cuegen.log.readings import Held, read_held, split_of_parts
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
        ("2:14.2,13.8", None, "this is no split", "2:14.2,2:13.8"),
        ("2:14.2,2:13.8,", None, "part 2, '2:13.8,': this is no split", "2:14.2,2:13.8"),
        ("2:14,,2:13", None, "part 1, '2:14,': this is no split", "2:14.2,2:13.8"),
        ("2:14,2:65", None, "part 2, '2:65': this is no split", "2:14.2,2:13.8"),
        ("2:14,0:49", None, "part 2, '0:49': a split faster than 0:50.0", "monitor"),
        ("2:14.2/2:13.8", None, "this is no split", "2:14.2,2:13.8"),
        ("180W,175W", None, "this is no split", "2:14.2,2:13.8"),
        ("2:14" + 100 * ",2:14", None, "2 to 100 parts, and here is 101", "2:14.2,2:13.8"),
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


# ------------------------------------------------------------------ parts


@pytest.mark.parametrize(
    ("text", "parts_ms"),
    [
        ("2:14.2,2:13.8,2:14.6", (134_200, 133_800, 134_600)),
        ("2:14,2:13", (134_000, 133_000)),
        ("2:14,2,2:13,8", (134_200, 133_800)),
        ("2:14,2:13,8", (134_000, 133_800)),
        ("2:14.2, 2:13.8", (134_200, 133_800)),
        ("2:14,2", ()),
        ("00:02:14,2", ()),
    ],
)
def test_a_comma_with_a_colon_behind_it_begins_a_part(text: str, parts_ms: tuple[int, ...]) -> None:
    """And any other comma stands before decimals."""
    assert read_held(text, None).parts_ms == parts_ms


@pytest.mark.parametrize("length", [None, FOUR_MINUTES])
def test_metres_of_parts_equal_in_time_are_added(length: Length | None) -> None:
    """D: a minute at 1:40 is 300 m, one at 2:30 is 200 m: 500 m in two minutes."""
    assert read_held("1:40,2:30", length).split_ms == 120_000


def test_times_of_parts_equal_in_metres_are_added() -> None:
    """D: 500 m at 1:40 and 500 m at 2:30 are 1000 m in 250 s."""
    held = read_held("1:40,2:30", Distance(1000))
    assert held == Held(125_000, metres=1000.0, parts_ms=(100_000, 150_000))


@given(st.lists(st.integers(50_000, 600_000), min_size=2, max_size=12))
def test_the_means_are_those_of_the_statistics_module(parts_ms: list[int]) -> None:
    """statistics.harmonic_mean and fmean, to half of the tenth that is shown."""
    in_time = split_of_parts(parts_ms, in_metres=False)
    in_metres = split_of_parts(parts_ms, in_metres=True)
    assert in_time == pytest.approx(statistics.harmonic_mean(parts_ms), abs=50.000001)
    assert in_metres == pytest.approx(statistics.fmean(parts_ms), abs=50.000001)
    assert (in_time % 100, in_metres % 100) == (0, 0)
    assert in_time <= in_metres


def test_the_mean_is_rounded_once() -> None:
    """D: the mean of 134049 and 134050 is 134049.5: 2:14.0, not 2:14.1 by way of 134050."""
    assert split_of_parts((134_049, 134_050), in_metres=True) == 134_000
    assert split_of_parts((134_050, 134_050), in_metres=True) == 134_100


WITH_WATTS = {"split_ms": 125_000, "watts": 179.0}
BY_METRES = {"split_ms": 120_000, "metres": 1000.0, "duration_ms": 240_000}
PARTS = {"split_ms": 120_000, "parts_ms": (100_000, 150_000)}


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
        (WITH_WATTS, {"parts_ms": (100_000, 150_000)}, PARTS | {"watts": 203.0}),
        (
            {"metres": 1000.0},
            {"parts_ms": (100_000, 150_000)},
            {"split_ms": 125_000, "parts_ms": (100_000, 150_000)},
        ),
        (
            PARTS,
            {"parts_ms": (100_000, 150_000, 150_000), "metres": 1500.0, "watts": 160.0},
            {"split_ms": 133_300, "watts": 160.0},
        ),
        (PARTS, {"parts_ms": ()}, {"split_ms": 120_000, "parts_ms": ()}),
        (PARTS, {"parts_ms": None}, {"split_ms": 120_000, "parts_ms": ()}),
        (PARTS, {"split_ms": 121_000}, {"split_ms": 121_000, "parts_ms": (100_000, 150_000)}),
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
        "a split follows parts equal in time, and watts the split",
        "a split follows parts equal in metres",
        "a split follows parts before it follows watts",
        "parts taken away",
        "parts taken away with None",
        "parts do not follow a split",
    ],
)
def test_what_follows_a_correction(
    log: Log, before: dict[str, Any], changes: dict[str, Any], after: dict[str, Any]
) -> None:
    log.add([entry(**before)])
    corrected = log.correct(1, **changes)
    assert {name: getattr(corrected, name) for name in after} == after
    assert log.entry(1) == corrected
