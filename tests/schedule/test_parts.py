"""Cutting a problem into parts loses nothing: whatever ties two items stays in one part.

The ties are looked for here by brute force, pair by pair, from the rules of a solution
(cuegen.schedule.problem).

Source
    That parts come to the worth of the whole: OR-tools CP-SAT, an exact solver that shares
    no code with ours (tests/schedule/exact.py).
"""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.schedule.parts import Merged, merged, parts_of
from cuegen.schedule.problem import Choice, Item, Problem
from cuegen.script.candidate import Line
from tests.schedule.exact import (
    GAP_MS,
    LIMITLESS,
    THEME_GAP_MS,
    greatest_worth,
    random_problem,
)

SEEDS = st.integers(0, 1 << 32)


def choice(first: int, last: int, length: int = 1_000, stretch: int = 0) -> Choice:
    return Choice(Line("x"), length, 10, first, last, stretch)


def item(
    first: int, last: int, *, length: int = 1_000, stretch: int = 0, theme: str | None = None
) -> Item:
    return Item((choice(first, last, length, stretch),), first, theme)


def parts(*items: Item, budget: int = LIMITLESS) -> list[tuple[int, ...]]:
    return parts_of(Problem(items, (budget, budget)))


def could_meet(one: Item, other: Item) -> bool:
    """Return whether two onsets exist at which clips overlap or lie less than a gap apart."""
    return any(
        a.first_ms < b.last_ms + b.length_ms + GAP_MS
        and b.first_ms < a.last_ms + a.length_ms + GAP_MS
        for a, b in product(one.choices, other.choices)
    )


def could_be_too_near(one: Item, other: Item) -> bool:
    return (
        one.theme is not None
        and one.theme == other.theme
        and one.first_ms < other.last_ms + THEME_GAP_MS
        and other.first_ms < one.last_ms + THEME_GAP_MS
    )


def must_be_too_near(one: Item, other: Item) -> bool:
    """Return whether lines on one theme are too near at all onsets they could have."""
    return (
        one.theme is not None
        and one.theme == other.theme
        and max(one.last_ms - other.first_ms, other.last_ms - one.first_ms) < THEME_GAP_MS
    )


def talk_wanted(problem: Problem, part: tuple[int, ...]) -> dict[int, int]:
    """Return the most that the items of a part could speak in each stretch."""
    talk: dict[int, int] = defaultdict(int)
    for number in part:
        longest: dict[int, int] = {}
        for each in problem.items[number].choices:
            longest[each.stretch] = max(longest.get(each.stretch, 0), each.length_ms)
        for stretch, length in longest.items():
            talk[stretch] += length
    return talk


class TestParts:
    @given(SEEDS)
    def test_every_item_is_in_one_part(self, seed: int) -> None:
        problem = random_problem(seed)
        found = sorted(number for part in parts_of(problem) for number in part)
        assert found == list(range(len(problem.items)))

    @given(SEEDS)
    def test_items_of_two_parts_never_stand_in_each_others_way(self, seed: int) -> None:
        problem = random_problem(seed)
        for one, other in combinations(parts_of(problem), 2):
            for a, b in product(one, other):
                assert not could_meet(problem.items[a], problem.items[b])
                assert not could_be_too_near(problem.items[a], problem.items[b])

    @given(SEEDS)
    def test_two_parts_that_speak_in_one_stretch_have_talk_enough_for_all(self, seed: int) -> None:
        problem = random_problem(seed)
        wanted = [talk_wanted(problem, part) for part in parts_of(problem)]
        for stretch, budget in enumerate(problem.budgets):
            speakers = [talk[stretch] for talk in wanted if stretch in talk]
            if len(speakers) > 1:
                assert sum(speakers) <= budget

    def test_parts_solved_alone_come_to_the_worth_of_the_whole(self) -> None:
        for seed in range(60):
            problem = random_problem(seed)
            alone = (
                Problem(tuple(problem.items[n] for n in part), problem.budgets)
                for part in parts_of(problem)
            )
            assert sum(map(greatest_worth, alone)) == greatest_worth(problem), seed

    def test_a_random_problem_falls_into_parts_often_enough(self) -> None:
        counts = [len(parts_of(random_problem(seed))) for seed in range(200)]
        assert sum(count > 1 for count in counts) > 60

    def test_clips_that_touch_at_the_gap_are_two_parts(self) -> None:
        assert parts(item(0, 500), item(1_900, 3_000)) == [(0,), (1,)]

    def test_clips_a_millisecond_nearer_are_one(self) -> None:
        assert parts(item(0, 500), item(1_899, 3_000)) == [(0, 1)]

    def test_a_long_window_ties_what_lies_beyond_a_short_one(self) -> None:
        assert parts(item(0, 9_000), item(100, 200), item(8_000, 9_000)) == [(0, 1, 2)]

    def test_one_theme_ties_over_its_spacing(self) -> None:
        pair = [item(0, 500, theme="catch"), item(60_499, 61_000, theme="catch")]
        assert parts(*pair) == [(0, 1)]

    def test_one_theme_at_its_spacing_ties_nothing(self) -> None:
        pair = [item(0, 500, theme="catch"), item(60_500, 61_000, theme="catch")]
        assert parts(*pair) == [(0,), (1,)]

    def test_two_themes_tie_nothing(self) -> None:
        pair = [item(0, 500, theme="catch"), item(2_000, 2_500, theme="ratio")]
        assert parts(*pair) == [(0,), (1,)]

    def test_a_budget_that_could_run_short_ties_its_stretch(self) -> None:
        pair = [item(0, 0), item(30_000, 30_000)]
        assert parts(*pair, budget=2_000) == [(0,), (1,)]
        assert parts(*pair, budget=1_999) == [(0, 1)]

    def test_a_budget_ties_nothing_in_another_stretch(self) -> None:
        pair = [item(0, 0), item(30_000, 30_000, stretch=1)]
        assert parts(*pair, budget=1_000) == [(0,), (1,)]

    def test_parts_and_their_items_come_in_the_order_of_their_wishes(self) -> None:
        trio = [item(50_000, 50_000), item(900, 900), item(0, 0)]
        assert parts(*trio) == [(2, 1), (0,)]

    def test_no_items_make_no_parts(self) -> None:
        assert parts() == []


class TestMerged:
    @given(SEEDS)
    def test_items_made_one_exclude_one_another(self, seed: int) -> None:
        problem = random_problem(seed)
        for part in parts_of(problem):
            for each in merged(problem, part):
                for one, other in combinations(sorted(set(each.owners)), 2):
                    assert must_be_too_near(problem.items[one], problem.items[other])

    @given(SEEDS)
    def test_every_choice_is_kept_with_its_owner(self, seed: int) -> None:
        problem = random_problem(seed)
        for part in parts_of(problem):
            kept = [
                (owner, kept_choice)
                for each in merged(problem, part)
                for owner, kept_choice in zip(each.owners, each.item.choices, strict=True)
            ]
            had = [(n, own_choice) for n in part for own_choice in problem.items[n].choices]
            assert sorted(kept, key=repr) == sorted(had, key=repr)

    def test_random_problems_have_items_to_be_made_one(self) -> None:
        found = (
            each
            for seed in range(100)
            for part in parts_of(random_problem(seed))
            for each in merged(random_problem(seed), part)
        )
        assert sum(len(set(each.owners)) > 1 for each in found) > 30

    def test_two_that_could_just_both_be_said_stay_two(self) -> None:
        assert self.owners(item(0, 0, theme="catch"), item(10, 60_000, theme="catch")) == [
            {0},
            {1},
        ]

    def test_two_a_millisecond_nearer_are_one(self) -> None:
        assert self.owners(item(0, 0, theme="catch"), item(10, 59_999, theme="catch")) == [{0, 1}]

    def test_of_three_in_a_row_only_those_that_all_exclude_one_another_are_one(self) -> None:
        row = [item(at, at, theme="catch") for at in (0, 40_000, 80_000)]
        assert self.owners(*row) == [{0, 1}, {2}]

    @pytest.mark.parametrize("themes", [("catch", "ratio"), (None, None)])
    def test_items_that_share_no_theme_stay_apart(self, themes: tuple[str | None, ...]) -> None:
        pair = [item(0, 0, theme=theme) for theme in themes]
        assert self.owners(*pair) == [{0}, {1}]

    def owners(self, *items: Item) -> list[set[int]]:
        problem = Problem(items, (LIMITLESS, LIMITLESS))
        found: list[Merged] = merged(problem, tuple(range(len(items))))
        return [set(each.owners) for each in found]
