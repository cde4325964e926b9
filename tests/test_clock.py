"""Time is whole milliseconds, converted once and written as rowers and standards write it."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen import clock


@pytest.mark.parametrize(
    ("ms", "rate", "index"),
    [(0, 48_000, 0), (1, 48_000, 48), (999, 44_100, 44_056), (10, 44_100, 441), (1, 22_050, 22)],
)
def test_samples_at_rounds_to_the_nearest_sample(ms: int, rate: int, index: int) -> None:
    assert clock.samples_at(ms, rate) == index


@given(
    ms=st.integers(0, 12 * clock.MS_PER_H), rate=st.sampled_from([8_000, 22_050, 44_100, 48_000])
)
def test_samples_at_is_never_more_than_half_a_sample_off(ms: int, rate: int) -> None:
    assert abs(clock.samples_at(ms, rate) - Fraction(ms * rate, 1000)) <= Fraction(1, 2)


@given(ms=st.integers(0, 12 * clock.MS_PER_H), rate=st.sampled_from([8_000, 44_100, 48_000]))
def test_milliseconds_survive_the_way_to_samples_and_back(ms: int, rate: int) -> None:
    assert clock.ms_at(clock.samples_at(ms, rate), rate) == ms


@pytest.mark.parametrize(
    ("ms", "text"),
    [(0, "0:00"), (59_499, "0:59"), (59_500, "1:00"), (754_000, "12:34"), (3_723_000, "1:02:03")],
)
def test_clock_text(ms: int, text: str) -> None:
    assert clock.clock_text(ms) == text


@pytest.mark.parametrize(
    ("text", "ms"),
    [("0:05", 5_000), ("90:00", 5_400_000), ("1:02:03", 3_723_000), (" 6:00 ", 360_000)],
)
def test_parse_clock_reads_both_forms(text: str, ms: int) -> None:
    assert clock.parse_clock(text) == ms


@pytest.mark.parametrize("text", ["", "6", "6:0", "6:60", "6:00 min", "1:60:00", "-1:00", "banana"])
def test_parse_clock_reads_nothing_else(text: str) -> None:
    assert clock.parse_clock(text) is None


@pytest.mark.parametrize(
    ("ms", "text"),
    [
        (124_500, "2:04.5"),
        (119_900, "1:59.9"),
        (119_960, "2:00.0"),  # never 1:60.0
        (119_949, "1:59.9"),
        (130_000, "2:10.0"),
    ],
)
def test_split_text_rounds_to_tenths_and_carries(ms: int, text: str) -> None:
    assert clock.split_text(ms) == text


@given(tenths=st.integers(600, 5999))
def test_a_split_in_tenths_survives_text(tenths: int) -> None:
    assert clock.parse_split(clock.split_text(tenths * 100)) == tenths * 100


@pytest.mark.parametrize("text", ["2:5", "2:60", "2:04.", "2:04.1234", "204", "2:04.5s"])
def test_parse_split_reads_whole_strings_only(text: str) -> None:
    assert clock.parse_split(text) is None


def test_stamp_text_has_hours_and_three_decimals() -> None:
    """W3C WebVTT, "WebVTT timestamp": hh:mm:ss.mmm."""
    assert clock.stamp_text(3_723_045) == "01:02:03.045"
