"""A block as a page: what moved first, nothing run, all words shown as words."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from cuegen.pages.progress import progress_page
from cuegen.targets.history import History
from tests.sheet.pages import Page, read_page
from tests.targets.histories import histories, history, piece


def page_of(made: History) -> Page:
    page = read_page(progress_page(made))
    page.check_self_contained()
    return page


def test_block_and_rower_come_first() -> None:
    page = page_of(history())
    assert page.texts("title")[0] == "Tern autumn: Maren Holt"
    assert page.texts("h1") == ["Tern autumn"]
    assert page.texts("p")[0] == (
        "Looking back with Maren Holt. 16 pieces, 7 October 2031 to 30 October 2031. "
        "Week 3 was easy: it is shown, not compared."
    )


def test_the_facts_are_targets_met_and_work_per_stroke() -> None:
    """Mean work, D: 60 x 2.80 / (split / 500)^3 / rate, of four pieces each: 450.9 J, 491.3 J."""
    assert page_of(history()).texts("li")[:2] == [
        "15 of 16 targets met, within 0.5 s; missed by 1.4 s on average",
        "+9 % work per stroke over all pieces, week 1 to 4: 451 J to 491 J",
    ]


def test_what_moved_is_a_row_a_rate() -> None:
    rows = page_of(history()).texts("tr")
    assert rows[:5] == [
        "Rate First Last Change Work per stroke",
        "18 2:16.0 (week 1) 2:11.0 (week 4) 5.0 s faster 464 J to 519 J, +12 %",
        "20 2:12.4 (week 1) 2:08.1 (week 4) 4.3 s faster 452 J to 500 J, +10 %",
        "22 2:08.9 (week 1) 2:05.2 (week 4) 3.7 s faster 446 J to 486 J, +9 %",
        "24 2:05.6 (week 1) 2:03.9 (week 4) 1.7 s faster 442 J to 460 J, +4 %",
    ]


def test_a_slower_split_is_said_as_plainly() -> None:
    made = history(pieces=(piece(20, "2:10.0"), piece(20, "2:11.2", week=2, day=8)))
    rows = page_of(made).texts("tr")
    assert "20 2:10.0 (week 1) 2:11.2 (week 2) 1.2 s slower 478 J to 465 J, \u22123 %" in rows


def test_the_table_has_each_week_s_best_and_last_at_each_rate() -> None:
    rowed = (piece(20, "2:08.0"), piece(20, "2:10.0", day=2), piece(24, "2:00.0", day=2))
    rows = page_of(history(pieces=rowed)).texts("tr")
    assert "Week 20 24" in rows
    assert "Week 1 Find the splits 2:08.0 501 J last 2:10.0 2:00.0 506 J" in rows


def test_weeks_say_their_rule_and_whether_they_were_easy() -> None:
    rows = page_of(history()).texts("tr")
    assert any(
        row.startswith("Week 2 Two lower: same splits, two strokes lower 2:16.3") for row in rows
    )
    assert any(row.startswith("Week 3, easy Deload: ") for row in rows)
    assert len(page_of(history()).having("tr", "easy")) == 1


def test_every_piece_has_a_row_and_a_miss_is_marked_in_words() -> None:
    page = page_of(history())
    rows = page.texts("tr")
    assert "1 7 Oct 18 2:16.2 2:16.0 \u22120.2 464 J 164 78 %" in rows
    assert page.texts("tr", "over") == [
        "4 30 Oct 24 2:02.5 2:03.9 +1.4 \u25c6 more than half a second over 460 J 176 84 %"
    ]


def test_columns_with_nothing_in_them_are_left_out() -> None:
    rows = page_of(history(pieces=(piece(20, "2:10.0"),))).texts("tr")
    assert rows[-2:] == ["Week Day Rate Held Stroke", "1 1 Oct 20 2:10.0 478 J"]


def test_what_comes_next_has_its_reasons() -> None:
    items = page_of(history()).texts("li")
    assert "rate 16 at 2:11.0 : same splits as week 4, two strokes lower" in items
    assert "rate 24 by effort, about 90 % : the target at 24 was missed: effort leads" in items


def test_each_of_three_drawings_lies_in_the_page_and_says_what_it_shows() -> None:
    page = page_of(history())
    drawn = page.having("svg")
    assert [one.attributes["aria-labelledby"] for one in drawn] == [
        *("splits-title", "work-title", "targets-title")
    ]
    assert len([one for one in page.elements if one.attributes.get("id") == "splits-desc"]) == 1


def test_without_targets_there_is_no_drawing_of_them_and_it_is_said() -> None:
    page = page_of(history(pieces=(piece(20, "2:10.0"),)))
    assert len(page.having("svg")) == 2
    assert "No piece had a target: effort led." in page.texts("p")[0]


def test_of_one_week_nothing_is_said_to_have_moved() -> None:
    page = page_of(history(pieces=(piece(20, "2:10.0"),)))
    assert "No rate has come up in two weeks yet: there is nothing to compare." in page.texts("p")
    assert page.having("ul", "facts") == []


def test_nothing_rowed_is_said_and_no_table_is_empty() -> None:
    page = page_of(history(pieces=()))
    assert page.texts("p")[0] == "Looking back with Maren Holt. Nothing rowed yet."
    assert (page.having("table"), page.having("svg")) == ([], [])
    assert "What comes next" in page.texts("h2")


@pytest.mark.parametrize(
    "words",
    [
        "Targets are offers, not orders: take less on a day that asks for it.",
        "What a qualified coach or the rules of the place say goes before this page.",
        "This page holds personal data of Maren Holt: it is theirs.",
        "Stop at once on chest pain",
    ],
)
def test_the_page_cautions_and_says_whose_data_it_is(words: str) -> None:
    assert words in page_of(history()).texts("footer")[0]


def test_a_rower_called_script_is_shown_not_run() -> None:
    bad = "<script>alert('Kit')</script>"
    page = page_of(history(rower=bad, block=bad))
    assert page.texts("h1") == [bad]
    assert page.texts("title") == [f"{bad}: {bad}"] + [
        f"{bad}, {bad}: {title}"
        for title in (
            "Best split at each rate, by week",
            "Work per stroke at each rate",
            "Targets against held, by week",
        )
    ]


@settings(max_examples=10, deadline=None)
@given(histories())
def test_any_history_is_a_page_with_a_row_for_every_piece(made: History) -> None:
    page = page_of(made)
    tables = page.having("table", "pieces")
    assert len(tables) == (1 if made.pieces else 0)
    missed = sum(one.is_met is False for one in made.pieces)
    assert len(page.having("tr", "over")) == missed
    assert "None" not in page.text
