"""Where a line says a number, and what else it might have said there."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from cuegen.hearing.lexicon import tokens
from cuegen.hearing.numbers import Grammar, Shape, exact_grammar, line_grammar, number_runs
from cuegen.script.spoken import spoken_forms


def words_of(text: str) -> tuple[str, ...]:
    found = tokens(text)
    assert found is not None
    return found


def accepts(grammar: Grammar, words: tuple[str, ...]) -> bool:
    """Walk a network: an acceptor of our own."""
    states = {0}
    for word in words:
        states = {to for here, to, _, arc in grammar.arcs if here in states and arc == word}
    return grammar.final in states


@pytest.mark.parametrize(
    ("text", "runs"),
    [
        ("rate twenty two now", [("twenty two", Shape.CARDINAL)]),
        ("hold two oh four point five", [("two oh four point five", Shape.SPLIT)]),
        ("hold two oh oh point six", [("two oh oh point six", Shape.SPLIT)]),
        ("one fifty nine point nine", [("one fifty nine point nine", Shape.SPLIT)]),
        ("two ten", [("two ten", Shape.SPLIT)]),
        ("seven hundred and fifty", [("seven hundred", Shape.OTHER), ("fifty", Shape.CARDINAL)]),
        ("eighteen to twenty", [("eighteen", Shape.CARDINAL), ("twenty", Shape.CARDINAL)]),
        ("oh what a point", []),
        ("", []),
    ],
)
def test_numbers_are_found_with_their_shape(text: str, runs: list[tuple[str, Shape]]) -> None:
    words = tuple(text.split())
    found = [(" ".join(words[run.first : run.last]), run.shape) for run in number_runs(words)]
    assert found == runs


@given(st.integers(60_000, 359_900), st.integers(60_000, 359_900))
def test_any_split_is_open_to_any_other(planned_ms: int, said_ms: int) -> None:
    """Every split of one to six minutes that has a number at all ("two minutes flat" has not)."""
    say = spoken_forms("en").split
    planned, said = words_of(f"hold {say(planned_ms)} now"), words_of(f"hold {say(said_ms)} now")
    if "flat" in planned or "flat" in said:
        return
    assert accepts(line_grammar(planned), said)


@given(st.integers(1, 99), st.integers(1, 99))
def test_any_rate_is_open_to_any_other(planned: int, said: int) -> None:
    grammar = line_grammar(words_of(f"rate {num2words(planned)} now"))
    assert accepts(grammar, words_of(f"rate {num2words(said)} now"))


def test_what_is_no_number_is_not_offered() -> None:
    grammar = line_grammar(("rate", "twenty", "two"))
    assert not accepts(grammar, ("rate", "twenty", "ten"))
    assert not accepts(grammar, ("rate", "twenty", "twenty"))
    assert not accepts(grammar, ("rate",))


SOME = ("rate", "two", "oh", "four", "point", "fifty", "the", "handle", "go", "now")


@given(st.lists(st.sampled_from(SOME)))
def test_the_planned_words_are_always_a_path_and_the_likeliest(words: list[str]) -> None:
    planned = tuple(words)
    grammar = line_grammar(planned)
    assert accepts(grammar, planned)
    assert accepts(exact_grammar(planned), planned)
    sure = tuple(arc for arc in grammar.arcs if arc[2] == 1.0)
    assert accepts(Grammar(sure, grammar.final), planned)


def test_a_longer_word_and_a_short_call_have_rivals() -> None:
    assert accepts(
        line_grammar(("keep", "the", "handle", "level")), ("keep", "the", "window", "level")
    )
    assert accepts(line_grammar(("go",)), ("rest",))
    assert not accepts(line_grammar(("let", "it", "run", "on")), ("let", "go", "run", "on"))
