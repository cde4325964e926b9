"""Parts of a problem that can be solved one by one, and items of which only one can be said.

Two items belong to one part where their clips could meet, where they are on one
theme and could come too near to each other, or where a stretch could run short of
talk that both draw on. Parts are returned in order of time.

Items on one theme whose windows are so near that no two of them could both be said
are, for the search, one item with all their choices.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from cuegen.schedule.problem import Item, Problem
from cuegen.schedule.rules import THEME_GAP_MS


def parts_of(problem: Problem) -> list[tuple[int, ...]]:
    """Return the items of each part, as indices, in the order in which they suit best."""
    order = sorted(range(len(problem.items)), key=lambda n: (problem.items[n].prefer_ms, n))
    chief = list(range(len(problem.items)))

    def root(number: int) -> int:
        while chief[number] != number:
            chief[number] = chief[chief[number]]
            number = chief[number]
        return number

    for one, other in _ties(problem):
        chief[root(other)] = root(one)
    groups: dict[int, list[int]] = defaultdict(list)
    for number in order:
        groups[root(number)].append(number)
    return [tuple(group) for group in groups.values()]


def _ties(problem: Problem) -> Iterator[tuple[int, int]]:
    yield from _by_room(problem)
    yield from _by_theme(problem)
    yield from _by_budget(problem)


def _by_room(problem: Problem) -> Iterator[tuple[int, int]]:
    """Tie items whose clips could meet: a sweep over the spans they could fill."""
    spans = sorted(
        (choice.first_ms, choice.last_ms + choice.room_ms, number)
        for number, item in enumerate(problem.items)
        for choice in item.choices
    )
    if not spans:
        return
    _, reach, holder = spans[0]
    for first, end, number in spans[1:]:
        if first < reach:
            yield holder, number
        if end > reach:
            reach, holder = end, number


def _by_theme(problem: Problem) -> Iterator[tuple[int, int]]:
    themed: dict[str, list[int]] = defaultdict(list)
    for number, item in enumerate(problem.items):
        if item.theme is not None:
            themed[item.theme].append(number)
    for numbers in themed.values():
        numbers.sort(key=lambda n: problem.items[n].first_ms)
        reach, holder = problem.items[numbers[0]].last_ms, numbers[0]
        for number in numbers[1:]:
            item = problem.items[number]
            if item.first_ms < reach + THEME_GAP_MS:
                yield holder, number
            if item.last_ms > reach:
                reach, holder = item.last_ms, number


def _by_budget(problem: Problem) -> Iterator[tuple[int, int]]:
    """Tie the items of each stretch that could be talked past its budget."""
    longest: dict[int, dict[int, int]] = defaultdict(dict)
    for number, item in enumerate(problem.items):
        for choice in item.choices:
            most = longest[choice.stretch]
            most[number] = max(most.get(number, 0), choice.length_ms)
    for stretch, most in longest.items():
        if sum(most.values()) > problem.budgets[stretch]:
            yield from pairwise(most)


@dataclass(frozen=True, slots=True)
class Merged:
    """One or more items of which at most one is said. owners: whose each choice is."""

    item: Item
    owners: tuple[int, ...]


def merged(problem: Problem, numbers: tuple[int, ...]) -> list[Merged]:
    """Return items with those that exclude one another made one, in the order of the numbers."""
    groups: list[list[int]] = []
    by_theme: dict[str, list[int]] = {}
    for number in sorted(numbers, key=lambda n: problem.items[n].first_ms):
        item = problem.items[number]
        group = by_theme.get(item.theme) if item.theme is not None else None
        if group and item.last_ms < problem.items[group[0]].first_ms + THEME_GAP_MS:
            group.append(number)
            continue
        groups.append([number])
        if item.theme is not None:
            by_theme[item.theme] = groups[-1]
    place = {number: at for at, number in enumerate(numbers)}
    groups.sort(key=lambda group: min(place[number] for number in group))
    return [_merged(problem, group) for group in groups]


def _merged(problem: Problem, group: list[int]) -> Merged:
    items = [problem.items[number] for number in group]
    choices = tuple(choice for item in items for choice in item.choices)
    owners = tuple(n for n in group for _ in problem.items[n].choices)
    return Merged(Item(choices, items[0].prefer_ms, items[0].theme), owners)
