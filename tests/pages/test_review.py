"""The review page: what a coach says on top, nothing run, all words shown as words."""

from __future__ import annotations

import re

import pytest

from cuegen.pages.review import review_page
from cuegen.resources import templates_dir
from cuegen.targets.reviewed import Review
from tests.pages.test_look import contrast
from tests.sheet.pages import Page, read_page
from tests.targets.reviews import STEPS, good, held, reviewed

OWN, DARK = (
    (templates_dir() / name).read_text(encoding="utf-8") for name in ("review.css", "dark.css")
)


def page_of(review: Review) -> Page:
    page = read_page(review_page(review))
    page.check_self_contained()
    return page


def test_what_a_coach_says_comes_before_the_figures() -> None:
    """D: 120,000 x (1/134.2 + 1/130.8 + 1/128.1 + 1/124.9) = 3709.2 m in four times 4:00."""
    page = page_of(good())
    assert page.texts("title") == ["By the weir: Maren Holt, 2031-05-24"]
    assert page.texts("h1") == ["By the weir"]
    said = page.texts("section", "said")
    assert said[0].startswith("All 4 pieces were rowed, 16:00 at a mean of 2:09.4.")
    assert page.texts("dd") == ["2:09.4", "16:00", "3709", "4 of 4"]
    assert page.texts("h2") == [
        "The session",
        "Piece by piece",
        "Asked and rowed",
        "Power and effort",
        "Within the pieces",
        "What each step was worth",
    ]


def test_every_piece_stands_with_what_was_asked_and_rowed() -> None:
    """D: 60 x 2.80 / (134.2 / 500)^3 / 17 = 511 J; 0.2 s of 134.0 is 0.4 % of power."""
    rows = page_of(good()).texts("tr")
    assert "1 a 4:00 17 2:14.0 2:14.2 +0.2 s held" in rows
    assert "2 b 4:00 19 2:11.0 2:10.8 \u22120.2 s held" in rows
    assert "1 a \u22120.4 % 511 J 70 % (70 %) 140" in rows


def test_parts_and_steps_have_tables_of_their_own() -> None:
    rows = page_of(good()).texts("tr")
    assert "2 b 2:11.0 2:10.6 2:10.8 0.4 s 0.1 % even" in rows
    assert "4 d 2:05.4 2:04.8 2:04.5 0.9 s 0.3 % built by 0.9 s" in rows
    assert "17 to 19 3.4 s faster (3.0 s) 3.4 s 4.9 s within" in rows


def test_what_there_is_not_has_no_table() -> None:
    page = page_of(reviewed("4:00 r20 80%", held(1, 20, 130_000)))
    assert page.texts("h2") == [
        "The session", "Piece by piece", "Asked and rowed", "Power and effort",
    ]  # fmt: skip
    assert page.texts("dt") == ["Mean split", "Rowed", "Metres"]
    assert page.texts("th")[:8] == [
        "Piece", "Rate", "Asked", "Rowed", "Off by", "1 4:00", "Piece", "Power",
    ]  # fmt: skip
    assert "Felt" not in page.text
    assert "Heart" not in page.text
    assert "None" not in page.text


def test_the_drawing_has_a_line_for_each_piece() -> None:
    page = page_of(reviewed(STEPS, held(2, 17, 134_000), held(4, 21, 128_000, 127_000, 129_000)))
    assert len(page.having("polyline", "rowed")) == 2
    assert len(page.having("line", "asked")) == 4
    words = [one.text for one in page.having("text")]
    assert words[-8:] == ["1", "r17", "2", "\u2013", "3", "r21", "4", "\u2013"]


def test_a_session_of_which_nothing_was_rowed_says_so() -> None:
    page = page_of(reviewed(STEPS))
    assert page.texts("section", "said") == [
        "None of the plan's pieces was found among the results."
    ]
    assert page.having("svg") == []
    assert page.having("table") == []
    assert len(page.texts("li")) == 4


def test_cautions_stand_at_the_foot() -> None:
    (foot,) = page_of(good()).texts("footer")
    assert "A qualified coach goes before this page." in foot
    assert "Stop on pain, dizziness or unusual breathlessness" in foot


def test_a_rower_called_script_is_shown_not_run() -> None:
    bad = "<script>alert('Kit')</script>"
    found = reviewed(STEPS, held(9, 20, 130_000, label=bad), rower=bad, logged_as=bad, day=None)
    page = page_of(found)
    assert page.texts("title") == [f"By the weir: {bad}"]
    assert page.text.count("<script>") >= 3


# ------------------------------------------------------------------ the look


def night() -> dict[str, str]:
    return dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", DARK))


@pytest.mark.parametrize("name", ["ink", "soft", "river", "flag"])
def test_words_stand_out_seven_to_one_by_night(name: str) -> None:
    """W3C WCAG 2.2, 1.4.6."""
    assert contrast(night()[name], night()["paper"]) >= 7


def test_lines_stand_out_three_to_one_by_night() -> None:
    """W3C WCAG 2.2, 1.4.11."""
    assert contrast(night()["line"], night()["paper"]) >= 3


def test_the_night_is_for_screens_only_and_colours_are_the_familys() -> None:
    asked = "@media screen and (prefers-color-scheme: dark) { :root {\n"
    page = review_page(good())
    assert page.count(DARK) == page.count(f"{asked}{DARK}}} }}\n") == 1
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b", DARK) == list(night().values())
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b", OWN) == []
    uses = re.findall(r"(?<![-\w])(?:color|fill|background|stroke): ([^;}]+)", OWN)
    assert set(uses) - {"none"} <= {f"var(--{name})" for name in night()}
