"""Words beside a row: the ones that matter, within their cells, cut where one can see it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from cuegen.sheet.timeline_strip import ASCII, BLOCKS
from cuegen.sheet.timeline_words import Said, all_said, choose, clauses, shorten, wrap
from tests.sheet.samples import sample_sheet
from tests.sheet.strategies import words


def said(at_ms: int, text: str, order: int) -> Said:
    return Said(at_ms, BLOCKS.talk, text, False, order)


def test_lines_and_spans_of_quiet_stand_in_order_of_time() -> None:
    rows = [(one.at_ms, one.mark, one.text) for one in all_said(sample_sheet(), BLOCKS)]
    assert rows[10:13] == [
        (420_375, "▄", "Hang off the handle."),
        (440_000, "·", "quiet to 7:15"),
        (562_000, "▄", "Nearly there."),
    ]


def test_firm_lines_have_their_own_mark() -> None:
    firm = {one.text for one in all_said(sample_sheet(), ASCII) if one.mark == "#"}
    assert firm == {
        "Three, two, one.",
        "Go, rate eighteen.",
        "Rate up, twenty.",
        "Kit, sit tall on the seat.",
        "Rate up, twenty-four.",
        "And done.",
    }


def test_the_coachs_own_line_goes_before_technique_and_time_left_last() -> None:
    ranks = {one.text: one.order for one in all_said(sample_sheet(), BLOCKS)}
    own, technique = ranks["Kit, sit tall on the seat."], ranks["Hang off the handle."]
    assert ranks["quiet to 7:15"] < own < technique < ranks["One minute left."]


def test_the_first_in_rank_is_shown_and_cut_if_it_must_be() -> None:
    rows = (said(0, "One two three four.", 5), said(1, "Five six seven eight.", 4))
    assert [one.text for one in choose(rows, 3, 20, "…")] == ["Five six…"]


def test_a_second_line_is_shown_only_whole() -> None:
    first, second = said(5, "Go on.", 1), said(0, "Sit tall.", 2)
    # 3 + 3 cells before each, 3 between them: 6 + 6 + 3 + 6 + 9 = 30.
    assert choose((first, second), 3, 30, "…") == (second, first)
    assert choose((first, second), 3, 29, "…") == (first,)


@pytest.mark.parametrize(
    ("text", "width", "short"),
    [
        ("Sit tall.", 9, "Sit tall."),
        ("Sit tall now.", 9, "Sit tall…"),
        ("Sit tall, now.", 10, "Sit tall…"),
        ("Uninterruptedly so.", 8, "Uninter…"),
        ("日本語です", 6, "日本…"),
        ("Sit.", 0, ""),
    ],
)
def test_a_text_is_cut_between_words_and_says_so(text: str, width: int, short: str) -> None:
    assert shorten(text, width, "…") == short


def test_whole_clauses_are_kept_before_words_are_cut() -> None:
    why = "led by effort; reckoned at 2:15.6, from 2:20.0 at rate 20"
    assert clauses(why, 60, "…") == why
    assert clauses(why, 50, "…") == "led by effort"
    assert clauses(why, 9, "…") == "led by…"


def test_words_wrap_and_a_long_one_is_broken() -> None:
    assert list(wrap("Sit tall and breathe", 8)) == ["Sit tall", "and", "breathe"]
    assert list(wrap("a uninterrupted", 6)) == ["a", "uninte", "rrupte", "d"]


@given(words, st.integers(4, 40))
def test_nothing_is_wider_than_asked(text: str, width: int) -> None:
    assert cell_len(shorten(text, width, "…")) <= width
    assert all(cell_len(line) <= width for line in wrap(text, width))


@given(words, st.integers(4, 40))
def test_wrapping_loses_no_letter(text: str, width: int) -> None:
    assert "".join("".join(wrap(text, width)).split()) == "".join(text.split())
