"""What a rower is said to hold at a rate: few results, old ones, odd ones, simulated rowers.

Marks: D derived by hand from the formula beside it. Run with `-rP` to read the
coverage that the slow tests print.
"""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from cuegen.clock import parse_split
from cuegen.targets.curve import NOISE, PRIOR, SLOPE_WITHIN, CurvePoint, fit_curve, points_of
from cuegen.targets.power import split_at_rate, watts_from_split
from cuegen.targets.rowed import Result, Results
from tests.targets.rowers import TWO_MINUTES, coverage, curve, held, rowed, slowed

POINTS = st.builds(
    CurvePoint,
    rate=st.floats(10, 60),
    watts=st.floats(20, 1200),
    days_ago=st.floats(0, 4000),
)

# ------------------------------------------------------------------ few results


def test_no_result_no_curve() -> None:
    assert fit_curve([]) is None


@pytest.mark.parametrize(
    ("rate", "split"),
    [
        (18, "2:12.1"),
        (20, "2:07.5"),
        (22, "2:03.5"),
        (24, "2:00"),
        (26, "1:56.8"),
        (28, "1:54.0"),
        (30, "1:51.4"),
        (32, "1:49.0"),
    ],
)
def test_one_result_is_carried_along_constant_work_per_stroke(rate: int, split: str) -> None:
    """D: 120 s x (24 / rate)^(1/3), to the tenth of a second; how old it is changes nothing."""
    for days_ago in (0, 90):
        predicted = curve([held(24, TWO_MINUTES, days_ago)]).predict(rate)
        assert predicted.split_ms == pytest.approx(parse_split(split), abs=50)
        assert predicted.split_ms == split_at_rate(TWO_MINUTES, 24, rate)
        assert predicted.watts == pytest.approx(watts_from_split(TWO_MINUTES) * rate / 24)


def test_the_interval_of_one_result_is_what_is_believed_of_rowers() -> None:
    """D: Student-t, 3 degrees of freedom; s^2 = 0.0125^2 x median(chi2, 3) / 3; two scatters."""
    scale = 0.0125 * math.sqrt(stats.chi2(3).median() / 3) * math.sqrt(2)
    reach = stats.t(3).ppf(0.9) * scale
    predicted = curve([held(24, TWO_MINUTES)]).predict(24)
    assert predicted.fast_ms == pytest.approx(TWO_MINUTES * math.exp(-reach / 3), abs=0.51)
    assert predicted.slow_ms == pytest.approx(TWO_MINUTES * math.exp(reach / 3), abs=0.51)


def test_the_prior_spreads_scatter_and_slope_as_its_constants_say() -> None:
    """scipy: the variance is inverse gamma with median NOISE^2, the slope Student-t."""
    freedom, total = PRIOR.noise_points, PRIOR.noise_sum
    assert stats.invgamma(freedom / 2, scale=total / 2).median() == pytest.approx(NOISE**2)
    slope = stats.t(freedom, PRIOR.slope, math.sqrt(total / freedom / PRIOR.slope_worth))
    assert slope.interval(0.8) == pytest.approx((1 - SLOPE_WITHIN, 1 + SLOPE_WITHIN))
    assert curve([held(24, TWO_MINUTES)]).slope_sd == pytest.approx(slope.std())


def test_two_results_that_disagree_leave_both_possible() -> None:
    """Eight seconds apart, neither known to be the wrong one: the interval holds both."""
    predicted = curve([held(20, 126_000), held(20, 134_000)]).predict(20)
    assert predicted.fast_ms < 126_000
    assert predicted.slow_ms > 134_000


def test_two_results_that_agree_are_surer_than_one() -> None:
    one, two = curve([held(20, 126_000)]).predict(20), curve([held(20, 126_000)] * 2).predict(20)
    assert two.slow_ms - two.fast_ms < one.slow_ms - one.fast_ms


# ------------------------------------------------------------------ age


@pytest.mark.parametrize(("days_ago", "counts"), [(0, 1), (42, 1 / 2), (84, 1 / 4), (9999, 1 / 64)])
def test_a_result_counts_half_after_six_weeks_and_never_nothing(
    days_ago: float, counts: float
) -> None:
    assert curve([held(20, 126_000, days_ago)]).results == pytest.approx(counts)


def test_an_old_result_is_less_sure() -> None:
    reaches = []
    for days_ago in (0, 42, 120, 252):
        ends = curve([held(20, 126_000, days_ago)]).predict(20)
        reaches.append(ends.slow_ms - ends.fast_ms)
    assert reaches == sorted(set(reaches))


def test_the_newer_of_two_results_pulls_harder() -> None:
    """D: weights 1 and 1/2, one rate: two thirds of the way in log power."""
    logs = [math.log(watts_from_split(ms)) for ms in (125_000, 126_000)]
    predicted = curve([held(20, 125_000), held(20, 126_000, 42)]).predict(20)
    assert math.log(predicted.watts) == pytest.approx((2 * logs[0] + logs[1]) / 3)


def test_years_away_do_not_change_what_results_say_against_each_other() -> None:
    points = [held(20, 125_000, 4000), held(20, 126_000, 4042)]
    assert curve(points).results == pytest.approx(1.5 / 64)


# ------------------------------------------------------------------ what cannot be, extremes


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ((0.0, 200.0, 0.0), "a rate is more than 0, not 0.0"),
        ((math.nan, 200.0, 0.0), "a rate is more than 0, not nan"),
        ((20.0, -1.0, 0.0), "a power is more than 0, not -1.0"),
        ((20.0, math.inf, 0.0), "a power is more than 0, not inf"),
        ((20.0, 200.0, -1.0), "a result is 0 or more days old, not -1.0"),
    ],
)
def test_a_result_that_cannot_be(values: tuple[float, float, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        CurvePoint(*values)


def test_no_prediction_at_no_rate() -> None:
    with pytest.raises(ValueError, match="a rate is more than 0, not 0"):
        curve([held(20, 126_000)]).predict(0)


@pytest.mark.parametrize("level", [0.0, 1.0, 80.0, math.nan])
def test_a_level_is_a_probability(level: float) -> None:
    with pytest.raises(ValueError, match="a level lies between 0 and 1"):
        curve([held(20, 126_000)]).predict(20, level)


def test_one_rate_only_says_nothing_of_the_slope() -> None:
    """Constant work per stroke stays, and its spread with it, but for the scatter's own."""
    points = [held(20, 126_000 + 300 * i) for i in range(-5, 6)]
    assert curve(points).slope == pytest.approx(1)
    assert curve(points).predict(20).split_ms == pytest.approx(126_000, abs=10)


def test_ends_of_the_range_of_rates() -> None:
    """D: with points at 10 and 60 on slope 1 the curve runs through both."""
    fast_ms = split_at_rate(160_000, 10, 60)
    points = [held(10, 160_000), held(60, fast_ms)]
    assert curve(points).slope == pytest.approx(1, abs=1e-4)
    assert curve(points).predict(10).split_ms == pytest.approx(160_000, abs=2)
    assert curve(points).predict(60).split_ms == pytest.approx(fast_ms, abs=2)


def test_ten_thousand_results_say_what_a_straight_line_through_them_says() -> None:
    """Power that does not hang on the rate: a slope of 0, within 0.02 (its error is 0.002)."""
    rng = np.random.default_rng(3)
    many = [
        CurvePoint(float(r), float(w), float(d))
        for r, w, d in zip(
            rng.integers(10, 61, 10_000),
            np.exp(rng.normal(5.3, 0.1, 10_000)),
            rng.uniform(0, 1000, 10_000),
            strict=True,
        )
    ]
    assert curve(many).slope == pytest.approx(0.0, abs=0.02)
    assert curve(many).predict(30).watts == pytest.approx(math.exp(5.3), rel=0.01)


@given(st.data(), st.lists(POINTS, min_size=1, max_size=40), st.floats(10, 60))
def test_the_order_of_results_changes_nothing(
    data: st.DataObject, points: list[CurvePoint], rate: float
) -> None:
    shuffled = data.draw(st.permutations(points))
    assert curve(shuffled).predict(rate) == curve(points).predict(rate)


@given(st.lists(POINTS, min_size=1, max_size=40), st.floats(10, 60))
def test_intervals_hold_the_middle_and_lie_in_wider_ones(
    points: list[CurvePoint], rate: float
) -> None:
    fitted = curve(points)
    ends = [fitted.predict(rate, level) for level in (0.01, 0.5, 0.8, 0.99, 1 - 1e-16)]
    fast, slow = [e.fast_ms for e in ends], [e.slow_ms for e in ends]
    assert fast == sorted(fast, reverse=True)
    assert slow == sorted(slow)
    assert all(e.fast_ms <= e.split_ms <= e.slow_ms for e in ends)


@pytest.mark.parametrize("count", [1, 2, 3, 7, 30])
@pytest.mark.parametrize("times", [0.5, 1.7])
def test_a_rower_of_twice_the_power_has_twice_the_curve(count: int, times: float) -> None:
    points = slowed(rowed(count, count, days=90), 0, 8)
    stronger = [CurvePoint(p.rate, p.watts * times, p.days_ago) for p in points]
    for rate in (16, 22, 30):
        expected = curve(points).predict(rate).watts * times
        assert curve(stronger).predict(rate).watts == pytest.approx(expected, rel=1e-6)


# ------------------------------------------------------------------ from a results file

TODAY = date(2031, 6, 7)
LOG = Results(
    (
        Result("Ilka Brandt", date(2031, 6, 7), 22, 122_000),
        Result("ilka  brandt", date(2031, 5, 24), 20, 125_500, watts=180.0),
        Result("Ilka Brandt", date(2031, 6, 8), 24, 119_000),
        Result("Tom Reed", date(2031, 6, 1), 18, 130_000),
    )
)


def test_points_are_a_rower_s_own_up_to_the_day() -> None:
    """Oldest first, power from the split; what is dated later has not been rowed yet."""
    assert points_of(LOG, "Ilka Brandt", TODAY) == (held(20, 125_500, 14), held(22, 122_000, 0))


@pytest.mark.parametrize(
    ("rower", "today"), [("Nobody Known", TODAY), ("Tom Reed", date(2031, 5, 1))]
)
def test_without_a_result_effort_leads(rower: str, today: date) -> None:
    assert points_of(LOG, rower, today) == ()
    assert fit_curve(points_of(LOG, rower, today)) is None


# ------------------------------------------------------------------ simulated rowers


@pytest.mark.slow
def test_four_new_splits_in_five_lie_in_the_interval() -> None:
    """80 +- 5 %: 1 to 30 results, half of the rowers with an outlier, even a lone one."""
    assert coverage(range(1, 31), (False, True), seed=2031) == pytest.approx(80, abs=5)


@pytest.mark.slow
@pytest.mark.parametrize("outlier", [False, True])
def test_the_interval_is_honest_for_many_results(outlier: bool) -> None:
    assert coverage(range(6, 31), (outlier,), seed=6) == pytest.approx(80, abs=5)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("first", "last", "outlier"), [(1, 1, False), (2, 2, False), (3, 5, False), (3, 5, True)]
)
def test_the_interval_is_honest_for_few_results(first: int, last: int, outlier: bool) -> None:
    """Not under 75 %, and not so wide as to say nothing: up to 90 %.

    More than 80 %, since these rowers scatter as believed and the curve allows for
    some who scatter more.
    """
    assert 75 <= coverage(range(first, last + 1), (outlier,), seed=first) <= 90


@pytest.mark.slow
def test_of_two_results_one_wrong_neither_is_trusted() -> None:
    """Half of the intervals at least hold the next split; nobody can tell which was wrong."""
    assert 50 <= coverage(range(2, 3), (True,), seed=2) <= 90


@pytest.mark.slow
def test_the_interval_holds_for_a_rower_whose_form_wanders() -> None:
    """80 +- 5 %: form walks by half a second in six weeks (what HALF_LIFE_DAYS is for)."""
    wander = 0.5 / math.sqrt(42)
    assert coverage(range(1, 31), (False,), seed=42, wander=wander) == pytest.approx(80, abs=5)
