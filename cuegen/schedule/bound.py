"""What the rest of a problem can still be worth: the bound that steers the search.

The budgets of the stretches are priced instead of kept (Lagrangian relaxation), and
the spacing of themes is left out; what remains, items on one time line, is solved
exactly by going through the items backwards. The value of a state falls in steps as
the instant grows at which the voice is free again, so that a state is a short list
of (latest instant, value).

Conventions
    Items are taken in a fixed order, but need not be placed in it: an item may be
    held back and placed after later ones, as long as its window lasts. A state is
    the number of the next item and the set of items held back. Values are worth
    times SCALE less price times milliseconds, all of them whole numbers.

Source: Fisher, "The Lagrangian Relaxation Method for Solving Integer Programming
Problems", Management Science 27 (1981), from memory; the step functions are ours.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field

from cuegen.schedule.problem import Choice, Item

SCALE = 1_000
"""Prices are thousandths of worth per millisecond."""

FOREVER = 1 << 60

MOST_STATES = 5_000
"""A crowd that needs more is solved with fewer items held back at once."""


class CrowdError(Exception):
    """A part in which more lines could change places than can be followed up."""


Held = frozenset[int]
_Step = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Steps:
    """A value that falls as time goes by: values[k] is had up to latest[k], both rising in time.

    latest is ascending and ends with FOREVER; values are descending.
    """

    latest: tuple[int, ...]
    values: tuple[int, ...]

    def at(self, free_ms: int) -> int:
        """Return the value where the voice is free from free_ms on."""
        return self.values[bisect_left(self.latest, free_ms)]


@dataclass(slots=True)
class Bound:
    """Bounds for the items of a problem, in order, at a price for each stretch.

    most_held: how many items may be held back at once. Raises CrowdError.
    """

    items: tuple[Item, ...]
    prices: dict[int, int]
    most_held: int
    horizons: tuple[int, ...] = ()
    sums: tuple[tuple[tuple[int, int, int, int], ...], ...] = ()
    _known: dict[tuple[int, Held], Steps] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.horizons = horizons(self.items)
        self.sums = tuple(
            tuple((self.reduced(c), c.first_ms, c.last_ms, c.room_ms) for c in item.choices)
            for item in self.items
        )
        for number in range(len(self.items), -1, -1):  # backwards, so that no recursion is deep
            self.rest(number, frozenset())

    def reduced(self, choice: Choice) -> int:
        """Return what a choice is worth once its talk is paid for."""
        return choice.worth * SCALE - self.prices[choice.stretch] * choice.length_ms

    def rest(self, number: int, held: Held) -> Steps:
        """Return the value of what may follow, as steps over the instant of being free."""
        key = (number, held)
        known = self._known.get(key)
        if known is None:
            if len(self._known) > MOST_STATES:
                raise CrowdError
            known = self._known[key] = self._made(number, held)
        return known

    def may_hold(self, number: int, held: Held) -> bool:
        """Return whether an item may be held back too: a later one could stand before it."""
        return self.horizons[number] > number and len(held) < self.most_held

    def may_pass(self, number: int, held: Held) -> bool:
        """Return whether an item may be passed over while those are held back.

        Not where one of them waits for nothing any more: placing it first is the
        same solution.
        """
        return all(self.horizons[other] > number for other in held)

    def _made(self, number: int, held: Held) -> Steps:
        found: list[_Step] = [(FOREVER, 0)]
        for other in held:
            found += self._placed(other, self.rest(number, held - {other}))
        if number < len(self.items):
            after = self.rest(number + 1, held)
            found += self._placed(number, after)
            if self.may_pass(number, held):
                found += zip(after.latest, after.values, strict=True)
                if self.may_hold(number, held):
                    waiting = self.rest(number + 1, held | {number})
                    found += zip(waiting.latest, waiting.values, strict=True)
        return _steps_of(found)

    def _placed(self, number: int, after: Steps) -> list[_Step]:
        """Return the steps where an item is placed now and `after` follows."""
        found: list[_Step] = []
        for gain, first, last, room in self.sums[number]:
            for latest, value in zip(after.latest, after.values, strict=True):
                by = latest - room
                by = min(by, last)
                if by >= first and gain + value > 0:
                    found.append((by, gain + value))
        return found


def horizons(items: tuple[Item, ...]) -> tuple[int, ...]:
    """Return, for each item, the last one after it that could be placed before it; or itself."""
    ends = [item.first_ms + item.least_room_ms for item in items]
    lasts = [item.last_ms for item in items]
    later = range(len(items) - 1, -1, -1)
    return tuple(
        next((j for j in later if j <= number or ends[j] <= last), number)
        for number, last in enumerate(lasts)
    )


def _steps_of(found: list[_Step]) -> Steps:
    """Return the upper envelope of steps."""
    kept: list[_Step] = []
    for latest, value in sorted(found, reverse=True):
        if not kept or value > kept[-1][1]:
            if kept and kept[-1][0] == latest:
                kept.pop()
            kept.append((latest, value))
    kept.reverse()
    return Steps(tuple(latest for latest, _ in kept), tuple(value for _, value in kept))
