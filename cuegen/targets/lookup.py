"""What a rower brings to a rate: what they held there, or what their other results point to.

Conventions
    Splits are whole milliseconds per 500 m, rates strokes per minute. Results are those
    up to the session's day; whoever gives them leaves out what came after.

How a number is found
    1. what they last held at that rate
    2. but not if it lies far off their other results, as a piece cut short or a slip
       of the pen does: then what the curve through the others says
       (cuegen.targets.curve)
    3. never rowed at that rate: what the curve says, as long as it knows
    4. else no number: effort leads
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from cuegen.clock import split_text
from cuegen.targets.outline import Basis
from cuegen.targets.power import watts_from_split
from cuegen.targets.rowed import Result, Results

if TYPE_CHECKING:
    from cuegen.targets.curve import Prediction, RateCurve

WIDEST_MS = 10_000
"""A curve whose 80 % interval is wider than this knows too little to name a split (our own
judgement: 5 s either way is more than a step of two strokes)."""

REACH = 6
"""A rate is predicted only so near (strokes per minute) to one that was rowed (our own
judgement: three steps of two strokes)."""

OTHERS = 4
"""So many other results are needed to call one of them out."""

OUT_LEVEL, OUT_MS = 0.98, 3_000
"""A result is far off where it lies outside this interval of one new result, and by at least
this much from its middle (our own judgement)."""

POINTED_MS = 500
"""A split that nobody has held yet is named to the half second: the curve knows no better."""

_WEEKS = (
    "this week",
    "a week",
    "two weeks",
    "three weeks",
    "four weeks",
    "five weeks",
    "six weeks",
)


@dataclass(frozen=True, slots=True)
class Brought:
    """A split with whence it is, in one line; split_ms None where nothing is known."""

    split_ms: int | None
    basis: Basis
    reason: str


def brought(
    results: Results, rower: str, rate: int, own_rate: float | None, day: date | None = None
) -> Brought:
    """Return what a rower with results brings to a rate; own_rate: at which it is rowed now.

    day: that of the session, by default that of their newest result.
    """
    mine = results.of(rower)
    today = max(day or mine[-1].date, mine[-1].date)
    held = results.last_held(rower, rate)
    if held is None:
        return _never_held(mine, rate, today)
    others = _curve_of(_without(mine, held), rower, today)
    said = f"{held.rower} held {split_text(held.split_ms)} at rate {rate} {_when(held, day)}"
    if len(mine) > OTHERS and others is not None and _is_out(held, others):
        pointed = others.predict(rate)
        return _pointed(pointed, f"{said}, far off all other results, which point to")
    return Brought(held.split_ms, Basis.LAST, said + _per_stroke(rate, own_rate))


def expected(
    results: Results, rower: str, rate: float, day: date | None = None
) -> Prediction | None:
    """Return what all of a rower's results point to at a rate; None where there are none."""
    if not results.knows(rower):
        return None
    mine = results.of(rower)
    curve = _curve_of(results, rower, max(day or mine[-1].date, mine[-1].date))
    return None if curve is None else curve.predict(rate)


def _curve_of(results: Results, rower: str, today: date) -> RateCurve | None:
    """Return what a rower's results say of all rates; None where they say too little."""
    # Its mathematics take a third of a second to load: only where there are results.
    from cuegen.targets.curve import fit_curve, points_of

    return fit_curve(points_of(results, rower, today))


def _never_held(mine: Sequence[Result], rate: int, today: date) -> Brought:
    curve = _curve_of(Results(tuple(mine)), mine[0].rower, today)
    none_yet = f"no result at rate {rate} yet"
    if curve is None:
        return Brought(None, Basis.EFFORT, none_yet)
    near = min(abs(row.rate - rate) for row in mine)
    if near > REACH:
        return Brought(None, Basis.EFFORT, f"{none_yet}, nor near it")
    pointed = curve.predict(rate)
    if pointed.slow_ms - pointed.fast_ms > WIDEST_MS:
        known = f"{none_yet}, and too few others to tell ({_interval(pointed)})"
        return Brought(None, Basis.EFFORT, known)
    return _pointed(pointed, f"{none_yet}; the others point to")


def _pointed(pointed: Prediction, before: str) -> Brought:
    split_ms = (pointed.split_ms + POINTED_MS // 2) // POINTED_MS * POINTED_MS
    text = f"{before} {split_text(split_ms)} there ({_interval(pointed)})"
    return Brought(split_ms, Basis.CURVE, text)


def _interval(pointed: Prediction) -> str:
    return f"8 in 10: {split_text(pointed.fast_ms)} to {split_text(pointed.slow_ms)}"


def _is_out(held: Result, others: RateCurve) -> bool:
    """Say whether a result lies far off what the others point to."""
    wide = others.predict(held.rate, OUT_LEVEL)
    outside = not wide.fast_ms <= held.split_ms <= wide.slow_ms
    return outside and abs(held.split_ms - wide.split_ms) >= OUT_MS


def _without(mine: Sequence[Result], held: Result) -> Results:
    left = list(mine)
    left.remove(held)
    # one spelling, so that the rower is found whichever row is left out
    return Results(tuple(replace(row, rower=held.rower) for row in left))


def _when(held: Result, day: date | None) -> str:
    if day is None:
        return f"on {held.date}"
    weeks = round((day - held.date).days / 7)
    if weeks < len(_WEEKS):
        return f"{_WEEKS[weeks]}{' ago' if weeks else ''} ({held.date})"
    return f"{weeks} weeks ago ({held.date})"


def _per_stroke(rate: int, own_rate: float | None) -> str:
    """Return what the same split at another rate asks of each stroke."""
    if own_rate is None or own_rate == rate:
        return ""
    more = round(100 * (rate / own_rate - 1))  # the same power in fewer strokes (derived)
    return (
        f"; at rate {own_rate:g} that is {abs(more)} % {'more' if more > 0 else 'less'} per stroke"
    )


def more_per_stroke(split_ms: int, than_ms: int) -> float:
    """Return by which share a split asks more of each stroke than another at the same rate."""
    return watts_from_split(split_ms) / watts_from_split(than_ms) - 1
