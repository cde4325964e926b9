"""Tests of a rower: their kinds, their words, and the errors of a slip of the pen."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.errors import ResultsError
from cuegen.targets.best_efforts import (
    KINDS,
    SPLITS_MS,
    EnduranceTest,
    endurance_test,
    latest,
    parse_test,
)

DAY = date(2031, 5, 24)


def test_the_kinds_are_those_of_the_trade() -> None:
    lengths = [of.metres or (of.time_ms or 0) // 60_000 for of in KINDS.values()]
    assert list(KINDS) == ["500m", "1k", "2k", "5k", "6k", "30min", "60min"]
    assert lengths == [500, 1000, 2000, 5000, 6000, 30, 60]


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_is_a_distance_or_a_time(kind: str) -> None:
    assert (KINDS[kind].metres is None) != (KINDS[kind].time_ms is None)


@pytest.mark.parametrize("kind", KINDS)
def test_the_two_examples_of_a_kind_are_one_result(kind: str) -> None:
    measured, split = (parse_test(f"{kind} {text}") for text in KINDS[kind].examples)
    assert measured.split_ms == pytest.approx(split.split_ms, abs=5)


# ---------------------------------------------------------------------- words


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2k 7:32.4", EnduranceTest("2k", 2000, 452_400, 113_100)),
        ("2k @1:53.1", EnduranceTest("2k", 2000, 452_400, 113_100)),
        ("2K @ 1:53.1", EnduranceTest("2k", 2000, 452_400, 113_100)),
        ("2000 metres in 7:32,4", EnduranceTest("2k", 2000, 452_400, 113_100)),
        ("500 m 1:38", EnduranceTest("500m", 500, 98_000, 98_000)),
        ("1km 3:20", EnduranceTest("1k", 1000, 200_000, 100_000)),
        ("5k 20:45", EnduranceTest("5k", 5000, 1_245_000, 124_500)),
        ("6k @2:04.0", EnduranceTest("6k", 6000, 1_488_000, 124_000)),
        ("30min 7500m", EnduranceTest("30min", 7500, 1_800_000, 120_000)),
        ("30 min 7500 m", EnduranceTest("30min", 7500, 1_800_000, 120_000)),
        ("30' 7500", EnduranceTest("30min", 7500, 1_800_000, 120_000)),
        ("30min @2:00", EnduranceTest("30min", 7500, 1_800_000, 120_000)),
        ("30min 2:00", EnduranceTest("30min", 7500, 1_800_000, 120_000)),
        ("60 minutes 14400 meters", EnduranceTest("60min", 14_400, 3_600_000, 125_000)),
        ("2k 7:32.4 2031-05-24", EnduranceTest("2k", 2000, 452_400, 113_100, DAY)),
        ("2k in 7:32.4 on 2031-05-24", EnduranceTest("2k", 2000, 452_400, 113_100, DAY)),
    ],
)
def test_words_of_a_test(text: str, expected: EnduranceTest) -> None:
    """D: time x 500 / metres; 30 min at 2:00 are 7500 m."""
    assert parse_test(text) == expected


def test_a_day_may_be_given_beside_the_words() -> None:
    assert parse_test("2k 7:32.4", day=DAY).day == DAY


def test_a_day_in_the_words_counts_more() -> None:
    assert parse_test("2k 7:32.4 2031-05-25", day=DAY).day == date(2031, 5, 25)


@pytest.mark.parametrize(
    ("text", "problem", "remedy"),
    [
        ("", "this names no test", "such as 2k 7:32.4"),
        ("2031-05-24", "this names no test", "such as 2k 7:32.4"),
        ("3k 10:00", "no test is called '3k'", "Known are: 500m, 1k, 2k"),
        ("60mn 14000m", "no test is called '60mn'", "Did you mean '60min'"),
        ("2k", "the 2k test has no result", "2k 7:32.4 or 2k @1:53.1"),
        ("2k 7:32 7:33", "one result of one test, please, not 7:32 7:33", "2k 7:32.4"),
        ("2k 7500m", "'7500m' is not a time or a split", "2k 7:32.4 or 2k @1:53.1"),
        ("2k 7:75", "'7:75' is not a time or a split", "2k 7:32.4"),
        ("2k 0:00", "'0:00' is not a time or a split", "2k 7:32.4"),
        ("30min far", "'far' is not metres or a split", "30min 7200m or 30min @2:05.0"),
        ("30min 0m", "'0m' is not metres or a split", "30min 7200m"),
        ("2k 1:53.1", "0:28.3 per 500 m, faster than 1:10.0", "write 2k @1:53.1"),
        ("2k 40:00", "10:00.0 per 500 m, slower than 5:00.0", "Check it against"),
        ("30min 765m", "19:36.5 per 500 m, slower than 5:00.0", "Check it against"),
        ("2k 7:32.4 2031-02-30", "there is no day 2031-02-30", "year-month-day"),
    ],
)
def test_what_is_wrong_with_the_words_of_a_test(text: str, problem: str, remedy: str) -> None:
    with pytest.raises(ResultsError) as found:
        parse_test(text)
    assert problem in found.value.problem
    assert remedy in found.value.remedy
    assert found.value.where.text == (text or None)


@pytest.mark.parametrize("split_ms", SPLITS_MS)
def test_the_bounds_of_splits_are_believed(split_ms: int) -> None:
    minutes, seconds = divmod(split_ms // 1000, 60)
    assert parse_test(f"2k @{minutes}:{seconds:02d}").split_ms == split_ms


@given(st.sampled_from(list(KINDS)), st.integers(700, 3000))
def test_a_test_written_out_is_read_back(kind: str, tenths: int) -> None:
    """To the tenth of a second for a distance, to the metre for a time."""
    first = endurance_test(kind, split_ms=tenths * 100, day=DAY)
    again = parse_test(str(first))
    assert (again.kind, again.day) == (kind, DAY)
    assert again.metres == pytest.approx(first.metres, abs=0.5)
    assert again.time_ms == pytest.approx(first.time_ms, abs=50)


# -------------------------------------------------------------------- numbers


def test_the_power_of_a_test_is_that_of_its_split() -> None:
    """CP: 2:05 is 179.20 W exactly."""
    assert parse_test("5k @2:05").watts == pytest.approx(179.2, rel=1e-12)


@pytest.mark.parametrize(
    ("kind", "numbers", "problem"),
    [
        ("3k", {"time_ms": 600_000}, "no such test: '3k'"),
        ("2k", {}, "a 2k test takes a time or a split"),
        ("2k", {"time_ms": 452_400, "split_ms": 113_100}, "a 2k test takes a time or a split"),
        ("2k", {"metres": 2000}, "a 2k test takes a time or a split"),
        ("2k", {"time_ms": 0}, "one number above 0"),
        ("30min", {"time_ms": 1_800_000}, "a 30min test takes metres or a split"),
        ("30min", {"metres": -1}, "one number above 0"),
    ],
)
def test_a_test_takes_one_number_of_its_own(
    kind: str, numbers: dict[str, Any], problem: str
) -> None:
    with pytest.raises(ValueError, match=problem):
        endurance_test(kind, **numbers)


def test_the_last_test_of_each_kind_counts() -> None:
    old, new = parse_test("2k 7:20 2031-01-01"), parse_test("2k 7:40 2031-05-24")
    assert latest([new, parse_test("500m 1:40"), old]) == (parse_test("500m 1:40"), new)


def test_of_two_tests_on_one_day_the_later_counts() -> None:
    first, second = parse_test("2k 7:40", day=DAY), parse_test("2k 7:44", day=DAY)
    assert latest([first, second]) == (second,)


def test_a_test_with_a_day_counts_more_than_one_without() -> None:
    dated, undated = parse_test("2k 7:40", day=DAY), parse_test("2k 7:30")
    assert latest([dated, undated]) == (dated,)
