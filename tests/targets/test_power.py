"""Pace, power and work per stroke against the tables of the trade.

Marks: CP common practice, no source; D derived by hand from the formula beside it.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.clock import parse_split
from cuegen.targets.power import (
    metres_in,
    metres_per_stroke,
    split_at_distance,
    split_at_rate,
    split_from_watts,
    strokes_in,
    time_for,
    watts_from_split,
    whole,
    work_per_stroke,
)

SPLITS = st.integers(60_000, 600_000)
RATES = st.integers(10, 60)


def ms(text: str) -> int:
    split_ms = parse_split(text)
    assert split_ms is not None
    return split_ms


@pytest.mark.parametrize(
    ("split", "watts"),
    [
        ("1:30", 480.11),
        ("1:40", 350.00),
        ("1:45", 302.34),
        ("1:52", 249.12),
        ("2:00", 202.55),
        ("2:05", 179.20),
        ("2:10", 159.31),
        ("2:20", 127.55),
        ("2:30", 103.70),
    ],
)
def test_power_of_a_split_as_the_ergometer_table_has_it(split: str, watts: float) -> None:
    """CP: P = 2.80 / (split/500)^3, to the hundredth of a watt."""
    assert watts_from_split(ms(split)) == pytest.approx(watts, abs=0.005)


@pytest.mark.parametrize(("split", "watts"), [("1:40", 350.0), ("2:05", 179.2)])
def test_power_of_the_two_round_splits_is_exact(split: str, watts: float) -> None:
    """D: 0.2 s/m cubed is 0.008, 0.25 cubed is 1/64."""
    assert watts_from_split(ms(split)) == pytest.approx(watts, rel=1e-14)


@pytest.mark.parametrize(("watts", "split"), [(200, "2:00.51"), (250, "1:51.87"), (300, "1:45.27")])
def test_split_of_a_power(watts: int, split: str) -> None:
    """CP: the same relation the other way round, to the hundredth of a second."""
    assert whole(split_from_watts(watts) / 10) * 10 == ms(split)


@pytest.mark.parametrize(
    ("metres", "split", "seconds"), [(2000, "1:52", 448), (5000, "2:04.5", 1245)]
)
def test_time_of_a_distance(metres: int, split: str, seconds: int) -> None:
    """D: distance / 500 x split."""
    assert time_for(metres, ms(split)) == seconds * 1000


def test_thirty_minutes_at_two_minutes_are_7500_metres() -> None:
    """D: 30 / 2 x 500."""
    assert metres_in(30 * 60_000, ms("2:00")) == 7500


def test_work_and_metres_per_stroke_at_two_minutes_and_24() -> None:
    """D: 60 x 202.55 / 24 = 506.4 J, 30000 / (120 x 24) = 10.42 m."""
    assert work_per_stroke(ms("2:00"), 24) == pytest.approx(506.4, abs=0.05)
    assert metres_per_stroke(ms("2:00"), 24) == pytest.approx(10.42, abs=0.005)


@pytest.mark.parametrize(
    ("rate", "split"),
    [
        (18, "2:12.1"),
        (20, "2:07.5"),
        (22, "2:03.5"),
        (26, "1:56.8"),
        (28, "1:54.0"),
        (30, "1:51.4"),
        (32, "1:49.0"),
    ],
)
def test_constant_work_per_stroke_from_two_minutes_at_24(rate: int, split: str) -> None:
    """D: 120 s x (24 / rate)^(1/3), to the tenth of a second."""
    assert split_at_rate(ms("2:00"), 24, rate) == pytest.approx(ms(split), abs=50)


@pytest.mark.parametrize(
    ("split", "steps"),
    [
        ("1:45", (4.0, 3.6, 3.3, 3.0)),
        ("2:00", (4.6, 4.1, 3.8, 3.4)),
        ("2:15", (5.2, 4.7, 4.2, 3.9)),
    ],
)
def test_two_strokes_more_are_worth_two_to_five_seconds(
    split: str, steps: tuple[float, ...]
) -> None:
    """CP, the rule of thumb, and D, constant work per stroke, agree within 0.2 s."""
    for rate, seconds in zip((16, 18, 20, 22), steps, strict=True):
        worth = (ms(split) - split_at_rate(ms(split), rate, rate + 2)) / 1000
        assert worth == pytest.approx(seconds, abs=0.05)
        assert 2 <= worth <= 5.2


@pytest.mark.parametrize(("rate", "more"), [(16, 12.5), (18, 11.1), (20, 10.0), (22, 9.1)])
def test_the_same_split_two_strokes_lower_asks_more_work_per_stroke(rate: int, more: float) -> None:
    """D: (rate + 2) / rate - 1, in per cent."""
    split_ms = ms("2:08")
    asked = work_per_stroke(split_ms, rate) / work_per_stroke(split_ms, rate + 2)
    assert (asked - 1) * 100 == pytest.approx(more, abs=0.05)


@pytest.mark.parametrize(
    ("metres", "split"),
    [(1000, "1:55"), (5000, "2:06.6"), (6000, "2:07.9"), (10_000, "2:11.6")],
)
def test_five_seconds_a_doubling_from_2000_metres_at_two_minutes(metres: int, split: str) -> None:
    """CP: 120 s + 5 s x log2(d / 2000), to the tenth of a second."""
    assert split_at_distance(ms("2:00"), 2000, metres) == pytest.approx(ms(split), abs=50)


def test_five_minutes_at_16_are_80_strokes() -> None:
    """D: minutes x rate; the middle of a band may end on a half."""
    assert strokes_in(5 * 60_000, 16) == 80
    assert strokes_in(60_000, 18.5) == 18.5


@pytest.mark.parametrize("split_ms", [0, -1])
def test_no_power_without_a_split(split_ms: int) -> None:
    with pytest.raises(ValueError, match=f"a split is more than 0, not {split_ms}"):
        watts_from_split(split_ms)


@pytest.mark.parametrize("watts", [0.0, -5.0, float("nan")])
def test_no_split_without_power(watts: float) -> None:
    with pytest.raises(ValueError, match="a power is more than 0"):
        split_from_watts(watts)


def test_halves_round_up_once() -> None:
    assert [whole(value) for value in (0.5, 1.5, 2.5, 2.49, -0.5)] == [1, 2, 3, 2, 0]


@given(SPLITS)
def test_split_to_watts_and_back_is_the_same_millisecond(split_ms: int) -> None:
    assert split_from_watts(watts_from_split(split_ms)) == split_ms


@given(SPLITS, st.integers(1, 50_000))
def test_a_faster_split_always_asks_more_power(split_ms: int, faster_ms: int) -> None:
    assert watts_from_split(split_ms) > watts_from_split(split_ms + faster_ms)


@given(SPLITS, RATES, RATES)
def test_work_per_stroke_stays_when_the_rate_changes(split_ms: int, rate: int, new: int) -> None:
    """Within what rounding the split to a millisecond can do."""
    changed_ms = split_at_rate(split_ms, rate, new)
    before, after = work_per_stroke(split_ms, rate), work_per_stroke(changed_ms, new)
    assert after == pytest.approx(before, rel=3 * 0.5 / changed_ms + 1e-9)


@given(SPLITS, st.integers(1, 50_000))
def test_time_and_metres_are_each_other_s_inverse(split_ms: int, metres: int) -> None:
    """Half a millisecond of rounding, in metres."""
    assert metres_in(time_for(metres, split_ms), split_ms) == pytest.approx(
        metres, abs=0.51 * 500 / split_ms
    )
