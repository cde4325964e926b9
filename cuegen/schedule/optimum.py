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

from collections.abc import Iterator
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import count

from cuegen.schedule.bound import SCALE, Bound, CrowdError, Held
from cuegen.schedule.parts import merged, parts_of
from cuegen.schedule.prices import prices_of
from cuegen.schedule.problem import Problem, Put
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


@dataclass(frozen=True, slots=True)
class _Label:
    """number: the next item; held: items to be placed later; free_ms: the next onset possible.

    stretch, spent_ms: where the last line was placed, and the talk there so far.
    themes: last onset of each theme that may still be in the way.
    """

    number: int
    held: Held
    free_ms: int
    stretch: int
    spent_ms: int
    worth: int
    themes: tuple[tuple[str, int], ...]
    put: Put | None
    before: _Label | None
    swaps: int = 0


_Queue = list[tuple[int, int, int, int, _Label]]


@dataclass(slots=True)
class _Search:
    """One part of a problem. numbers: its items, as indices of the problem, in order."""

    problem: Problem
    numbers: tuple[int, ...]
    most_held: int
    owners: tuple[tuple[int, ...], ...] = ()
    bound: Bound = field(init=False)
    later: dict[int, int] = field(init=False)
    done: dict[tuple[int, Held], list[_Label]] = field(default_factory=dict)
    firsts: list[int] = field(default_factory=list)
    shared: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        one_of = merged(self.problem, self.numbers)
        self.owners = tuple(each.owners for each in one_of)
        items = tuple(each.item for each in one_of)
        self.bound = Bound(items, prices_of(items, self.problem.budgets), self.most_held)
        self.later = self._later_allowance()
        self.firsts = [item.first_ms for item in items]
        for number in range(len(items) - 2, -1, -1):
            self.firsts[number] = min(self.firsts[number], self.firsts[number + 1])
        named = [item.theme for item in items if item.theme is not None]
        self.shared = frozenset(theme for theme in named if named.count(theme) > 1)

    def run(self) -> tuple[_Label, bool]:
        """Return the best complete label, and whether it is proven to be."""
        ticket = count()
        start = _Label(0, frozenset(), 0, -1, 0, 0, (), None, None)
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
        return label.number == len(self.owners) and not label.held

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
        """Return the most that a label can come to, in thousandths of worth."""
        if self._is_complete(label):
            return label.worth * SCALE
        rest = self.bound.rest(label.number, label.held).at(label.free_ms)
        return label.worth * SCALE + rest + self._allowance(label)

    def _allowance(self, label: _Label) -> int:
        """Return the price of all talk that is still allowed."""
        if label.stretch < 0:
            return self.later[-1]
        left = self.problem.budgets[label.stretch] - label.spent_ms
        return self.bound.prices[label.stretch] * left + self.later[label.stretch]

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
        if number == len(self.owners):
            return
        yield from self._placed(label, number, number + 1, held)
        if self.bound.may_pass(number, held):
            yield self._moved(label, number + 1, held)
            if self.bound.may_hold(number, held):
                yield self._moved(label, number + 1, held | {number})

    def _moved(self, label: _Label, number: int, held: Held) -> _Label:
        return _Label(
            number,
            held,
            max(label.free_ms, self._first(number, held)),
            label.stretch,
            label.spent_ms,
            label.worth,
            label.themes,
            None,
            label,
            label.swaps,
        )

    def _placed(self, label: _Label, number: int, after: int, held: Held) -> Iterator[_Label]:
        """Yield a label for each choice of an item that still has room."""
        item = self.bound.items[number]
        ready_ms = label.free_ms
        for theme, at_ms in label.themes:
            if theme == item.theme:
                ready_ms = max(ready_ms, at_ms + THEME_GAP_MS)
        for choice, owner in zip(item.choices, self.owners[number], strict=True):
            at_ms = max(ready_ms, choice.first_ms)
            spent_ms = choice.length_ms
            if choice.stretch == label.stretch:
                spent_ms += label.spent_ms
            if at_ms > choice.last_ms or choice.stretch < label.stretch:
                continue
            if spent_ms > self.problem.budgets[choice.stretch]:
                continue
            yield _Label(
                after,
                held,
                max(at_ms + choice.room_ms, self._first(after, held)),
                choice.stretch,
                spent_ms,
                label.worth + choice.worth,
                self._themes(label, item.theme, at_ms),
                Put(owner, choice, at_ms),
                label,
                label.swaps + (after == number + 1 and bool(held)),
            )

    def _first(self, number: int, held: Held) -> int:
        """Return the first onset that any item yet to be decided could have."""
        firsts = [self.bound.items[other].first_ms for other in held]
        if number < len(self.firsts):
            firsts.append(self.firsts[number])
        return min(firsts, default=0)

    def _themes(self, label: _Label, theme: str | None, at_ms: int) -> tuple[tuple[str, int], ...]:
        kept = [(t, at) for t, at in label.themes if t != theme and at + THEME_GAP_MS > at_ms]
        if theme in self.shared and theme is not None:
            kept.append((theme, at_ms))
        return tuple(sorted(kept))

    def _is_beaten(self, label: _Label) -> bool:
        """Return whether a label of the same state is as good in every respect; note it if not."""
        rivals = self.done.setdefault((label.number, label.held), [])
        if any(_as_good(rival, label) for rival in rivals):
            return True
        rivals.append(label)
        return False


def _as_good(rival: _Label, label: _Label) -> bool:
    if rival.worth < label.worth or rival.free_ms > label.free_ms:
        return False
    if rival.stretch > label.stretch:
        return False
    if rival.stretch == label.stretch and rival.spent_ms > label.spent_ms:
        return False
    last = dict(label.themes)
    return all(at_ms <= last.get(theme, -1) for theme, at_ms in rival.themes)


def _trail(label: _Label | None) -> Iterator[Put]:
    while label is not None:
        if label.put is not None:
            yield label.put
        label = label.before
