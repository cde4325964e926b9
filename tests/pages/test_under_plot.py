"""Where the marks of lines over their bed stand: reckoned by hand, 156 units for 50 dB."""

from __future__ import annotations

import pytest

from cuegen.pages.under_plot import Over, under_plot


def one(over_db: float, at_ms: int = 30_000, *, out: bool = False) -> Over:
    return Over(at_ms, over_db, firm=True, out=out)


@pytest.mark.parametrize(
    ("over_db", "y", "beyond"),
    [
        (25.0, 88.0, False),
        (0.0, 166.0, False),
        (50.0, 10.0, False),
        (60.0, 10.0, True),
        (-3.0, 166.0, True),
    ],
)
def test_height_is_the_distance(over_db: float, y: float, beyond: bool) -> None:
    plot = under_plot([one(over_db)], one(over_db), 60_000, 20.0)
    assert (plot.dots[0].x, plot.dots[0].y, plot.dots[0].beyond) == (187.0, y, beyond)


def test_the_limit_stands_where_it_was_asked_and_pushes_no_words_aside() -> None:
    plot = under_plot([one(30.0)], one(30.0), 60_000, 22.5)
    assert (plot.limit.place, plot.limit.words) == (95.8, "22.5")
    assert [tick.words for tick in plot.levels] == ["0", "10", "30", "40", "50"]
    plot = under_plot([one(30.0)], one(30.0), 60_000, 25.0)
    assert [tick.words for tick in plot.levels] == ["0", "10", "20", "30", "40", "50"]


def test_the_worst_is_the_line_that_is_named_and_lines_at_fault_are_marked() -> None:
    lines = [one(12.0, 0), one(15.0, 60_000, out=True)]
    plot = under_plot(lines, lines[1], 60_000, 20.0)
    assert plot.worst == plot.dots[1]
    assert [dot.out for dot in plot.dots] == [False, True]
    assert plot.worst.x == 334.0
