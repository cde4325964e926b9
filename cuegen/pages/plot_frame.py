"""What the drawings of a listening report share: a frame, the track's time along it, marks.

Conventions
    Units are those of the SVG's view box, which is as wide as a phone so that its
    words can be read there. Time runs to the right, from the start of the track.
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.clock import MS_PER_MIN, clock_text

WIDTH, HEIGHT = 340, 190
LEFT, RIGHT, TOP, BOTTOM = 40, 334, 10, 166
MIDDLE = (TOP + BOTTOM) // 2
STEPS_MIN = (1, 2, 5, 10, 15, 30, 60, 120, 300)
"""Minutes between two marks of time; the last serves a track of a day, the longest there is."""


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


def across(at_ms: float, duration_ms: int) -> float:
    """Return where an instant of a track lies; what is past its end stands at the edge."""
    return round(LEFT + (RIGHT - LEFT) * min(at_ms / duration_ms, 1.0), 1)


def up(share: float) -> float:
    """Return the height of a share of the frame, 0 its foot and 1 its top, kept inside."""
    return round(BOTTOM - (BOTTOM - TOP) * min(max(share, 0.0), 1.0), 1)


def minutes(duration_ms: int) -> tuple[Tick, ...]:
    """Return at most six marks on whole minutes, the first at 0."""
    fitting = (step for step in STEPS_MIN if duration_ms <= 5 * step * MS_PER_MIN)
    step_min = next(fitting, STEPS_MIN[-1])
    marks = range(0, duration_ms + 1, step_min * MS_PER_MIN)
    return tuple(Tick(across(mark, duration_ms), clock_text(mark)) for mark in marks)
