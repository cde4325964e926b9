"""Where placed lines stand: as near as can be to the onsets that suit them best.

What is placed, its words and its order are given; the onsets are free within the
spans of their choices. The sum of distances from the preferred onsets is made as
small as it can be, exactly, by dynamic programming over the onsets at which it
changes slope; of several as good, the earliest.

Source: isotonic regression in the L1 norm takes its values among the data (Barlow
et al., "Statistical Inference under Order Restrictions", 1972, from memory); bounds
add their own values.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import accumulate

from cuegen.schedule.problem import Item, Put
from cuegen.schedule.rules import THEME_GAP_MS


def positioned(puts: tuple[Put, ...], items: tuple[Item, ...]) -> tuple[Put, ...]:
    """Return the same lines in the same order, moved to where they suit best.

    puts: in order of time, a placement that keeps every rule, each line as early as it can be.
    """
    spans = _clear_of_themes(puts, items)
    first, last = _tightened(puts, spans)
    onsets: list[int] = []
    start = 0
    for number in range(1, len(puts) + 1):
        ends = number == len(puts) or last[number - 1] + _room(puts[number - 1]) <= first[number]
        if ends:
            run = slice(start, number)
            onsets += _nearest(puts[run], first[run], last[run], items)
            start = number
    return tuple(Put(put.item, put.choice, at_ms) for put, at_ms in zip(puts, onsets, strict=True))


def _room(put: Put) -> int:
    return put.choice.room_ms


def _tightened(puts: tuple[Put, ...], spans: list[tuple[int, int]]) -> tuple[list[int], list[int]]:
    """Return the first and last onset of each line that leave room for the others."""
    first = [span[0] for span in spans]
    last = [span[1] for span in spans]
    for number in range(1, len(puts)):
        first[number] = max(first[number], first[number - 1] + _room(puts[number - 1]))
    for number in range(len(puts) - 2, -1, -1):
        last[number] = min(last[number], last[number + 1] - _room(puts[number]))
    return first, last


def _clear_of_themes(puts: tuple[Put, ...], items: tuple[Item, ...]) -> list[tuple[int, int]]:
    """Return spans of onsets that keep lines on one theme apart, whatever is chosen in them.

    The room between two such lines is parted at the onset that suits the earlier
    one, or as near to that as the later one's last possible onset allows.
    """
    spans = [(put.choice.first_ms, put.choice.last_ms) for put in puts]
    before: dict[str, int] = {}
    for number, put in enumerate(puts):
        item = items[put.item]
        if item.theme is None:
            continue
        earlier = before.get(item.theme)
        before[item.theme] = number
        if earlier is None:
            continue
        first, last = _tightened(puts, spans)
        latest = min(last[earlier], last[number] - THEME_GAP_MS)
        parting = min(max(items[puts[earlier].item].prefer_ms, first[earlier]), latest)
        spans[earlier] = (spans[earlier][0], min(spans[earlier][1], parting))
        spans[number] = (max(spans[number][0], parting + THEME_GAP_MS), spans[number][1])
    return spans


def _nearest(
    puts: tuple[Put, ...], first: list[int], last: list[int], items: tuple[Item, ...]
) -> list[int]:
    """Return the onsets of one run of lines that could touch one another."""
    offsets = list(accumulate((_room(put) for put in puts[:-1]), initial=0))
    wished = [items[put.item].prefer_ms - offset for put, offset in zip(puts, offsets, strict=True)]
    lows = [at - offset for at, offset in zip(first, offsets, strict=True)]
    highs = [at - offset for at, offset in zip(last, offsets, strict=True)]
    grid = sorted({*wished, *lows, *highs})
    best = [0] * len(grid)  # least sum so far with the last line at or before each grid value
    came: list[list[int]] = []
    for wish, low, high in zip(wished, lows, highs, strict=True):
        best, chosen = _row(grid, best, wish, low, high)
        came.append(chosen)
    at = len(grid) - 1
    shifted: list[int] = []
    for chosen in reversed(came):
        at = chosen[at]
        shifted.append(grid[at])
    return [value + offset for value, offset in zip(reversed(shifted), offsets, strict=True)]


def _row(
    grid: list[int], before: list[int], wish: int, low: int, high: int
) -> tuple[list[int], list[int]]:
    """Return the least sums with one more line, and where that line then stands."""
    never = 1 << 60
    sums, chosen = [never] * len(grid), [0] * len(grid)
    from_, to = bisect_left(grid, low), bisect_right(grid, high)
    least, where = never, from_
    for number in range(from_, len(grid)):
        if number < to:
            total = before[number] + abs(grid[number] - wish)
            if total < least:
                least, where = total, number
        sums[number], chosen[number] = least, where
    return sums, chosen
