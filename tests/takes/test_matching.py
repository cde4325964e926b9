"""Which pieces are which line: the best choice, proved against every choice there is."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import combinations

import pytest

from cuegen.takes.matching import (
    AGAIN,
    Guess,
    best_chain,
    chosen,
    guesses_for,
    plausible,
    weight_of,
)


def guess(
    first: int, line: int, weight: float = 1.0, *, last: int | None = None, sure: bool = True
) -> Guess:
    return Guess(first, first if last is None else last, line, weight, sure)


def worth(chain: Sequence[Guess]) -> float | None:
    """Return what a chain weighs, None where it is none; written from the rule, not the code."""
    total = 0.0
    for number, one in enumerate(chain):
        before = chain[number - 1] if number else None
        if before is None:
            total += one.weight
        elif before.last >= one.first or before.line > one.line:
            return None
        else:
            total += AGAIN * one.weight if before.line == one.line else one.weight
    return total


@pytest.mark.parametrize("seed", range(60))
def test_the_chain_is_the_best_of_all(seed: int) -> None:
    rng = random.Random(seed)
    guesses = []
    for _ in range(rng.randint(1, 9)):
        first = rng.randint(0, 7)
        weight = rng.choice([0.5, 1.0, 1.7, 2.2])
        guesses.append(guess(first, rng.randint(0, 5), weight, last=first + rng.randint(0, 2)))
    every = (
        worth(sorted(some, key=lambda one: one.first))
        for count in range(1, len(guesses) + 1)
        for some in combinations(guesses, count)
    )
    best = max(total for total in every if total is not None)
    chain = best_chain(guesses)
    assert worth(chain) == pytest.approx(best)


def test_pieces_and_lines_may_be_skipped() -> None:
    choice = chosen([guess(0, 0), guess(2, 3), guess(3, 4)], pieces=5)
    assert [(g.first, g.line) for g in choice.taken] == [(0, 0), (2, 3), (3, 4)]
    assert choice.left == (1, 4)


def test_of_a_line_said_again_the_later_is_taken() -> None:
    choice = chosen([guess(0, 0), guess(1, 1), guess(2, 1, 0.8), guess(3, 2)], pieces=4)
    assert [(g.first, g.line) for g in choice.taken] == [(0, 0), (2, 1), (3, 2)]
    assert [g.first for g in choice.superseded] == [1]


def test_a_line_said_again_much_later_takes_the_place_of_the_first() -> None:
    choice = chosen([guess(0, 0), guess(1, 1), guess(2, 2), guess(3, 0)], pieces=4)
    assert [(g.first, g.line) for g in choice.taken] == [(3, 0), (1, 1), (2, 2)]
    assert [g.first for g in choice.superseded] == [0]


def test_a_slip_does_not_take_the_place_of_what_was_sure() -> None:
    choice = chosen([guess(0, 0), guess(1, 0, 0.5, sure=False), guess(2, 1)], pieces=3)
    assert [(g.first, g.line) for g in choice.taken] == [(0, 0), (2, 1)]
    assert [g.first for g in choice.superseded] == [1]


def test_a_line_read_at_the_end_is_found_out_of_order() -> None:
    choice = chosen([guess(0, 1), guess(1, 2), guess(2, 0)], pieces=3)
    assert [(g.first, g.line) for g in choice.taken] == [(2, 0), (0, 1), (1, 2)]


def test_what_nobody_is_sure_of_is_named_and_not_guessed() -> None:
    choice = chosen([guess(0, 0), guess(1, 1, 0.6, sure=False), guess(2, 2)], pieces=3)
    assert [g.line for g in choice.taken] == [0, 2]
    assert [(g.first, g.line) for g in choice.unsure] == [(1, 1)]
    assert choice.left == ()


def test_an_unsure_guess_out_of_order_is_nothing() -> None:
    choice = chosen([guess(0, 3), guess(1, 4), guess(2, 0, 0.6, sure=False)], pieces=3)
    assert (choice.unsure, choice.left) == ((), (2,))


def test_joined_pieces_win_over_one_of_them() -> None:
    """A line of two sentences, of which the first alone resembles another line."""
    parts = [guess(0, 1, 0.9, sure=False), guess(0, 0, 2.6, last=1)]
    choice = chosen(parts, pieces=2)
    assert [(g.first, g.last, g.line) for g in choice.taken] == [(0, 1, 0)]


def test_nothing_at_all_is_borne() -> None:
    choice = chosen([], pieces=2)
    assert (choice.taken, choice.left) == ((), (0, 1))


@pytest.mark.parametrize(
    ("length_ms", "is_plausible"), [(449, False), (450, True), (2_200, True), (2_201, False)]
)
def test_a_line_of_a_second_takes_from_half_to_twice_as_long(
    length_ms: int, is_plausible: bool
) -> None:
    assert plausible(length_ms, 1_000) is is_plausible
    assert (weight_of(-1.0, 4, length_ms, 1_000) > 0) is is_plausible


def test_weight_rises_with_fit_words_and_a_likely_length() -> None:
    best = weight_of(-2.0, 4, 1_000, 1_000)
    assert best == pytest.approx(2.0)
    assert weight_of(-3.2, 4, 1_000, 1_000) == pytest.approx(1.0)
    assert weight_of(-3.6, 4, 1_000, 1_000) == 0.0
    assert weight_of(-2.0, 1, 1_000, 1_000) == pytest.approx(1.0)
    assert 0 < weight_of(-2.0, 4, 1_500, 1_000) < best
    assert weight_of(-2.0, 4, 2_000, 1_000) == pytest.approx(weight_of(-2.0, 4, 500, 1_000))


def test_only_what_may_be_one_line_is_joined() -> None:
    """Not two sure lines, not over a long pause, not longer than any line."""
    asked: list[tuple[int, int]] = []

    def hear(stretches: Sequence[tuple[int, int]]) -> list[Guess]:
        asked.extend(stretches)
        return [guess(a, 7) for a, b in stretches if a == b and a in (0, 1)]

    pieces, gaps = [500, 500, 500, 500, 4_000], [400, 400, 400, 2_000]
    guesses_for(pieces, gaps, hear, longest_ms=2_400)
    assert asked[:5] == [(0, 0), (1, 1), (2, 2), (3, 3), (4, 4)]
    assert asked[5:] == [(0, 2), (1, 2), (1, 3), (2, 3)]
