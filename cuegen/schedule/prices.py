"""Prices of talk: what a millisecond costs in a stretch whose budget is short.

Any price gives a true bound (cuegen.schedule.bound); a good one gives a near bound.
Prices are found on the items alone, as if they never stood in each other's way:
the price at which what is bought just fits the budget, which is where that dual
function, convex and piecewise linear, is least.
"""

from __future__ import annotations

from collections.abc import Iterable

from cuegen.schedule.bound import SCALE
from cuegen.schedule.problem import Choice, Item


def prices_of(items: tuple[Item, ...], budgets: tuple[int, ...]) -> dict[int, int]:
    """Return the price of each stretch that the items may speak in, thousandths of worth a ms."""
    stretches = {choice.stretch for item in items for choice in item.choices}
    return {stretch: _price(items, stretch, budgets[stretch]) for stretch in sorted(stretches)}


def _price(items: tuple[Item, ...], stretch: int, budget_ms: int) -> int:
    """Return the least price at which no more is bought than the budget allows."""
    wares = [[c for c in item.choices if c.stretch == stretch] for item in items]
    low, high = 0, 1 + max(_dearest(ware) for ware in wares)
    while low < high:
        price = (low + high) // 2
        if sum(_bought_ms(ware, price) for ware in wares) > budget_ms:
            low = price + 1
        else:
            high = price
    return low


def _dearest(ware: list[Choice]) -> int:
    """Return a price at which nothing of it is bought."""
    return max((choice.worth * SCALE // choice.length_ms for choice in ware), default=0)


def _bought_ms(ware: Iterable[Choice], price: int) -> int:
    """Return the length of the choice that gains most at a price, the shortest of equals."""
    gains = ((c.worth * SCALE - price * c.length_ms, -c.length_ms) for c in ware)
    gain, length = max(gains, default=(0, 0))
    return -length if gain > 0 else 0
