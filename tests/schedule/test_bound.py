"""The bound is never below what the rest is worth, which makes the search exact.

The true rest is found here by trying everything: each order of each subset of a few
items, in each of their choices, each line as early as it may be.
"""

from __future__ import annotations

from itertools import permutations, product
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.schedule.bound import FOREVER, SCALE, Bound, CrowdError, Held, horizons
from cuegen.schedule.prices import prices_of
from cuegen.schedule.problem import Choice, Item, Problem
from cuegen.script.candidate import Line
from tests.schedule.exact import GAP_MS, LIMITLESS, THEME_GAP_MS

SEEDS = st.integers(0, 1 << 32)
NOBODY: Held = frozenset()


def tiny(seed: int, *, limited: bool = True) -> Problem:
    """Return 1 to 4 items of one or two choices in two stretches, crowded into seconds."""
    random = Random(seed)
    items = tuple(_tiny_item(random, limited) for _ in range(random.randint(1, 4)))
    budgets = [random.choice([LIMITLESS, random.randint(500, 6_000)]) for _ in range(2)]
    return Problem(items, tuple(budgets) if limited else (LIMITLESS, LIMITLESS))


def _tiny_item(random: Random, themed: bool) -> Item:
    choices: list[Choice] = []
    for _ in range(random.randint(1, 2)):
        first = random.randint(0, 6_000)
        last = first + random.choice([0, 300, 2_000, 5_000, 61_000])
        length = random.randint(300, 3_000)
        stretch = int(first >= 3_000)
        choices.append(Choice(Line("x"), length, random.randint(1, 50), first, last, stretch))
    theme = random.choice([None, "catch"]) if themed else None
    return Item(tuple(choices), random.randint(0, 8_000), theme)


def true_rest(problem: Problem, numbers: list[int], free_ms: int, must: Held = NOBODY) -> int:
    """Return the greatest worth of those items from an instant on, by trying everything.

    must: items that have to be among them; -1 where they cannot all be.
    """
    best = -1 if must else 0
    for size in range(1, len(numbers) + 1):
        for order in permutations(numbers, size):
            if must <= set(order):
                for choices in product(*(problem.items[number].choices for number in order)):
                    best = max(best, _worth(problem, order, choices, free_ms))
    return best


def _worth(
    problem: Problem, order: tuple[int, ...], choices: tuple[Choice, ...], free_ms: int
) -> int:
    """Return the worth of choices said in that order, -1 where a rule is broken."""
    said: dict[str, int] = {}
    left = list(problem.budgets)
    for number, choice in zip(order, choices, strict=True):
        theme = problem.items[number].theme
        at_ms = max(free_ms, choice.first_ms)
        if theme is not None and theme in said:
            at_ms = max(at_ms, said[theme] + THEME_GAP_MS)
        left[choice.stretch] -= choice.length_ms
        if at_ms > choice.last_ms or left[choice.stretch] < 0:
            return -1
        free_ms = at_ms + choice.length_ms + GAP_MS
        if theme is not None:
            said[theme] = at_ms
    return sum(choice.worth for choice in choices)


def allowance(bound: Bound, problem: Problem) -> int:
    """Return the price of all talk that a problem allows."""
    return sum(price * problem.budgets[stretch] for stretch, price in bound.prices.items())


def bound_of(problem: Problem, price: int = 0) -> Bound:
    """Return the bound with every item held back that may be, at one price for all stretches."""
    stretches = {choice.stretch for item in problem.items for choice in item.choices}
    return Bound(problem.items, dict.fromkeys(stretches, price), len(problem.items))


@given(SEEDS, st.integers(0, 9_000), st.sampled_from([0, 1, 7, 30]))
def test_it_is_never_below_the_true_rest_at_any_price(seed: int, free: int, price: int) -> None:
    problem = tiny(seed)
    bound = bound_of(problem, price)
    for number in range(len(problem.items) + 1):
        rest = list(range(number, len(problem.items)))
        most = bound.rest(number, NOBODY).at(free) + allowance(bound, problem)
        assert most >= SCALE * true_rest(problem, rest, free)


@given(SEEDS, st.integers(0, 9_000))
def test_it_is_never_below_the_true_rest_at_the_price_that_is_found(seed: int, free: int) -> None:
    problem = tiny(seed)
    prices = prices_of(problem.items, problem.budgets)
    bound = Bound(problem.items, prices, len(problem.items))
    everything = list(range(len(problem.items)))
    most = bound.rest(0, NOBODY).at(free) + allowance(bound, problem)
    assert most >= SCALE * true_rest(problem, everything, free)


@given(SEEDS, st.integers(0, 9_000))
def test_it_holds_with_items_held_back(seed: int, free: int) -> None:
    problem = tiny(seed)
    bound = bound_of(problem)
    held: Held = NOBODY
    for number in range(len(problem.items)):
        if bound.may_pass(number, held) and bound.may_hold(number, held):
            held = held | {number}
        rest = [*held, *range(number + 1, len(problem.items))]
        most = bound.rest(number + 1, held).at(free)
        assert most >= SCALE * true_rest(problem, rest, free, must=held)


@given(SEEDS, st.integers(0, 9_000))
def test_without_themes_and_budgets_it_is_the_true_rest(seed: int, free: int) -> None:
    problem = tiny(seed, limited=False)
    bound = bound_of(problem)
    everything = list(range(len(problem.items)))
    assert bound.rest(0, NOBODY).at(free) == SCALE * true_rest(problem, everything, free)


@given(SEEDS)
def test_it_falls_as_the_voice_is_free_later(seed: int) -> None:
    problem = tiny(seed)
    steps = bound_of(problem).rest(0, NOBODY)
    assert list(steps.latest) == sorted(set(steps.latest))
    assert list(steps.values) == sorted(set(steps.values), reverse=True)
    assert steps.latest[-1] == FOREVER
    assert steps.values[-1] == 0


def one(first: int, last: int, *, worth: int = 10, length: int = 1_000) -> Item:
    return Item((Choice(Line("x"), length, worth, first, last, 0),), first)


class TestSmallCases:
    def test_one_line_is_worth_something_until_its_last_onset(self) -> None:
        rest = bound_of(Problem((one(2_000, 5_000),), (LIMITLESS,))).rest(0, NOBODY)
        assert [rest.at(ms) for ms in (0, 5_000, 5_001)] == [10_000, 10_000, 0]

    def test_two_lines_are_worth_both_while_there_is_room_for_both(self) -> None:
        pair = Problem((one(0, 5_000), one(0, 5_000, worth=7)), (LIMITLESS,))
        rest = bound_of(pair).rest(0, NOBODY)
        assert [rest.at(ms) for ms in (3_600, 3_601, 5_000, 5_001)] == [17_000, 10_000, 10_000, 0]

    def test_a_price_is_taken_off_for_each_millisecond(self) -> None:
        bound = bound_of(Problem((one(0, 0),), (LIMITLESS,)), price=4)
        assert bound.rest(0, NOBODY).at(0) == 10 * SCALE - 4 * 1_000

    def test_what_costs_more_than_it_is_worth_is_left(self) -> None:
        bound = bound_of(Problem((one(0, 0),), (LIMITLESS,)), price=11)
        assert bound.rest(0, NOBODY).at(0) == 0

    def test_an_item_can_be_held_back_for_the_last_that_fits_before_it(self) -> None:
        # The second ends at 1,400, before the first must begin; the third at 4,400, after.
        assert horizons((one(0, 1_400), one(0, 0), one(3_000, 3_000))) == (1, 1, 2)

    def test_with_nothing_held_back_the_order_is_kept(self) -> None:
        late_first = (one(1_400, 9_000), one(0, 0))
        held = Bound(late_first, {0: 0}, 1).rest(0, NOBODY).at(0)
        kept = Bound(late_first, {0: 0}, 0).rest(0, NOBODY).at(0)
        assert (held, kept) == (20_000, 10_000)

    def test_a_crowd_beyond_reach_is_an_error(self) -> None:
        crowd = tuple(one(0, 90_000, worth=number + 1) for number in range(30))
        with pytest.raises(CrowdError):
            Bound(crowd, {0: 0}, 30)
