"""What the drawings show, read back from the SVG (tests/pages/progress_drawings.py)."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.pages import progress_axes as axes
from cuegen.pages.progress_axes import spread
from cuegen.pages.progress_plots import Plot, plot_png
from cuegen.targets.history import History, RowedPiece
from tests.pages.progress_drawings import SVG, drawing
from tests.targets.histories import WEEKS, histories, history, ms, piece

LINE = re.compile(r"M (\S+) (\S+) L (\S+) (\S+)")


# ----------------------------------------------------------- what is shown


@pytest.mark.parametrize(
    ("name", "weeks", "splits"),
    [
        ("splits-rate-16", (2,), ("2:16.3",)),
        ("splits-rate-18", (1, 2, 4), ("2:16.0", "2:12.2", "2:11.0")),
        ("splits-rate-18-easy", (3,), ("2:18.8",)),
        ("splits-rate-24", (1, 4), ("2:05.6", "2:03.9")),
    ],
)
def test_splits_stand_where_the_axes_say(
    name: str, weeks: tuple[int, ...], splits: tuple[str, ...]
) -> None:
    drawn = drawing(Plot.SPLITS)
    assert drawn.values(name, "splits-y") == pytest.approx([ms(one) for one in splits], abs=0.5)
    across = [x for x, _ in drawn.marks(name)]
    assert across == pytest.approx([drawn.ticks("splits-x")[f"week {week}"] for week in weeks])


def test_faster_is_up_and_ticks_are_splits() -> None:
    ticks = drawing(Plot.SPLITS).ticks("splits-y")
    assert set(ticks) == {"2:05.0", "2:10.0", "2:15.0"}
    assert ticks["2:05.0"] < ticks["2:10.0"] < ticks["2:15.0"]  # SVG counts downwards


def test_each_rate_has_its_line_of_best_splits_and_the_slower_pieces_beside_it() -> None:
    rowed = (piece(20, "2:10.0"), piece(20, "2:08.0", day=2), piece(20, "2:07.0", week=2, day=8))
    drawn = drawing(Plot.SPLITS, history(pieces=rowed))
    assert drawn.values("splits-rate-20", "splits-y") == pytest.approx([128_000, 127_000], abs=0.5)
    assert drawn.values("splits-others", "splits-y") == pytest.approx([130_000], abs=0.5)


def test_work_per_stroke_stands_where_the_axes_say() -> None:
    """2:00 at 24 is 506.4 J (D: 60 x 202.55 / 24); 2:05 at 20 is 537.6 J exactly."""
    drawn = drawing(Plot.WORK, history(pieces=(piece(20, "2:05.0"), piece(24, "2:00.0", day=2))))
    assert drawn.values("work-week-1", "work-y") == pytest.approx([537.6, 506.4], abs=0.05)
    across = [x for x, _ in drawn.marks("work-week-1")]
    ticks = drawn.ticks("work-x")
    assert across == pytest.approx([ticks["rate 20"], ticks["rate 24"]])


def test_each_piece_has_its_target_and_what_was_held_one_above_the_other() -> None:
    drawn, made = drawing(Plot.TARGETS), history()
    asked = [one.target_ms for one in made.pieces]
    assert drawn.values("targets-asked", "targets-y") == pytest.approx(asked, abs=0.5)
    held = [one.split_ms for one in made.pieces if one.is_met]
    assert drawn.values("targets-met", "targets-y") == pytest.approx(held, abs=0.5)
    missed = drawn.values("targets-missed", "targets-y")
    assert missed == pytest.approx([ms("2:03.9")], abs=0.5)
    assert drawn.marks("targets-missed")[0][0] == drawn.marks("targets-asked")[-1][0]


def test_a_line_joins_each_target_with_what_was_held() -> None:
    drawn = drawing(Plot.TARGETS)
    asked, missed = drawn.marks("targets-asked"), drawn.marks("targets-missed")
    ends = []
    for i, place in enumerate(asked, start=1):
        (line,) = drawn.groups[f"targets-joint-{i}"].iter(f"{SVG}path")
        match = LINE.fullmatch(line.get("d", ""))
        assert match is not None
        x1, y1, x2, y2 = map(float, match.groups())
        assert (x1, y1) == pytest.approx(place)
        ends.append((x2, y2))
    held = sorted(drawn.marks("targets-met") + missed)
    assert ends == [pytest.approx(one) for one in held]


def test_a_missed_target_says_by_how_much() -> None:
    assert [one for one in drawing(Plot.TARGETS).texts() if one.startswith("+")] == ["+1.4"]


def test_a_piece_without_a_target_is_shown_as_such() -> None:
    made = history(pieces=(piece(20, "2:10.0"), piece(22, "2:08.0", "2:08.0", day=2)))
    drawn = drawing(Plot.TARGETS, made)
    assert drawn.values("targets-free", "targets-y") == pytest.approx([130_000], abs=0.5)
    assert "\u2014 target, \u25cf met, \u25cb no target" in drawn.texts()


# ---------------------------------------------------- without colour, by ear


def test_each_rate_has_a_marker_of_its_own() -> None:
    drawn = drawing(Plot.SPLITS)
    names = [f"splits-rate-{rate}" for rate in (16, 18, 20, 22, 24)]
    marks = [next(x for x in drawn.groups[name].iter() if x.get("transform")) for name in names]
    shapes = {mark.get("d") for mark in marks}
    assert len(shapes) == 5


@pytest.mark.parametrize(
    ("which", "words"),
    [
        (Plot.SPLITS, ["rate 16", "rate 18", "rate 20", "rate 22", "rate 24"]),
        (Plot.WORK, ["week 1", "week 2", "week 3", "week 4"]),
    ],
)
def test_each_line_has_its_name_at_its_end_and_none_on_top_of_another(
    which: Plot, words: list[str]
) -> None:
    drawn = drawing(which)
    margin = float((drawn.root.get("viewBox") or "").split()[2]) - axes.RIGHT
    named = [
        (one.text, float(one.get("y", "")))
        for one in drawn.root.iter(f"{SVG}text")
        if one.text in words and float(one.get("x", "0")) > margin
    ]
    assert sorted(one for one, _ in named) == words
    heights = sorted(y for _, y in named)
    gaps = [below - above for above, below in pairwise(heights)]
    assert min(gaps) >= axes.NAME_GAP - 1e-6


def test_an_easy_week_is_hollow_beside_the_line() -> None:
    drawn = drawing(Plot.SPLITS)
    easy = drawn.groups["splits-rate-18-easy"]
    fills = {one.get("fill") for one in easy.iter() if "transform" in one.attrib}
    assert fills == {axes.PAPER}
    assert not any(LINE.match(one.get("d", "")) for one in easy if "transform" not in one.attrib)
    assert "easy" in drawn.texts()


@pytest.mark.parametrize("which", Plot)
def test_a_drawing_has_a_title_and_says_in_words_what_it_shows(which: Plot) -> None:
    root = drawing(which).root
    title, desc = root[0], root[1]
    assert (title.tag, desc.tag) == (f"{SVG}title", f"{SVG}desc")
    assert (root.get("role"), root.get("aria-labelledby")) == ("img", title.get("id"))
    assert (title.text or "").startswith("Tern autumn, Maren Holt: ")
    for one in history().pieces:
        if which in (Plot.SPLITS, Plot.TARGETS, Plot.ALL):
            minutes, tenths = divmod(one.split_ms // 100, 600)
            assert f"{minutes}:{tenths // 10:02d}.{tenths % 10}" in (desc.text or "")


def test_work_is_described_week_by_week() -> None:
    made = history(pieces=(piece(20, "1:40.0"), piece(24, "2:00.0", day=2)))
    desc = drawing(Plot.WORK, made).root[1].text or ""
    assert desc.endswith("Week 1: 1050 J at rate 20, 506 J at rate 24.")


# ----------------------------------------------------------- any history


def test_nothing_rowed_is_said() -> None:
    drawn = drawing(Plot.ALL, history(pieces=()))
    assert drawn.texts().count("nothing rowed yet") == 3
    assert "Nothing rowed yet." in (drawn.root[1].text or "")


def test_a_name_that_means_something_to_xml_or_mathematics_is_shown_as_it_is() -> None:
    made = history(rower="<Kit> & $x_1$", block="a\ufffe]]>\x00b")
    drawn = drawing(Plot.ALL, made)
    assert {"a]]> b", "<Kit> & $x_1$"} <= set(drawn.texts())


def test_a_name_in_other_letters_is_whole_in_the_svg() -> None:
    made = history(rower="\u738b\u82b3")
    assert "\u738b\u82b3" in drawing(Plot.ALL, made).texts()
    assert plot_png(made, Plot.ALL).startswith(b"\x89PNG")


@settings(max_examples=15, deadline=None)
@given(histories())
def test_any_history_can_be_drawn_and_its_marks_lie_inside(made: History) -> None:
    drawn = drawing(Plot.ALL, made)
    _, _, width, height = map(float, (drawn.root.get("viewBox") or "").split())
    for name in filter(None, drawn.groups):
        for x, y in drawn.marks(name):
            assert 0 <= x <= width
            assert 0 <= y <= height
    shown = [name for name in drawn.groups if (name or "").startswith("targets-joint-")]
    assert len(shown) == sum(one.target_ms is not None for one in made.pieces)


def many_weeks(count: int) -> tuple[RowedPiece, ...]:
    return tuple(piece(20 + 2 * (week % 2), week=week, day=week) for week in range(1, count + 1))


def test_of_many_weeks_the_first_and_the_last_line_are_named() -> None:
    drawn = drawing(Plot.WORK, history(pieces=many_weeks(13), weeks=WEEKS))
    assert [one for one in drawn.texts() if one.startswith("week")] == ["week 1", "week 13"]


# ---------------------------------------------------------- names of lines


@given(st.lists(st.floats(0, 200), max_size=12), st.floats(0.5, 16))
def test_names_keep_their_order_and_their_gap_inside_the_room(
    places: list[float], gap: float
) -> None:
    moved = spread(places, gap, 200)
    order = sorted(range(len(places)), key=lambda i: (places[i], i))
    for before, after in pairwise(order):
        assert moved[after] - moved[before] >= gap - 1e-9
    assert all(-1e-9 <= one <= 200 + 1e-9 for one in moved)


@pytest.mark.parametrize(
    ("places", "moved"),
    [
        ([10, 50], [10, 50]),
        ([50, 54], [47, 57]),  # 10 apart about their mean
        ([50, 50, 50], [40, 50, 60]),
        ([0, 2], [0, 10]),  # not below the room
        ([99, 100], [90, 100]),
    ],
)
def test_names_move_as_little_as_can_be(places: list[float], moved: list[float]) -> None:
    assert spread(places, 10, 100) == pytest.approx(moved)


def test_names_that_have_no_room_are_refused() -> None:
    with pytest.raises(ValueError, match="3 places 60 apart do not fit into 100"):
        spread([1, 2, 3], 60, 100)
