"""How far speech lies over all that sounds under it, drawn line by line along the track.

Conventions
    Frame and time as in cuegen.pages.plot_frame. Distances in dB, a clearer line is
    higher. More than MOST_DB is not told apart and stands at the top; a line that
    what lies under it drowns stands at the foot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cuegen.pages.plot_frame import Dot, Tick, across, minutes, up

MOST_DB = 50
STEP_DB = 10
_ROOM_DB = 4.0
"""Words of the grid that lie closer than this to those of the limit are left out."""


@dataclass(frozen=True, slots=True)
class Over:
    """One line and how far it lies over the rest. out: it is at fault for that."""

    at_ms: int
    over_db: float
    firm: bool
    out: bool


@dataclass(frozen=True, slots=True)
class UnderPlot:
    """worst: the dot that is ringed."""

    dots: tuple[Dot, ...]
    limit: Tick
    levels: tuple[Tick, ...]
    minutes: tuple[Tick, ...]
    worst: Dot


def under_plot(lines: Sequence[Over], worst: Over, duration_ms: int, limit_db: float) -> UnderPlot:
    """Return the drawing of all lines, the worst of them ringed."""
    return UnderPlot(
        dots=tuple(_dot(line, duration_ms) for line in lines),
        limit=_tick(limit_db),
        levels=tuple(
            _tick(db) for db in range(0, MOST_DB + 1, STEP_DB) if abs(db - limit_db) >= _ROOM_DB
        ),
        minutes=minutes(duration_ms),
        worst=_dot(worst, duration_ms),
    )


def _dot(line: Over, duration_ms: int) -> Dot:
    return Dot(
        x=across(line.at_ms, duration_ms),
        y=up(line.over_db / MOST_DB),
        firm=line.firm,
        out=line.out,
        beyond=not 0 <= line.over_db <= MOST_DB,
    )


def _tick(db: float) -> Tick:
    return Tick(up(db / MOST_DB), f"{db:g}")
