"""Pace, power, work per stroke: the arithmetic of a rowing ergometer.

Conventions
    A split is whole milliseconds per 500 m, a rate strokes per minute (a float,
    since a band is reckoned by its middle), power watts, work joules, distance
    metres, time whole milliseconds. Where a function returns milliseconds it
    rounds once, half up.

Sources
    P = 2.80 / (split / 500)^3 is the relation of air-braked rowing ergometers
    (common practice, no source); a boat on the water follows no such table.
    Constant work per stroke is derived: power grows as the rate, hence the split
    falls as rate^(-1/3). Five seconds per doubling of the distance is common
    practice, no source.

Contents
    watts_from_split, split_from_watts          pace and power
    work_per_stroke, metres_per_stroke          one stroke
    split_at_rate, split_at_distance            the same rower at another rate, distance
    metres_in, time_for, strokes_in             what a length comes to
"""

from __future__ import annotations

import math

DRAG = 2.80
"""Watts per (m/s)^3."""

SPLIT_METRES = 500
DOUBLING_MS = 5_000
"""Split lost per doubling of the distance (common practice, no source)."""

RULE_OF_THUMB_MS = (2_000, 5_000)
"""What a step of RULE_OF_THUMB_SPM is worth in split (common practice, no source)."""

RULE_OF_THUMB_SPM = 2


def whole(value: float) -> int:
    """Return the nearest whole number, half up."""
    return math.floor(value + 0.5)


def watts_from_split(split_ms: int) -> float:
    """Return the power (W) that a split (ms per 500 m) asks. ValueError unless it is positive."""
    _positive("split", split_ms)
    return DRAG / (split_ms / 1000 / SPLIT_METRES) ** 3


def split_from_watts(watts: float) -> int:
    """Return the split (ms per 500 m) of a power (W). ValueError unless it is positive."""
    _positive("power", watts)
    return whole(1000 * SPLIT_METRES * math.cbrt(DRAG / watts))


def work_per_stroke(split_ms: int, rate: float) -> float:
    """Return joules per stroke at a split (ms per 500 m) and rate (strokes per minute)."""
    _positive("rate", rate)
    return 60 * watts_from_split(split_ms) / rate


def metres_per_stroke(split_ms: int, rate: float) -> float:
    """Return metres per stroke at a split (ms per 500 m) and rate (strokes per minute)."""
    _positive("split", split_ms)
    _positive("rate", rate)
    return 60_000 * SPLIT_METRES / (split_ms * rate)


def split_at_rate(split_ms: int, rate: float, new_rate: float) -> int:
    """Return the split (ms per 500 m) at `new_rate` with the work per stroke of `rate`."""
    _positive("split", split_ms)
    _positive("rate", rate)
    _positive("rate", new_rate)
    return whole(split_ms * math.cbrt(rate / new_rate))


def split_at_distance(split_ms: int, metres: float, new_metres: float) -> int:
    """Return the split (ms per 500 m) over `new_metres` of who held `split_ms` over `metres`.

    Five seconds per doubling; a rule of thumb that says nothing of sprints or
    of distances far from the one it starts at.
    """
    _positive("distance", metres)
    _positive("distance", new_metres)
    return whole(split_ms + DOUBLING_MS * math.log2(new_metres / metres))


def metres_in(length_ms: int, split_ms: int) -> float:
    """Return the metres rowed in a time (ms) at a split (ms per 500 m)."""
    _positive("split", split_ms)
    return length_ms * SPLIT_METRES / split_ms


def time_for(metres: float, split_ms: int) -> int:
    """Return the time (ms) that a distance (m) takes at a split (ms per 500 m)."""
    _positive("split", split_ms)
    return whole(metres * split_ms / SPLIT_METRES)


def strokes_in(length_ms: int, rate: float) -> float:
    """Return the strokes in a time (ms) at a rate (strokes per minute), not rounded."""
    return length_ms * rate / 60_000


def _positive(what: str, value: float) -> None:
    if not value > 0:
        raise ValueError(f"a {what} is more than 0, not {value}")
