"""Where the lines stand: reckoned by hand."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.pages.split_plot import (
    BOTTOM,
    LEAST_LABEL,
    LEFT,
    MOST_LINES,
    RIGHT,
    TOP,
    Bar,
    Label,
    Slot,
    SplitPlot,
    split_plot,
)


def drawn(*slots: Slot) -> SplitPlot:
    plot = split_plot(slots)
    assert plot is not None
    return plot


def test_two_pieces_by_hand() -> None:
    """298 less a gap of 4 are 294: 98 and 196. 1:59 is the top, 2:13 the bottom: 10 a second."""
    plot = drawn(
        Slot("1", "r18", 60_000, 120_000, ()), Slot("2", "r20", 120_000, None, (125_000, 132_000))
    )
    assert plot.asked == (Bar(36.0, 134.0, 20.0),)
    assert plot.rowed == ("138.0,70.0 236.0,70.0 236.0,140.0 334.0,140.0",)
    assert plot.pieces == (Label(85.0, "1", "r18"), Label(236.0, "2", "r20"))
    assert [(tick.words, tick.place) for tick in plot.splits] == [
        ("2:00", 20.0),
        ("2:05", 70.0),
        ("2:10", 120.0),
    ]


def test_nothing_to_draw_is_no_drawing() -> None:
    assert split_plot([Slot("1", "r20", 60_000, None, ())]) is None
    assert split_plot([]) is None


def test_words_that_would_run_into_each_other_are_left_out() -> None:
    plot = drawn(*(Slot(str(n), "r28", 60_000, None, (115_000,)) for n in range(1, 21)))
    assert len(plot.rowed) == 20
    assert [label.piece for label in plot.pieces] == [str(n) for n in range(1, 21, 2)]


@given(
    st.lists(
        st.tuples(
            st.integers(1_000, 3_600_000),
            st.none() | st.integers(50_000, 600_000),
            st.lists(st.integers(50_000, 600_000), max_size=5).map(tuple),
        ),
        min_size=1,
        max_size=200,
    )
)
def test_lines_stay_inside_and_faster_is_higher(
    rows: list[tuple[int, int | None, tuple[int, ...]]],
) -> None:
    plot = split_plot([Slot(str(n), "r20", *row) for n, row in enumerate(rows)])
    if plot is None:
        assert all(asked is None and not rowed for _, asked, rowed in rows)
        return
    corners = [
        tuple(map(float, corner.split(","))) for line in plot.rowed for corner in line.split()
    ]
    across = [x for x, _ in corners] + [x for bar in plot.asked for x in (bar.left, bar.right)]
    down = [y for _, y in corners] + [bar.y for bar in plot.asked]
    assert all(LEFT <= x <= RIGHT + 0.15 for x in across)
    assert all(TOP <= y <= BOTTOM for y in down)
    assert all(TOP <= tick.place <= BOTTOM for tick in plot.splits)
    assert len(plot.splits) <= MOST_LINES + 1
    splits = [split for _, _, rowed in rows for split in rowed]
    heights = [y for _, y in corners[::2]]
    assert sorted(heights) == [height for _, height in sorted(zip(splits, heights, strict=True))]
    places = [label.place for label in plot.pieces]
    assert all(b - a >= LEAST_LABEL for a, b in pairwise(places))


@pytest.mark.parametrize("slow_ms", [121_000, 130_000, 180_000, 400_000])
def test_splits_are_marked_at_round_ones(slow_ms: int) -> None:
    plot = drawn(Slot("1", "r20", 60_000, 120_000, (slow_ms,)))
    assert 1 <= len(plot.splits) <= MOST_LINES + 1
