"""Planned against heard, drawn: how many milliseconds each line came early or late.

Conventions
    Frame and time as in cuegen.pages.plot_frame; late is up. Heights follow the
    square root of the offset, so that 10 ms and 50 ms are both seen; offsets
    beyond `reach_ms` stand at the edge and are named in the table. Lines that were
    not found have no offset: they stand on the line of zero with a mark of their own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cuegen.pages.plot_frame import MIDDLE, TOP, Dot, Tick, across, minutes

REACH_FACTOR = 2


@dataclass(frozen=True, slots=True)
class Heard:
    """Where one line was heard. offset_ms: heard minus planned."""

    at_ms: int
    offset_ms: float
    firm: bool
    out: bool


@dataclass(frozen=True, slots=True)
class OffsetPlot:
    """missing: where along the track the lines were planned that were not found."""

    dots: tuple[Dot, ...]
    missing: tuple[float, ...]
    limits: tuple[Tick, ...]
    minutes: tuple[Tick, ...]
    reach_ms: float

    @property
    def has_beyond(self) -> bool:
        return any(dot.beyond for dot in self.dots)


def offset_plot(
    heard: Sequence[Heard],
    duration_ms: int,
    tolerances_ms: Sequence[float],
    missing_ms: Sequence[int] = (),
) -> OffsetPlot:
    """Return the drawing of all offsets, with a pair of lines for each tolerance."""
    reach_ms = REACH_FACTOR * max(tolerances_ms)
    return OffsetPlot(
        dots=tuple(_dot(one, duration_ms, reach_ms) for one in heard),
        missing=tuple(across(at_ms, duration_ms) for at_ms in missing_ms),
        limits=tuple(_limits(tolerances_ms, reach_ms)),
        minutes=minutes(duration_ms),
        reach_ms=reach_ms,
    )


def _dot(one: Heard, duration_ms: int, reach_ms: float) -> Dot:
    return Dot(
        x=across(one.at_ms, duration_ms),
        y=_y(one.offset_ms, reach_ms),
        firm=one.firm,
        out=one.out,
        beyond=abs(one.offset_ms) > reach_ms,
    )


def _y(offset_ms: float, reach_ms: float) -> float:
    share = math.sqrt(min(abs(offset_ms) / reach_ms, 1.0))
    return round(MIDDLE - math.copysign(share * (MIDDLE - TOP), offset_ms), 1)


def _limits(tolerances_ms: Sequence[float], reach_ms: float) -> list[Tick]:
    ticks = [Tick(float(MIDDLE), "0")]
    for tolerance in sorted(set(tolerances_ms)):
        ticks.append(Tick(_y(tolerance, reach_ms), f"+{tolerance:g}"))
        ticks.append(Tick(_y(-tolerance, reach_ms), f"\u2212{tolerance:g}"))
    return ticks
