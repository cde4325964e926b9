"""Placed lines stand as near to their wishes as the rules allow, and where that leaves a
choice, as early as they may.

Sources
    The least sum of distances and, of several such, the earliest onsets: OR-tools CP-SAT,
    an exact solver that shares no code with ours, on random placements.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise
from random import Random

import pytest
from ortools.sat.python import cp_model

from cuegen.schedule.cuesheet import GAP_MS
from cuegen.schedule.optimum import optimum
from cuegen.schedule.positions import positioned
from cuegen.schedule.problem import Choice, Item, Put
from cuegen.schedule.rules import THEME_GAP_MS
from cuegen.script.candidate import Line
from tests.schedule.exact import random_problem

Placement = tuple[tuple[Put, ...], tuple[Item, ...]]

CROWDED, SPACED = 120, 120
BATCH = 40


def line(
    first: int, last: int, *, wish: int, length: int = 1_000, theme: str | None = None
) -> Item:
    return Item((Choice(Line("x"), length, 10, first, last, 0),), wish, theme)


def early(*items: Item) -> Placement:
    """Return items in that order, each as early as it may be."""
    puts: list[Put] = []
    onset_of: dict[str | None, int] = {}
    free_ms = 0
    for number, item in enumerate(items):
        (choice,) = item.choices
        at_ms = max(free_ms, choice.first_ms)
        if item.theme in onset_of and item.theme is not None:
            at_ms = max(at_ms, onset_of[item.theme] + THEME_GAP_MS)
        assert at_ms <= choice.last_ms, "no such placement"
        onset_of[item.theme] = at_ms
        free_ms = at_ms + choice.length_ms + GAP_MS
        puts.append(Put(number, choice, at_ms))
    return tuple(puts), items


def onsets(*items: Item) -> list[int]:
    return [put.at_ms for put in positioned(*early(*items))]


def crowded(seed: int) -> Placement:
    """Return the optimum of a random problem, some of its lines with a wish elsewhere."""
    random, problem = Random(seed), random_problem(seed)
    shifts = (0, 0, -20_000, 5_000, 20_000)
    items = (
        replace(item, prefer_ms=max(0, item.prefer_ms + random.choice(shifts)))
        for item in problem.items
    )
    return optimum(problem).puts, tuple(items)


def spaced(seed: int) -> Placement:
    """Return 2 to 14 lines on three themes over minutes, most of them near a minute apart."""
    random = Random(seed)
    items: list[Item] = []
    onset_of: dict[str | None, int] = {}
    at_ms = 0
    for _ in range(random.randint(2, 14)):
        theme = random.choice([None, "catch", "ratio", "legs"])
        at_ms += random.choice([0, 0, 300, 5_000, 15_000])
        if theme in onset_of and theme is not None:
            at_ms = max(at_ms, onset_of[theme] + THEME_GAP_MS)
        onset_of[theme] = at_ms
        length = random.randint(600, 9_000)
        first = max(0, at_ms - random.choice([0, 2_000, 10_000, 40_000]))
        last = at_ms + random.choice([0, 500, 8_000, 30_000, 60_000])
        wish = random.randint(max(0, first - 10_000), last + 10_000)
        items.append(line(first, last, wish=wish, length=length, theme=theme))
        at_ms += length + GAP_MS
    return early(*items)


def distance(puts: tuple[Put, ...], items: tuple[Item, ...]) -> int:
    return sum(abs(put.at_ms - items[put.item].prefer_ms) for put in puts)


def same_theme(puts: tuple[Put, ...], items: tuple[Item, ...]) -> list[tuple[int, int]]:
    """Return the pairs of puts, earlier and later, whose lines are on one theme."""
    themes = [items[put.item].theme for put in puts]
    pairs = combinations(range(len(puts)), 2)
    return [(one, other) for one, other in pairs if themes[one] == themes[other] is not None]


def nearest(puts: tuple[Put, ...], items: tuple[Item, ...]) -> list[int]:
    """Return the earliest onsets of the least sum of distances, as CP-SAT finds them."""
    model = cp_model.CpModel()
    at = [model.new_int_var(put.choice.first_ms, put.choice.last_ms, "") for put in puts]
    away = [model.new_int_var(0, 10**7, "") for _ in puts]
    for put, at_ms, away_ms in zip(puts, at, away, strict=True):
        wish = items[put.item].prefer_ms
        model.add(away_ms >= at_ms - wish)
        model.add(away_ms >= wish - at_ms)
    for number in range(len(puts) - 1):
        model.add(at[number + 1] - at[number] >= puts[number].choice.length_ms + 400)
    for one, other in same_theme(puts, items):
        model.add(at[other] - at[one] >= 60_000)
    model.minimize(sum(away))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    model.add(sum(away) <= round(solver.objective_value))
    model.minimize(sum(at))
    assert solver.solve(model) == cp_model.OPTIMAL
    return [solver.value(at_ms) for at_ms in at]


def assert_same_lines_within_the_rules(
    before: tuple[Put, ...], after: tuple[Put, ...], items: tuple[Item, ...]
) -> None:
    assert [(p.item, p.choice) for p in after] == [(p.item, p.choice) for p in before]
    for put in after:
        assert put.choice.first_ms <= put.at_ms <= put.choice.last_ms
    for one, other in pairwise(after):
        assert other.at_ms - one.at_ms >= one.choice.length_ms + GAP_MS
    for number, later in same_theme(after, items):
        assert after[later].at_ms - after[number].at_ms >= THEME_GAP_MS


class TestAgainstAnExactSolver:
    @pytest.mark.parametrize("start", range(0, CROWDED, BATCH))
    def test_crowded_lines_stand_where_it_puts_them(self, start: int) -> None:
        for seed in range(start, start + BATCH):
            puts, items = crowded(seed)
            moved = positioned(puts, items)
            assert_same_lines_within_the_rules(puts, moved, items)
            assert [put.at_ms for put in moved] == nearest(puts, items), seed

    @pytest.mark.parametrize("start", range(0, SPACED, BATCH))
    def test_lines_a_minute_apart_stand_where_it_puts_them(self, start: int) -> None:
        for seed in range(start, start + BATCH):
            puts, items = spaced(seed)
            moved = positioned(puts, items)
            assert_same_lines_within_the_rules(puts, moved, items)
            assert [put.at_ms for put in moved] == nearest(puts, items), seed

    def test_the_random_placements_are_worth_moving(self) -> None:
        """Most could stand nearer, and many are held by a theme: else nothing is tested."""
        placements = [crowded(seed) for seed in range(CROWDED)]
        placements += [spaced(seed) for seed in range(SPACED)]
        nearer = sum(distance(positioned(*each), each[1]) < distance(*each) for each in placements)
        themed = sum(bool(same_theme(*each)) for each in placements)
        assert nearer > 0.9 * len(placements)
        assert themed > 0.5 * len(placements)


class TestSmallCases:
    def test_a_line_alone_stands_on_its_wish(self) -> None:
        assert onsets(line(0, 9_000, wish=4_321)) == [4_321]

    def test_a_wish_before_the_window_gets_its_first_instant(self) -> None:
        assert onsets(line(5_000, 9_000, wish=0)) == [5_000]

    def test_a_wish_after_the_window_gets_its_last_instant(self) -> None:
        assert onsets(line(5_000, 9_000, wish=20_000)) == [9_000]

    def test_of_two_with_one_wish_the_second_has_it_and_the_first_is_early(self) -> None:
        # Any first onset from 8,600 to 10,000 comes to 1,400 in all.
        pair = [line(0, 20_000, wish=10_000) for _ in range(2)]
        assert onsets(*pair) == [8_600, 10_000]

    def test_of_three_with_one_wish_the_middle_one_has_it(self) -> None:
        trio = [line(0, 20_000, wish=10_000) for _ in range(3)]
        assert onsets(*trio) == [8_600, 10_000, 11_400]

    def test_two_lines_that_share_a_wish_hold_a_third_off(self) -> None:
        # Two would move for one: the third waits, however near its wish.
        trio = [
            line(0, 20_000, wish=8_600),
            line(0, 20_000, wish=10_000),
            line(0, 20_000, wish=10_000),
        ]
        assert onsets(*trio) == [8_600, 10_000, 11_400]

    def test_a_line_that_cannot_move_pushes_the_others(self) -> None:
        trio = [
            line(0, 20_000, wish=9_500),
            line(10_000, 10_000, wish=10_000),
            line(0, 20_000, wish=10_500),
        ]
        assert onsets(*trio) == [8_600, 10_000, 11_400]

    def test_lines_with_room_between_them_do_not_move_one_another(self) -> None:
        pair = [line(0, 20_000, wish=3_000), line(0, 20_000, wish=4_400)]
        assert onsets(*pair) == [3_000, 4_400]

    def test_one_theme_parts_two_lines_at_the_lesser_loss(self) -> None:
        # A third line stands against the later one: moving both costs more than the first alone.
        trio = [
            line(0, 50_000, wish=30_000, theme="catch"),
            line(0, 200_000, wish=80_000, theme="catch"),
            line(0, 200_000, wish=81_400),
        ]
        assert onsets(*trio) == [20_000, 80_000, 81_400]

    def test_a_theme_said_three_times_leaves_room_for_the_last(self) -> None:
        trio = [
            line(0, 30_000, wish=30_000, theme="catch"),
            line(60_000, 100_000, wish=90_000, theme="catch"),
            line(120_000, 140_000, wish=140_000, theme="catch"),
        ]
        assert onsets(*trio) == [20_000, 80_000, 140_000]

    def test_two_themes_that_alternate_leave_room_for_the_last(self) -> None:
        four = [
            line(0, 50_000, wish=50_000, theme="catch"),
            line(0, 50_000, wish=50_000, theme="ratio"),
            line(0, 200_000, wish=110_000, theme="catch"),
            line(90_000, 90_000, wish=90_000, theme="ratio"),
        ]
        assert onsets(*four) == [28_600, 30_000, 88_600, 90_000]

    def test_nothing_placed_stays_nothing(self) -> None:
        assert positioned((), ()) == ()

    @pytest.mark.parametrize("seed", range(BATCH))
    def test_the_order_in_which_items_are_listed_changes_nothing(self, seed: int) -> None:
        puts, items = spaced(seed)
        turned = tuple(replace(put, item=len(items) - 1 - put.item) for put in puts)
        moved = positioned(turned, items[::-1])
        assert [put.at_ms for put in moved] == [put.at_ms for put in positioned(puts, items)]
