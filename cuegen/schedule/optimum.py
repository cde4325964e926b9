"""The greatest total worth: an exact search for what is placed, in which words and order.

A label is a partial placement. Labels are taken up best bound first (A*), so that
the first complete one is an optimum. In a given order every line is best placed as
early as it may be, since that leaves most room and never hurts a budget or the
spacing of a theme; where lines are moved to from there is cuegen.schedule.positions.
A label that another one beats in every respect is dropped.

Conventions: those of cuegen.schedule.problem. Parts of a problem that share neither
room, nor a theme, nor a tight budget are solved one by one.

Sources
    A* and its optimality: Hart, Nilsson and Raphael, "A Formal Basis for the Heuristic
    Determination of Minimum Cost Paths", IEEE Trans. SSC 4 (1968), from memory.
    That the result is the optimum is tested against an exact solver.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterator
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import accumulate, count
from typing import NamedTuple

from cuegen.schedule.bound import FOREVER, SCALE, Bound, CrowdError, Held
from cuegen.schedule.parts import Merged, merged, parts_of
from cuegen.schedule.prices import prices_of
from cuegen.schedule.problem import Choice, Problem, Put
from cuegen.schedule.rules import THEME_GAP_MS

MOST_LABELS = 20_000
"""A part that needs more labels is finished from the best one found; it is then not proven."""

FEWER_HELD = (2, 1, 0)


@dataclass(frozen=True, slots=True)
class Optimum:
    """What is placed, in order of time. proven: no placement is worth more."""

    puts: tuple[Put, ...]
    worth: int
    proven: bool


def optimum(problem: Problem) -> Optimum:
    """Return a placement of the greatest total worth; the same for the same problem."""
    puts: list[Put] = []
    proven = True
    for part in parts_of(problem):
        label, sure = _solved(problem, part)
        proven = proven and sure
        puts += _trail(label)
    puts.sort(key=lambda put: put.at_ms)
    return Optimum(tuple(puts), sum(put.choice.worth for put in puts), proven)


def _solved(problem: Problem, part: tuple[int, ...]) -> tuple[_Label, bool]:
    """Return the best label of a part; in a great crowd, with fewer changes of order."""
    for most_held in (len(part), *FEWER_HELD):
        try:
            label, sure = _Search(problem, part, most_held).run()
        except CrowdError:
            continue
        return label, sure and most_held == len(part)
    raise AssertionError("with nothing held back there are no more states than items")


_Themes = tuple[tuple[str, int], ...]


class _Label(NamedTuple):
    """number: the next item; held: items to be placed later; free_ms: the next onset possible.

    stretch, spent_ms: where the last line was placed, and the talk there so far.
    themes: last onset of each theme that may still be in the way. way, at_ms: what was
    placed last, if anything was, and its onset.
    """

    number: int
    held: Held
    free_ms: int
    stretch: int
    spent_ms: int
    worth: int
    themes: _Themes
    way: _Way | None
    at_ms: int
    before: _Label | None
    swaps: int = 0


class _Way(NamedTuple):
    """A choice with what the search asks of it, looked up once."""

    first_ms: int
    last_ms: int
    room_ms: int
    length_ms: int
    worth: int
    stretch: int
    choice: Choice
    owner: int


_Queue = list[tuple[int, int, int, int, _Label]]

_Rival = tuple[int, int, int, int, _Themes]
"""What a label is compared by: worth, free_ms, stretch, spent_ms and themes."""


@dataclass(slots=True)
class _Search:
    """One part of a problem. numbers: its items, as indices of the problem, in order."""

    problem: Problem
    numbers: tuple[int, ...]
    most_held: int
    ways: tuple[tuple[_Way, ...], ...] = ()
    bound: Bound = field(init=False)
    later: dict[int, int] = field(init=False)
    done: dict[tuple[int, Held], list[_Rival]] = field(default_factory=dict)
    own_firsts: tuple[int, ...] = ()
    firsts: tuple[int, ...] = ()
    shared: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        one_of = merged(self.problem, self.numbers)
        items = tuple(each.item for each in one_of)
        self.ways = tuple(tuple(_ways(each)) for each in one_of)
        self.bound = Bound(items, prices_of(items, self.problem.budgets), self.most_held)
        self.later = self._later_allowance()
        self.own_firsts = tuple(item.first_ms for item in items)
        firsts = accumulate(reversed((*self.own_firsts, FOREVER)), min)
        self.firsts = tuple(reversed(tuple(firsts)))
        named = [item.theme for item in items if item.theme is not None]
        self.shared = frozenset(theme for theme in named if named.count(theme) > 1)

    def run(self) -> tuple[_Label, bool]:
        """Return the best complete label, and whether it is proven to be."""
        ticket = count()
        start = _Label(0, frozenset(), 0, -1, 0, 0, (), None, 0, None)
        queue: _Queue = [(-self._most(start), 0, 0, next(ticket), start)]
        taken = 0
        while queue:
            label = heappop(queue)[-1]
            if self._is_complete(label):
                return label, True
            if self._is_beaten(label):
                continue
            taken += 1
            if taken > MOST_LABELS:
                return self._finished(queue), False
            for child in self._children(label):
                order = (-self._most(child), child.swaps, -child.number, next(ticket), child)
                heappush(queue, order)
        raise AssertionError("passing over every item is always possible")

    def _is_complete(self, label: _Label) -> bool:
        return label.number == len(self.ways) and not label.held

    def _finished(self, queue: _Queue) -> _Label:
        """Return a complete label: from the best one, by the best bound at each step.

        One that ends with a line held back for too long is given up for the next.
        """
        while True:
            label = heappop(queue)[-1]
            while not self._is_complete(label):
                child = max(self._children(label), key=self._most, default=None)
                if child is None:
                    break
                label = child
            else:
                return label

    def _most(self, label: _Label) -> int:
        """Return the most that a label can come to, in thousandths of worth.

        Its worth, the most that the rest can gain, and the price of all talk still allowed.
        """
        if self._is_complete(label):
            return label.worth * SCALE
        rest = self.bound.rest(label.number, label.held).at(label.free_ms)
        allowed = self.later[label.stretch]
        if label.stretch >= 0:
            left = self.problem.budgets[label.stretch] - label.spent_ms
            allowed += self.bound.prices[label.stretch] * left
        return label.worth * SCALE + rest + allowed

    def _later_allowance(self) -> dict[int, int]:
        """Return, for each stretch and for the start, the price of the talk after it."""
        found: dict[int, int] = {}
        total = 0
        for stretch in sorted(self.bound.prices, reverse=True):
            found[stretch] = total
            total += self.bound.prices[stretch] * self.problem.budgets[stretch]
        return found | {-1: total}

    def _children(self, label: _Label) -> Iterator[_Label]:
        """Yield a label with one decision more."""
        for other in sorted(label.held):
            yield from self._placed(label, other, label.number, label.held - {other})
        number, held = label.number, label.held
        if number == len(self.ways):
            return
        yield from self._placed(label, number, number + 1, held)
        if self.bound.may_pass(number, held):
            yield self._moved(label, number + 1, held)
            if self.bound.may_hold(number, held):
                yield self._moved(label, number + 1, held | {number})

    def _moved(self, label: _Label, number: int, held: Held) -> _Label:
        free_ms = max(label.free_ms, self._first(number, held))
        return label._replace(number=number, held=held, free_ms=free_ms, way=None, before=label)

    def _placed(self, label: _Label, number: int, after: int, held: Held) -> Iterator[_Label]:
        """Yield a label for each choice of an item that still has room."""
        theme = self.bound.items[number].theme
        ready_ms = label.free_ms
        for other, at_ms in label.themes:
            if other == theme:
                ready_ms = max(ready_ms, at_ms + THEME_GAP_MS)
        budgets, first_ms = self.problem.budgets, self._first(after, held)
        swaps = label.swaps + (after == number + 1 and bool(held))
        for way in self.ways[number]:
            at_ms = way.first_ms if way.first_ms > ready_ms else ready_ms
            if at_ms > way.last_ms or way.stretch < label.stretch:
                continue
            spent_ms = way.length_ms
            if way.stretch == label.stretch:
                spent_ms += label.spent_ms
            if spent_ms > budgets[way.stretch]:
                continue
            free_ms = at_ms + way.room_ms
            yield _Label(
                after,
                held,
                free_ms if free_ms > first_ms else first_ms,
                way.stretch,
                spent_ms,
                label.worth + way.worth,
                self._themes(label, theme, at_ms),
                way,
                at_ms,
                label,
                swaps,
            )

    def _first(self, number: int, held: Held) -> int:
        """Return the first onset that any item yet to be decided could have."""
        first = self.firsts[number]
        for other in held:
            first = min(first, self.own_firsts[other])
        return first

    def _themes(self, label: _Label, theme: str | None, at_ms: int) -> _Themes:
        """Return the onsets still in the way after a line on a theme, or on none, at an instant."""
        over_ms = at_ms - THEME_GAP_MS
        if theme is None or theme not in self.shared:
            return tuple([one for one in label.themes if one[1] > over_ms])
        kept = [one for one in label.themes if one[0] != theme and one[1] > over_ms]
        return tuple(sorted([*kept, (theme, at_ms)]))

    def _is_beaten(self, label: _Label) -> bool:
        """Return whether a label of the same state is as good in every respect; note it if not."""
        rivals = self.done.setdefault((label.number, label.held), [])
        own_worth, own_free_ms, own_stretch = label.worth, label.free_ms, label.stretch
        # By far the most frequent step, hence plain. Those of the greatest worth come first.
        for worth, free_ms, stretch, spent_ms, themes in rivals:
            if worth < own_worth:
                break
            if free_ms > own_free_ms or stretch > own_stretch:
                continue
            if stretch == own_stretch and spent_ms > label.spent_ms:
                continue
            if not themes or _is_freer(themes, label.themes):
                return True
        own = (own_worth, own_free_ms, own_stretch, label.spent_ms, label.themes)
        insort(rivals, own, key=_less_worth)
        return False


def _less_worth(rival: _Rival) -> int:
    return -rival[0]


def _is_freer(rival: _Themes, themes: _Themes) -> bool:
    """Return whether no theme is in the way for longer than it is here."""
    last = dict(themes)
    return all(at_ms <= last.get(theme, -1) for theme, at_ms in rival)


def _ways(one_of: Merged) -> Iterator[_Way]:
    for choice, owner in zip(one_of.item.choices, one_of.owners, strict=True):
        yield _Way(
            choice.first_ms,
            choice.last_ms,
            choice.room_ms,
            choice.length_ms,
            choice.worth,
            choice.stretch,
            choice,
            owner,
        )


def _trail(label: _Label | None) -> Iterator[Put]:
    while label is not None:
        if label.way is not None:
            yield Put(label.way.owner, label.way.choice, label.at_ms)
        label = label.before
