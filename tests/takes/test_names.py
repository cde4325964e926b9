"""A take's name comes from its words alone, and a file's name finds its line."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.takes.names import letters_of, read_name, take_name, words_key


@pytest.mark.parametrize(
    "text",
    ["Rate up, twenty.", "rate up twenty", "  Rate up,\ttwenty!", "RATE UP \u2013 TWENTY"],
)
def test_the_same_words_are_the_same_line(text: str) -> None:
    assert words_key(text) == "rate up twenty"
    assert take_name(text) == take_name("Rate up, twenty.")


def test_an_apostrophe_of_any_kind_parts_no_word() -> None:
    assert words_key("Don\u2019t rush.") == words_key("Don't rush.") == "dont rush"


def test_other_words_have_other_names() -> None:
    texts = [f"{verb} {number}" for verb in ("Hold", "Push", "Row") for number in range(300)]
    assert len({take_name(text) for text in texts}) == len(texts)


def test_a_name_is_short_to_read_and_fit_for_any_file_system() -> None:
    name = take_name("Keep the path of the handle as flat as a table, please.")
    assert re.fullmatch(r"keep-the-path-of-the-[bcdfghjklmnpqrstvwxz]{5}", name)


def test_words_of_another_alphabet_have_a_name_too() -> None:
    name = take_name("\u0413\u0440\u0435\u0431\u0438")
    assert re.fullmatch(r"line-[bcdfghjklmnpqrstvwxz]{5}", name)
    assert name != take_name("\u0421\u0442\u043e\u043f")


@given(st.text(min_size=1, max_size=80))
def test_every_name_is_read_back(text: str) -> None:
    assert read_name(take_name(text)).letters == letters_of(words_key(text))


@pytest.mark.parametrize(
    ("stem", "number"),
    [("7", 7), ("07", 7), ("line 12", 12), ("take_003", 3), ("12 (2)", 12), ("0", 0)],
)
def test_a_number_is_read_as_a_number(stem: str, number: int) -> None:
    assert read_name(stem).number == number


@pytest.mark.parametrize("stem", ["2 minutes left", "rate 20", "20 strokes", "a7"])
def test_words_with_a_number_are_no_number(stem: str) -> None:
    assert read_name(stem).number is None


@pytest.mark.parametrize(
    "stem",
    ["rate_up_twenty", "Rate up, twenty (2)", "rate-up-twenty - copy", "rate up twenty copy 3"],
)
def test_a_file_named_by_its_words_is_read(stem: str) -> None:
    assert read_name(stem).key == "rate up twenty"


def test_something_may_stand_before_a_take_name() -> None:
    name = take_name("Rate up, twenty.")
    for stem in (f"07 {name}", f"take2_{name}", f"{name} (2)", name.upper()):
        assert read_name(stem).letters == letters_of("rate up twenty")
