"""Where placed lines stand: as near as can be to the onsets that suit them best.

What is placed, its words and its order are given; the onsets are free within the
spans of their choices. The sum of distances from the preferred onsets is made as
small as it can be, exactly; of several as good, the earliest.

This is a linear programme in which every rule limits the difference of two onsets:
its corners are whole milliseconds. A distance is weighted so that a millisecond of it
outweighs moving every line by one, which makes the earliest of the best the only
solution, whatever way a solver takes to it.

Source: such programmes are duals of flows of least cost (Ahuja, Magnanti and Orlin,
"Network Flows", 1993, from memory); solved by HiGHS, which comes with SciPy.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csr_array

from cuegen.schedule.problem import Item, Put
from cuegen.schedule.rules import THEME_GAP_MS

_Apart = tuple[int, int, int]
"""An earlier line, a later one, and how far apart their onsets are at the least."""

_Numbers = NDArray[np.int64]


def positioned(puts: tuple[Put, ...], items: tuple[Item, ...]) -> tuple[Put, ...]:
    """Return the same lines in the same order, moved to where they suit best.

    puts: in order of time, a placement that keeps every rule.
    """
    if not puts:
        return ()
    wished = np.array([items[put.item].prefer_ms for put in puts], np.int64)
    spans = np.array([(put.choice.first_ms, put.choice.last_ms) for put in puts], np.int64)
    onsets = wished + _moved(wished, spans, list(_apart(puts, items)))
    return tuple(Put(put.item, put.choice, int(at)) for put, at in zip(puts, onsets, strict=True))


def _apart(puts: tuple[Put, ...], items: tuple[Item, ...]) -> Iterator[_Apart]:
    """Yield the lines that follow each other, and those that do so on one theme."""
    before: dict[str, int] = {}
    for number, put in enumerate(puts):
        if number:
            yield number - 1, number, puts[number - 1].choice.room_ms
        theme = items[put.item].theme
        if theme is None:
            continue
        if theme in before:
            yield before[theme], number, THEME_GAP_MS
        before[theme] = number


def _moved(wished: _Numbers, spans: _Numbers, apart: list[_Apart]) -> _Numbers:
    """Return by how many ms each line is moved from its wish.

    Variables: by how much each line is later than its wish, then by how much earlier.
    """
    count = len(wished)
    low, high = spans[:, 0] - wished, spans[:, 1] - wished
    later = np.column_stack([np.maximum(low, 0), np.maximum(high, 0)])
    earlier = np.column_stack([np.maximum(-high, 0), np.maximum(-low, 0)])
    rows = np.repeat(np.arange(len(apart)), 4)
    columns = [at for one, other, _ in apart for at in (one, other, count + other, count + one)]
    signs = np.tile([1, -1, 1, -1], len(apart))
    found = linprog(
        np.repeat([2 * count + 1, 2 * count - 1], count),
        A_ub=csr_array((signs, (rows, columns)), shape=(len(apart), 2 * count)),
        b_ub=[wished[other] - wished[one] - least for one, other, least in apart],
        bounds=np.vstack([later, earlier]),
        method="highs",
    )
    assert found.x is not None, "what was placed has room"
    moved: _Numbers = np.rint(found.x[:count] - found.x[count:]).astype(np.int64)
    return moved
