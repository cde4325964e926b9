"""Where the marks stand: reckoned by hand from the square root scale."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.pages.offset_plot import Heard, offset_plot
from cuegen.pages.plot_frame import BOTTOM, LEFT, MIDDLE, RIGHT, TOP


def one(offset_ms: float, at_ms: int = 30_000) -> Heard:
    return Heard(at_ms, offset_ms, firm=True, out=False)


@pytest.mark.parametrize(
    ("offset_ms", "y"),
    [
        (0.0, 88.0),
        (25.0, 49.0),  # sqrt(25 / 100) = 1/2 of 78 up
        (-25.0, 127.0),
        (100.0, 10.0),
        (400.0, 10.0),
        (-1e9, 166.0),
    ],
)
def test_height_is_the_square_root_of_the_offset(offset_ms: float, y: float) -> None:
    plot = offset_plot([one(offset_ms)], 60_000, (10, 50))
    assert plot.dots[0].y == y
    assert plot.dots[0].beyond == (abs(offset_ms) > 100)
    assert plot.has_beyond == plot.dots[0].beyond


def test_time_runs_from_left_to_right() -> None:
    plot = offset_plot([one(0, 0), one(0, 30_000), one(0, 60_000)], 60_000, (10,))
    assert [dot.x for dot in plot.dots] == [40.0, 187.0, 334.0]


def test_each_tolerance_has_a_line_above_and_below() -> None:
    plot = offset_plot([one(0)], 60_000, (50, 10))
    assert [tick.words for tick in plot.limits] == ["0", "+10", "\u221210", "+50", "\u221250"]
    assert [tick.place for tick in plot.limits] == [88.0, 63.3, 112.7, 32.8, 143.2]


@given(st.integers(1, 86_400_000), st.floats(-1e6, 1e6))
def test_marks_stay_inside_and_minutes_are_few(duration_ms: int, offset_ms: float) -> None:
    plot = offset_plot([one(offset_ms, duration_ms)], duration_ms, (10, 50))
    assert LEFT <= plot.dots[0].x <= RIGHT
    assert TOP <= plot.dots[0].y <= BOTTOM
    assert (plot.dots[0].y <= MIDDLE) == (offset_ms >= 0 or plot.dots[0].y == MIDDLE)
    assert 1 <= len(plot.minutes) <= 6
    assert plot.minutes[0].words == "0:00"
