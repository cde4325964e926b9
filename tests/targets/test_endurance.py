"""What tests say of other lengths: the doubling rule, the fit, and how the two are joined.

Marks: CP common practice, no source; D derived by hand; R a program we did not write.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from cuegen.clock import parse_split, split_text
from cuegen.targets.critical_power import CriticalPower
from cuegen.targets.endurance import (
    KINDS,
    Endurance,
    EnduranceTest,
    Rule,
    endurance,
    endurance_test,
    parse_test,
    predicted_split,
    predicted_split_for,
)
from cuegen.targets.power import split_at_distance, watts_from_split

MINUTE = 60_000


def rowed(*texts: str) -> list[EnduranceTest]:
    return [parse_test(text) for text in texts]


def able(*texts: str) -> Endurance:
    return endurance(rowed(*texts))


# ----------------------------------------------------------- the doubling rule


@pytest.mark.parametrize(
    ("metres", "split"),
    [(1000, "1:55.0"), (2000, "2:00.0"), (5000, "2:06.6"), (6000, "2:07.9"), (10_000, "2:11.6")],
)
def test_five_seconds_a_doubling_from_2k_at_two_minutes(metres: int, split: str) -> None:
    """CP: 120 s + 5 s x log2(d / 2000), to the tenth of a second."""
    assert split_text(predicted_split(rowed("2k @2:00"), metres)) == split


@given(st.sampled_from(["500m", "1k", "2k", "5k", "6k"]), st.integers(100, 42_195))
def test_one_test_alone_follows_the_rule_of_cuegen_s_own_table(kind: str, metres: int) -> None:
    test = endurance_test(kind, split_ms=120_000)
    assert predicted_split([test], metres) == split_at_distance(120_000, test.metres, metres)


@pytest.mark.parametrize(
    ("time", "split"), [("8:00", "2:00.0"), ("3:50", "1:55.0"), ("16:40", "2:05.0")]
)
def test_for_a_time_split_and_distance_agree(time: str, split: str) -> None:
    """D: 2000 m at 2:00 are 8:00, 1000 m at 1:55 are 3:50, 4000 m at 2:05 are 16:40."""
    time_ms = parse_split(time)
    assert time_ms is not None
    assert split_text(predicted_split_for(rowed("2k @2:00"), time_ms)) == split


@given(st.integers(30, 12 * 3600), st.integers(90_000, 180_000))
def test_for_any_time_the_distance_is_the_one_a_root_finder_finds(
    seconds: int, split_ms: int
) -> None:
    """R: scipy.optimize.brentq on distance x split = 500 x time."""
    test = endurance_test("2k", split_ms=split_ms)

    def left_over(metres: float) -> float:
        rule_ms = split_ms + 5000 * math.log2(metres / 2000)
        return metres * rule_ms / 500 - seconds * 1000

    metres = max(brentq(left_over, 50, 1_000_000, xtol=1e-9), 100)
    wanted_ms = split_ms + 5000 * math.log2(metres / 2000)
    assert predicted_split_for([test], seconds * 1000) == pytest.approx(wanted_ms, abs=0.51)


def test_between_two_tests_both_count_by_their_nearness() -> None:
    """D: 1k lies midway of 500 m and 2k; 1:44 + 5 and 2:00 - 5 have the mean 1:52."""
    assert predicted_split(rowed("500m 1:44", "2k @2:00"), 1000) == 112_000
    by_hand = 104 + 16 * math.log2(1500 / 500) / 2
    assert predicted_split(rowed("500m 1:44", "2k @2:00"), 1500) == pytest.approx(
        by_hand * 1000, abs=0.51
    )


def test_outside_the_tests_the_nearest_counts() -> None:
    """D: 2:07 over 5k is 2:12 over 10k; 2:00 over 2k is 1:55 over 1k."""
    tests = rowed("2k @2:00", "5k @2:07")
    assert predicted_split(tests, 10_000) == 132_000
    assert predicted_split(tests, 1000) == 115_000


def test_every_test_is_predicted_as_it_was_rowed() -> None:
    tests = rowed("500m 1:44", "1k 3:42", "2k 7:50", "6k 25:30", "60min 13200m")
    for test in tests:
        assert predicted_split(tests, test.metres) == test.split_ms
        assert predicted_split_for(tests, test.time_ms) == pytest.approx(test.split_ms, abs=1)


def test_a_sprint_is_not_predicted_below_100_metres() -> None:
    tests = rowed("2k @2:00")
    assert predicted_split(tests, 20) == predicted_split(tests, 100)
    assert predicted_split_for(tests, 1000) == predicted_split(tests, 100)


@pytest.mark.parametrize("metres", [0, -5.0, float("nan")])
def test_no_distance_no_prediction(metres: float) -> None:
    with pytest.raises(ValueError, match="a distance is more than 0"):
        predicted_split(rowed("2k @2:00"), metres)


def test_no_time_no_prediction() -> None:
    with pytest.raises(ValueError, match="a time is more than 0"):
        predicted_split_for(rowed("2k @2:00"), 0)


def test_no_test_no_prediction() -> None:
    with pytest.raises(ValueError, match="a prediction needs a test"):
        predicted_split([], 2000)


# ------------------------------------------------------------- tests left out


def test_a_longer_test_that_was_no_slower_outdoes_a_shorter_one() -> None:
    found = able("1k 3:50", "2k 7:36")
    assert [test.kind for test in found.tests] == ["2k"]
    assert found.notes == ("your 1k (1:55.0) is left out: your 2k was longer and no slower",)


def test_a_longer_test_far_too_slow_was_no_full_effort() -> None:
    found = able("1k 3:30", "2k @2:05.1")
    assert [test.kind for test in found.tests] == ["1k"]
    assert found.notes == (
        "your 2k (2:05.1) is left out: it is more than 20 s per doubling off your 1k",
    )
    assert able("1k 3:30", "2k @2:05.0").notes == ()


def test_what_is_left_out_is_not_predicted_from() -> None:
    assert predicted_split(rowed("1k 3:50", "2k 7:36"), 1000) == 109_000


def test_of_two_results_over_one_distance_the_faster_counts() -> None:
    """6000 m in 30 minutes, and a 6k in 26."""
    assert [test.kind for test in able("30min 6000m", "6k 26:00").tests] == ["6k"]


def test_tests_of_different_seasons_are_told() -> None:
    found = able("2k 8:00 2031-01-10", "5k 21:10 2031-05-24")
    assert found.notes == ("the tests lie 134 days apart: form may have changed",)
    assert able("2k 8:00 2031-03-10", "5k 21:10 2031-05-24").notes == ()


# ------------------------------------------------------------- both together


def test_one_test_allows_what_the_doubling_rule_says() -> None:
    found = able("2k @2:00")
    assert found.fit is None
    assert found.rule(16 * MINUTE) is Rule.DOUBLING
    assert found.watts_for(8 * MINUTE) == pytest.approx(watts_from_split(120_000), rel=1e-12)
    assert found.split_for(230_000) == 115_000
    assert found.source(16 * MINUTE) == "5 s per doubling from your 2k"


def test_inside_the_fit_critical_power_speaks() -> None:
    """D: CP = (W2 - W1) / (t2 - t1), W' = W1 - CP t1."""
    found = able("2k 8:00", "5k 21:10")
    first, second = 202.5463 * 480, watts_from_split(127_000) * 1270
    cp = (second - first) / (1270 - 480)
    assert found.rule(16 * MINUTE) is Rule.CRITICAL_POWER
    assert found.watts_for(16 * MINUTE) == pytest.approx(cp + (first - cp * 480) / 960, rel=1e-6)
    assert found.source(16 * MINUTE) == "critical power of 2 tests"


def test_outside_the_fit_the_doubling_rule_goes_on_from_its_ends() -> None:
    """D: 2:07 over 5000 m is 2:12 over 10000 m, which takes 44:00."""
    found = able("2k 8:00", "5k 21:10")
    assert found.rule(44 * MINUTE) is Rule.DOUBLING
    assert found.split_for(44 * MINUTE) == 132_000
    assert found.source(44 * MINUTE) == "outside the fit: 5 s per doubling from your 5k"
    assert found.source(4 * MINUTE) == "outside the fit: 5 s per doubling from your 2k"


def test_tests_outside_the_fit_still_count() -> None:
    found = able("500m 1:45", "2k 8:00", "5k 21:10", "60min 13100m")
    assert found.fit is not None
    assert found.fit.count == 2
    assert found.split_for(105_000) == 105_000
    assert found.split_for(60 * MINUTE) == pytest.approx(500 * 3_600_000 / 13_100, abs=1)
    assert found.source(40 * MINUTE) == "outside the fit: between your 5k and your 60min"


def test_a_fit_of_three_tests_names_its_own_ends() -> None:
    found = able("1k 3:46", "2k 8:00", "5k 21:10")
    assert found.fit is not None
    assert found.fit.watts_error is not None
    assert found.source(40 * MINUTE) == "outside the fit: 5 s per doubling from your 5k"


def test_a_prediction_far_from_every_test_is_called_rough() -> None:
    found = able("2k 8:00")
    assert found.source(31 * MINUTE) == "5 s per doubling from your 2k"
    assert found.source(32 * MINUTE) == "5 s per doubling from your 2k, far off and so rough"


def test_a_fit_of_one_s_own_is_used() -> None:
    found = endurance(rowed("2k 8:00"), CriticalPower(150.0, 20_000.0))
    assert found.watts_for(10 * MINUTE) == pytest.approx(150 + 20_000 / 600)
    assert found.source(40 * MINUTE) == "outside the fit: 5 s per doubling from the fit's 20:00"


def test_a_fit_that_a_test_contradicts_is_not_used() -> None:
    """D: 60 minutes at 2:00 are 202 W; the fit gives 150 + 20000 / 1200 = 167 W for 20."""
    found = endurance(rowed("60min @2:00"), CriticalPower(150.0, 20_000.0))
    assert found.fit is None
    assert found.watts_for(60 * MINUTE) == pytest.approx(watts_from_split(120_000))
    assert found.notes == (
        "no critical power is used: the fit's 20:00 (2:08.1) is left out: "
        "your 60min was longer and no slower",
    )


def test_nothing_is_known_without_tests() -> None:
    with pytest.raises(ValueError, match="needs a test"):
        endurance([])


# ----------------------------------------------------------------- invariants

FITS = st.one_of(
    st.none(),
    st.builds(CriticalPower, st.floats(80, 400), st.floats(3_000, 40_000)),
)


@st.composite
def able_rowers(draw: st.DrawFn) -> Endurance:
    """Anybody: tests of any kinds, sane or not, with a fit of their own or without."""
    kinds = draw(st.lists(st.sampled_from(list(KINDS)), min_size=1, max_size=7, unique=True))
    splits = [draw(st.integers(75_000, 220_000)) for _ in kinds]
    if draw(st.booleans()):
        splits.sort()
        kinds.sort(key=list(KINDS).index)
    tests = [endurance_test(kind, split_ms=ms) for kind, ms in zip(kinds, splits, strict=True)]
    return endurance(tests, draw(FITS))


TIMES = st.integers(5_000, 12 * 3_600_000)


@given(able_rowers(), TIMES, TIMES)
def test_longer_is_never_allowed_more_power(rower: Endurance, one: int, other: int) -> None:
    short, long = sorted((one, other))
    assert rower.watts_for(long) <= rower.watts_for(short) * (1 + 1e-9)


@given(able_rowers(), TIMES, TIMES)
def test_longer_is_never_less_work(rower: Endurance, one: int, other: int) -> None:
    short, long = sorted((one, other))
    assert long * rower.watts_for(long) >= short * rower.watts_for(short) * (1 - 1e-9)


@given(able_rowers())
def test_nothing_jumps_at_the_ends_of_the_fit(rower: Endurance) -> None:
    if rower.fit is not None:
        for end, beside in ((rower.fit.from_ms, -1e-3), (rower.fit.to_ms, 1e-3)):
            beyond = rower.watts_for(end + beside)
            assert beyond == pytest.approx(rower.watts_for(end), rel=1e-6)


@given(able_rowers())
def test_a_test_that_counts_outside_the_fit_is_allowed_as_rowed(rower: Endurance) -> None:
    if rower.fit is None:
        for test in rower.tests:
            allowed = rower.watts_for(test.metres * test.split_ms / 500)
            assert allowed == pytest.approx(test.watts, rel=1e-9)


@given(st.permutations(rowed("500m 1:45", "2k 8:00", "5k 21:10", "60min 13100m")))
def test_the_order_of_the_tests_is_all_one(tests: list[EnduranceTest]) -> None:
    assert endurance(tests) == able("500m 1:45", "2k 8:00", "5k 21:10", "60min 13100m")
