"""Where the curve of loudness stands: reckoned by hand from the meter's scales."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.pages.loudness_plot import LoudnessPlot, loudness_plot
from cuegen.pages.plot_frame import BOTTOM, LEFT, RIGHT, TOP

MINUTE = 60_000


def drawn(*curve: float | None, duration_ms: int = MINUTE) -> LoudnessPlot:
    plot = loudness_plot(curve, duration_ms, -16.0, 0.5)
    assert plot is not None
    return plot


def corners(plot: LoudnessPlot, stretch: int = 0) -> list[tuple[float, float]]:
    """Return the corners of a stretch, as a browser reads them."""
    pairs = (pair.split(",") for pair in plot.curves[stretch].split())
    return [(float(x), float(y)) for x, y in pairs]


@pytest.mark.parametrize(
    ("lufs", "y"),
    [
        (-7.0, 10.0),  # 9 LU over the target: the top
        (-16.0, 62.0),  # 9 of 27 LU down: a third of 156
        (-25.0, 114.0),
        (-34.0, 166.0),  # 18 LU under it: the foot
    ],
)
def test_height_is_loudness_on_the_meter_s_scale_of_27_lu(lufs: float, y: float) -> None:
    assert corners(drawn(lufs, lufs))[0] == (47.4, y)  # 1.5 s of 60: 7.35 of 294


def test_each_value_stands_in_the_middle_of_its_3_seconds() -> None:
    xs = [x for x, _ in corners(drawn(*[-16.0] * 58))]
    assert xs[0] == 47.4
    assert xs[-1] == 326.6  # 58.5 s
    assert len(xs) == 58


def test_the_target_has_a_line_and_its_band() -> None:
    """0.5 LU are 2.89 of 156 units that stand for 27 LU."""
    plot = drawn(-16.0)
    assert (plot.target, plot.band_top, plot.band_height) == (62.0, 59.1, 5.8)
    assert [tick.words for tick in plot.levels] == ["\u221234", "\u221225", "\u221216", "\u22127"]


def test_a_target_with_a_fraction_has_its_own_grid() -> None:
    plot = loudness_plot([-17.5], MINUTE, -17.5, 0.5)
    assert plot is not None
    words = [tick.words for tick in plot.levels]
    assert words == ["\u221235.5", "\u221226.5", "\u221217.5", "\u22128.5"]


@pytest.mark.parametrize("curve", [(-6.9, -16.0), (-16.0, -34.1)])
def test_what_the_narrow_scale_does_not_hold_gets_the_wide_one(curve: tuple[float, float]) -> None:
    """36 LU under the target to 18 over it: -16 is 18 of 54 down, a third as before."""
    plot = drawn(*curve)
    assert [tick.words for tick in plot.levels] == [
        f"\u2212{level}" for level in (52, 43, 34, 25, 16, 7)
    ] + ["2"]
    assert plot.target == 62.0
    assert not plot.has_beyond


def test_one_value_in_ten_may_stand_at_the_foot_of_the_narrow_scale() -> None:
    plot = drawn(*[-16.0] * 9, -50.0)
    assert len(plot.levels) == 4
    assert plot.has_beyond
    assert corners(plot)[-1][1] == BOTTOM


def test_what_is_louder_than_any_scale_stands_at_the_top() -> None:
    plot = drawn(3.0, 3.0)
    assert corners(plot)[0][1] == TOP
    assert plot.has_beyond


def test_silence_parts_the_curve_and_one_value_alone_is_a_dash() -> None:
    plot = drawn(None, -16.0, -17.0, None, None, -18.0, None, duration_ms=50_000)
    assert len(plot.curves) == 2
    assert len(corners(plot)) == 2
    assert [x for x, _ in corners(plot, 1)] == [77.7, 78.7]  # 6.5 of 50 s are at 78.2


def test_a_silent_or_unmeasured_file_has_no_drawing() -> None:
    assert loudness_plot([None, None], MINUTE, -16.0, 0.5) is None
    assert loudness_plot([], MINUTE, -16.0, 0.5) is None


def test_the_loudest_and_the_softest_3_seconds_are_told_with_their_instants() -> None:
    plot = drawn(-17.0, -12.5, None, -30.0)
    assert plot.loudest == (2_500, -12.5)
    assert plot.softest == (4_500, -30.0)


def test_lines_are_marked_at_the_foot_once_in_each_place_the_firm_taller() -> None:
    lines = [(30_000, False), (0, True), (30_001, True), (60_000, False)]
    plot = loudness_plot([-16.0], MINUTE, -16.0, 0.5, lines)
    assert plot is not None
    assert plot.spoken == "M40.0 166v-6M187.0 166v-6M334.0 166v-3"


def test_three_hours_are_few_corners_and_lose_no_peak() -> None:
    """10,798 values; a second that is loud and one that is soft among them."""
    curve = [-16.0 + (second % 7) / 10 for second in range(10_798)]
    curve[5_000], curve[7_001] = -8.0, -33.0
    plot = drawn(*curve, duration_ms=10_800_000)
    found = corners(plot)
    assert len(found) <= 600
    assert min(y for _, y in found) == 15.8  # 8 LU over the target
    assert max(y for _, y in found) == 160.2  # 17 LU under it
    assert [x for x, _ in found] == sorted(x for x, _ in found)


@given(st.lists(st.none() | st.floats(-70, 10), min_size=1, max_size=900), st.floats(-30, -10))
def test_all_stands_inside_the_frame(curve: list[float | None], target: float) -> None:
    plot = loudness_plot(curve, 1_000 * (len(curve) + 2), target, 0.5)
    if plot is None:
        assert set(curve) == {None}
        return
    for stretch in range(len(plot.curves)):
        for x, y in corners(plot, stretch):
            assert LEFT <= x <= RIGHT
            assert TOP <= y <= BOTTOM
