"""The critical-power fit and the W' balance against numbers that others printed or computed.

Marks: S source named; D derived by hand; R measured with a program we did not write.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import curve_fit

from cuegen.targets.best_efforts import EnduranceTest, endurance_test, parse_test
from cuegen.targets.critical_power import (
    CriticalPower,
    Form,
    fit_critical_power,
    fit_points,
    least_balance,
    share_by_balance,
)

PRINTED = [(100.0, 446.0), (172.0, 385.0), (434.0, 324.0), (857.0, 290.0), (1361.0, 280.0)]
"""S: `demo_critical_power` of the R package cyclingtools (F. Mattioni Maturana, after
Mattioni Maturana et al. 2018, J. Sci. Med. Sport 21:1489): seconds to exhaustion, watts."""

FIT = CriticalPower(152.0, 24_000.0)


def rowed(*texts: str) -> list[EnduranceTest]:
    return [parse_test(text) for text in texts]


# ---------------------------------------------------------- the printed example


@pytest.mark.parametrize(
    ("form", "watts", "watts_error", "work_j", "work_error_j"),
    [
        (Form.WORK_ON_TIME, "265.", "3.00", "20961.", "2248."),
        (Form.POWER_ON_INVERSE_TIME, "274.", "6.16", "17784.", "1160."),
    ],
)
def test_the_printed_example_to_its_printed_digits(
    form: Form, watts: str, watts_error: str, work_j: str, work_error_j: str
) -> None:
    """S: cyclingtools, vignette "cyclingtools", table of broom::tidy, rows linear and 1/time.

    Printed there: TTE 265. 3.00, (Intercept) 20961. 2248.; (Intercept) 274. 6.16,
    I(1/TTE) 17784. 1160. The fits behind them are R's own `lm`.
    """
    found = fit_points(PRINTED, form)
    assert found.watts_error is not None
    assert found.work_error_j is not None
    assert f"{found.watts:.0f}." == watts
    assert f"{found.watts_error:.2f}" == watts_error
    assert f"{found.work_j:.0f}." == work_j
    assert f"{found.work_error_j:.0f}." == work_error_j
    assert found.count == 5


# ------------------------------------------------------------- outside oracles


def test_work_on_time_is_what_numpy_fits() -> None:
    """R: numpy.polyfit of degree 1, with its covariance."""
    seconds, watts = np.array(PRINTED).T
    (slope, intercept), spread = np.polyfit(seconds, seconds * watts, 1, cov=True)
    found = fit_points(PRINTED)
    assert (found.watts, found.work_j) == pytest.approx((slope, intercept), rel=1e-9)
    errors = (found.watts_error, found.work_error_j)
    assert errors == pytest.approx(tuple(np.sqrt(np.diag(spread))), rel=1e-9)


def test_power_on_inverse_time_is_the_hyperbola_that_scipy_fits() -> None:
    """R: scipy.optimize.curve_fit of P = CP + W'/t, by least squares of power."""
    seconds, watts = np.array(PRINTED).T
    (cp, work), spread = curve_fit(lambda t, cp, work: cp + work / t, seconds, watts, (250, 2e4))
    found = fit_points(PRINTED, Form.POWER_ON_INVERSE_TIME)
    assert (found.watts, found.work_j) == pytest.approx((cp, work), rel=1e-5)
    errors = (found.watts_error, found.work_error_j)
    assert errors == pytest.approx(tuple(np.sqrt(np.diag(spread))), rel=1e-4)


POINTS = st.lists(
    st.tuples(st.integers(60, 3600), st.integers(80, 600)),
    min_size=3,
    max_size=8,
    unique_by=lambda point: point[0],
)


@given(POINTS)
def test_any_fit_is_the_one_that_numpy_finds(points: list[tuple[int, int]]) -> None:
    """R: numpy.polyfit, work on time and power on 1/time."""
    seconds, watts = np.array(points, dtype=float).T
    cp, work = np.polyfit(seconds, seconds * watts, 1)
    found = fit_points(points)
    assert (found.watts, found.work_j) == pytest.approx((cp, work), rel=1e-6, abs=1e-3)
    work, cp = np.polyfit(1 / seconds, watts, 1)
    found = fit_points(points, Form.POWER_ON_INVERSE_TIME)
    assert (found.watts, found.work_j) == pytest.approx((cp, work), rel=1e-6, abs=1e-3)


# --------------------------------------------------------------------- by hand


@pytest.mark.parametrize("form", Form)
def test_two_tests_are_met_exactly_by_either_form(form: Form) -> None:
    """D: 300 W for 200 s and 240 W for 500 s: CP = 60 kJ / 300 s = 200 W, W' = 20 kJ."""
    found = fit_points([(200, 300), (500, 240)], form)
    assert (found.watts, found.work_j) == pytest.approx((200, 20_000), rel=1e-12)
    assert (found.watts_error, found.work_error_j) == (None, None)


@given(st.integers(80, 400), st.integers(4_000, 40_000), st.sampled_from(Form))
def test_tests_on_one_hyperbola_give_it_back(cp: int, work: int, form: Form) -> None:
    """D: P = CP + W'/t, without any error."""
    found = fit_points([(t, cp + work / t) for t in (150, 400, 700, 1200)], form)
    assert (found.watts, found.work_j) == pytest.approx((cp, work), rel=1e-9)
    assert found.watts_error == pytest.approx(0, abs=1e-6)


def test_what_a_fit_allows_for_a_time() -> None:
    """D: 152 + 24000 / 480 = 202 W."""
    assert FIT.watts_for(480_000) == 202.0


def test_a_fit_in_words_says_how_sure_it_is() -> None:
    assert str(fit_points(PRINTED)) == (
        "critical power 265 W, give or take 3 W, and 21.0 kJ above it"
    )


def test_a_fit_of_two_tests_claims_no_sureness() -> None:
    assert str(fit_points([(200, 300), (500, 240)])) == (
        "critical power 200 W and 20.0 kJ above it"
    )


def test_a_fit_needs_two_durations() -> None:
    with pytest.raises(ValueError, match="two durations"):
        fit_points([(300, 250), (300, 240)])


# ------------------------------------------------------------ which tests count


def test_a_fit_is_trusted_between_its_tests() -> None:
    found = fit_critical_power(rowed("2k 8:00", "5k 21:10"))
    assert found is not None
    assert (found.from_ms, found.to_ms, found.count) == (480_000, 1_270_000, 2)
    assert found.watts_for(480_000) == pytest.approx(parse_test("2k 8:00").watts)
    assert found.watts_for(1_270_000) == pytest.approx(parse_test("5k 21:10").watts)


def test_tests_under_2_and_over_30_minutes_take_no_part() -> None:
    some = rowed("2k 8:00", "5k 21:10")
    more = rowed("500m 1:45", "60min 13000m")
    assert fit_critical_power([*some, *more]) == fit_critical_power(some)


def test_a_test_of_30_minutes_takes_part() -> None:
    found = fit_critical_power(rowed("2k 8:00", "30min 7000m"))
    assert found is not None
    assert found.to_ms == 1_800_000


@pytest.mark.parametrize(
    "texts",
    [
        (),
        ("2k 8:00",),
        ("500m 1:45", "2k 8:00"),
        ("2k 8:00", "60min 13000m"),
        ("5k 21:10", "6k 26:00"),
        ("1k 3:20", "2k 13:20"),
        ("2k 8:00", "5k 19:55"),
    ],
    ids=["none", "one", "one-too-short", "one-too-long", "too-near", "less-work", "no-fall"],
)
def test_tests_that_carry_no_fit(texts: tuple[str, ...]) -> None:
    assert fit_critical_power(rowed(*texts)) is None


@pytest.mark.parametrize(("later_ms", "carries"), [(960_000, True), (959_999, False)])
def test_the_longest_test_lasts_twice_the_shortest(later_ms: int, carries: bool) -> None:
    some = [parse_test("2k 8:00"), endurance_test("1k", time_ms=200_000)]
    shifted = EnduranceTest("5k", 3900.0, later_ms, 123_077)
    assert (fit_critical_power([some[0], shifted]) is not None) is carries


# --------------------------------------------------------------------- balance


def test_the_balance_of_work_and_breaks_as_another_program_has_it() -> None:
    """R: pypermod 1.3.0, WbalODEAgentSkiba at 10 Hz (Skiba and Clarke 2021, equation 12)."""
    spans = [(238.0, 208.0), (180.0, 106.0), (238.0, 208.0), (180.0, 0.0), (238.0, 220.0)]
    assert least_balance(FIT, spans[:1]) == 10_672.0
    assert least_balance(FIT, spans[:3]) == pytest.approx(1_232.839, abs=5e-4)
    assert least_balance(FIT, spans) == pytest.approx(534.629, abs=5e-4)


SPANS = st.lists(
    st.tuples(st.integers(10, 900).map(float), st.integers(0, 450).map(float)),
    min_size=1,
    max_size=6,
)


@given(SPANS)
def test_the_balance_solves_its_differential_equation(spans: list[tuple[float, float]]) -> None:
    """R: scipy.integrate.solve_ivp, span by span."""
    left = least = FIT.work_j
    for seconds, watts in spans:

        def change(_: float, now: list[float], watts: float = watts) -> list[float]:
            gain = FIT.watts - watts
            return [gain if gain < 0 else gain * (1 - now[0] / FIT.work_j)]

        left = solve_ivp(change, (0, seconds), [left], rtol=1e-9, atol=1e-6).y[0][-1]
        least = min(least, left)
    assert least_balance(FIT, spans) == pytest.approx(least, rel=1e-6, abs=1e-2)


@given(st.integers(30, 1800), st.integers(160, 500))
def test_one_piece_by_balance_is_its_share_of_the_fit(seconds: int, watts: int) -> None:
    """D: k P = CP + W'/t at the limit."""
    share = share_by_balance(FIT, [(float(seconds), float(watts))])
    assert share == pytest.approx(watts / FIT.watts_for(seconds * 1000), rel=1e-12)


@given(SPANS)
def test_at_the_limit_nothing_is_left(spans: list[tuple[float, float]]) -> None:
    share = share_by_balance(FIT, spans)
    if share:
        limit = [(seconds, watts / share) for seconds, watts in spans]
        assert least_balance(FIT, limit) == pytest.approx(0, abs=1e-3)


def test_who_does_not_row_asks_nothing() -> None:
    assert share_by_balance(FIT, [(600.0, 0.0)]) == 0.0


@given(SPANS, st.data())
def test_more_power_in_any_span_leaves_no_more(
    spans: list[tuple[float, float]], data: st.DataObject
) -> None:
    place = data.draw(st.integers(0, len(spans) - 1))
    more = data.draw(st.integers(1, 100))
    harder = list(spans)
    harder[place] = (spans[place][0], spans[place][1] + more)
    assert least_balance(FIT, harder) <= least_balance(FIT, spans) + 1e-6
    assert share_by_balance(FIT, harder) >= share_by_balance(FIT, spans) - 1e-9


@given(SPANS, st.tuples(st.integers(10, 900).map(float), st.integers(0, 450).map(float)))
def test_one_more_span_at_the_end_leaves_no_more(
    spans: list[tuple[float, float]], extra: tuple[float, float]
) -> None:
    assert least_balance(FIT, [*spans, extra]) <= least_balance(FIT, spans)


@given(SPANS, st.integers(1, 600))
def test_a_longer_hardest_span_is_never_easier(
    spans: list[tuple[float, float]], longer: int
) -> None:
    place = max(range(len(spans)), key=lambda n: spans[n][1])
    stretched = list(spans)
    stretched[place] = (spans[place][0] + longer, spans[place][1])
    assert share_by_balance(FIT, stretched) >= share_by_balance(FIT, spans) - 1e-9


@given(st.integers(0, 600), st.integers(1, 600))
def test_a_longer_break_leaves_no_less(rest: int, longer: int) -> None:
    piece = (240.0, 220.0)
    short = least_balance(FIT, [piece, (float(rest), 60.0), piece])
    assert least_balance(FIT, [piece, (float(rest + longer), 60.0), piece]) >= short
