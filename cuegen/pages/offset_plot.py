"""Planned against heard, drawn: how many milliseconds each line came early or late.

Conventions
    Units are those of the SVG's view box, which is as wide as a phone so that its
    words can be read there. Time runs to the right; late is up. Heights follow
    the square root of the offset, so that 10 ms and 50 ms are both seen; offsets
    beyond `reach_ms` stand at the edge and are named in the table.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cuegen.clock import MS_PER_MIN, clock_text

WIDTH, HEIGHT = 340, 190
LEFT, RIGHT, TOP, BOTTOM = 40, 334, 10, 166
MIDDLE = (TOP + BOTTOM) // 2
REACH_FACTOR = 2
STEPS_MIN = (1, 2, 5, 10, 15, 30, 60, 120, 300)
"""Minutes between two marks of time; the last serves a track of a day, the longest there is."""


@dataclass(frozen=True, slots=True)
class Heard:
    """Where one line was heard. offset_ms: heard minus planned."""

    at_ms: int
    offset_ms: float
    firm: bool
    out: bool


@dataclass(frozen=True, slots=True)
class Dot:
    """A mark: a square for a firm cue, a circle for a floating one."""

    x: float
    y: float
    firm: bool
    out: bool
    beyond: bool


@dataclass(frozen=True, slots=True)
class Tick:
    """A line of the grid with its words."""

    place: float
    words: str


@dataclass(frozen=True, slots=True)
class OffsetPlot:
    dots: tuple[Dot, ...]
    limits: tuple[Tick, ...]
    minutes: tuple[Tick, ...]
    reach_ms: float

    @property
    def has_beyond(self) -> bool:
        return any(dot.beyond for dot in self.dots)


def offset_plot(
    heard: Sequence[Heard], duration_ms: int, tolerances_ms: Sequence[float]
) -> OffsetPlot:
    """Return the drawing of all offsets, with a pair of lines for each tolerance."""
    reach_ms = REACH_FACTOR * max(tolerances_ms)
    return OffsetPlot(
        dots=tuple(_dot(one, duration_ms, reach_ms) for one in heard),
        limits=tuple(_limits(tolerances_ms, reach_ms)),
        minutes=tuple(_minutes(duration_ms)),
        reach_ms=reach_ms,
    )


def _dot(one: Heard, duration_ms: int, reach_ms: float) -> Dot:
    return Dot(
        x=_x(one.at_ms, duration_ms),
        y=_y(one.offset_ms, reach_ms),
        firm=one.firm,
        out=one.out,
        beyond=abs(one.offset_ms) > reach_ms,
    )


def _x(at_ms: int, duration_ms: int) -> float:
    return round(LEFT + (RIGHT - LEFT) * at_ms / duration_ms, 1)


def _y(offset_ms: float, reach_ms: float) -> float:
    share = math.sqrt(min(abs(offset_ms) / reach_ms, 1.0))
    return round(MIDDLE - math.copysign(share * (MIDDLE - TOP), offset_ms), 1)


def _limits(tolerances_ms: Sequence[float], reach_ms: float) -> list[Tick]:
    ticks = [Tick(float(MIDDLE), "0")]
    for tolerance in sorted(set(tolerances_ms)):
        ticks.append(Tick(_y(tolerance, reach_ms), f"+{tolerance:g}"))
        ticks.append(Tick(_y(-tolerance, reach_ms), f"\u2212{tolerance:g}"))
    return ticks


def _minutes(duration_ms: int) -> list[Tick]:
    """Return at most six marks on whole minutes, the first at 0."""
    fitting = (step for step in STEPS_MIN if duration_ms <= 5 * step * MS_PER_MIN)
    step_min = next(fitting, STEPS_MIN[-1])
    marks = range(0, duration_ms + 1, step_min * MS_PER_MIN)
    return [Tick(_x(mark, duration_ms), clock_text(mark)) for mark in marks]
