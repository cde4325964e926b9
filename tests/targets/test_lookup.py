"""Tests of cuegen.targets.lookup: what a rower brings to a rate.

Outside check: constant work per stroke, 2:07.5 at 20 is 2:03.5 at 22 and 2:12.1 at 18
(power goes with the cube of speed, so split with the cube root of rate; derived).
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cuegen.targets.lookup import brought, expected
from cuegen.targets.outline import Basis
from cuegen.targets.rowed import Result, Results

DAY = date(2031, 6, 14)


def held(*rows: tuple[int, int, int]) -> Results:
    """Return results of one rower: rate, split in ms, days before DAY."""
    return Results(
        tuple(Result("Edda Kolm", DAY - timedelta(ago), rate, split) for rate, split, ago in rows)
    )


STEADY = held((18, 132_100, 28), (20, 127_500, 21), (22, 123_500, 14), (18, 132_000, 7))


def test_what_was_held_last_is_what_counts() -> None:
    found = brought(STEADY, "edda kolm", 18, 18, DAY)
    assert (found.split_ms, found.basis) == (132_000, Basis.LAST)
    assert found.reason == "Edda Kolm held 2:12.0 at rate 18 a week ago (2031-06-07)"


def test_the_same_split_at_a_lower_rate_says_how_much_more_each_stroke_does() -> None:
    found = brought(STEADY, "Edda Kolm", 20, 18, DAY)
    assert found.reason.endswith(
        "three weeks ago (2031-05-24); at rate 18 that is 11 % more per stroke"
    )


def test_and_at_a_higher_rate_how_much_less() -> None:
    assert "at rate 20 that is 10 % less per stroke" in brought(STEADY, "Edda Kolm", 18, 20).reason


@pytest.mark.parametrize(("rate", "split_ms"), [(22, 123_500), (18, 132_000)])
def test_one_result_points_along_constant_work_per_stroke(rate: int, split_ms: int) -> None:
    found = brought(held((20, 127_500, 7)), "Edda Kolm", rate, rate, DAY)
    assert (found.split_ms, found.basis) == (split_ms, Basis.CURVE)


def test_an_expectation_is_told_with_its_interval() -> None:
    found = brought(STEADY, "Edda Kolm", 24, 24, DAY)
    pointed = expected(STEADY, "Edda Kolm", 24, DAY)
    assert pointed is not None
    assert found.split_ms is not None
    assert abs(found.split_ms - pointed.split_ms) <= 250
    assert found.split_ms % 500 == 0
    assert found.reason.startswith("no result at rate 24 yet; the others point to ")


def test_far_from_every_rate_rowed_effort_leads() -> None:
    found = brought(STEADY, "Edda Kolm", 30, 30, DAY)
    assert (found.split_ms, found.basis) == (None, Basis.EFFORT)
    assert found.reason == "no result at rate 30 yet, nor near it"


def test_results_that_disagree_widely_name_no_split() -> None:
    found = brought(held((20, 120_000, 7), (20, 140_000, 7)), "Edda Kolm", 24, 24, DAY)
    assert (found.split_ms, found.basis) == (None, Basis.EFFORT)
    assert "too few others to tell" in found.reason


def test_a_piece_cut_short_does_not_become_a_target() -> None:
    rows = [(rate, split, 28 - n) for n, (rate, split) in enumerate(
        [(18, 132_100), (20, 127_500), (22, 123_500), (18, 132_000), (20, 127_400)]
    )]  # fmt: skip
    found = brought(held(*rows, (22, 151_000, 7)), "Edda Kolm", 22, 22, DAY)
    assert found.basis is Basis.CURVE
    assert found.split_ms == pytest.approx(123_500, abs=700)
    assert (
        "held 2:31.0 at rate 22 a week ago (2031-06-07), far off all other results" in found.reason
    )


def test_a_good_day_stays_a_target() -> None:
    rows = [(18, 132_100, 28), (20, 127_500, 27), (22, 123_500, 26), (18, 132_000, 25)]
    found = brought(held(*rows, (22, 121_500, 7)), "Edda Kolm", 22, 22, DAY)
    assert (found.split_ms, found.basis) == (121_500, Basis.LAST)


def test_with_few_others_nobody_can_say_which_is_wrong() -> None:
    found = brought(held((20, 127_500, 14), (20, 151_000, 7)), "Edda Kolm", 20, 20, DAY)
    assert (found.split_ms, found.basis) == (151_000, Basis.LAST)


def test_nothing_is_expected_of_a_stranger() -> None:
    assert expected(STEADY, "Nobody", 20, DAY) is None
