"""Placement as a problem of numbers alone: what may be placed where, and what it is worth.

Conventions
    Whole milliseconds of the track. An item is a floating cue. A choice is one of
    its lines in one span of onsets, [first_ms, last_ms], in which the clip lies
    clear of firm cues and of quiet; the span lies in one stretch. A clip starts
    LEAD_MS before its onset, so that the next onset comes `room_ms` later at the
    soonest. Worth is a whole number, larger is better.

    A solution takes at most one choice of each item, such that clips lie GAP_MS
    apart, lines on one theme begin THEME_GAP_MS apart, and the clips of a stretch
    last no longer than its budget in all.
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.schedule.cuesheet import GAP_MS
from cuegen.script.candidate import Line


@dataclass(frozen=True, slots=True)
class Choice:
    """A line that may begin from first_ms to last_ms, both included."""

    line: Line
    length_ms: int
    worth: int
    first_ms: int
    last_ms: int
    stretch: int

    @property
    def room_ms(self) -> int:
        """From this onset to the next one, at the least."""
        return self.length_ms + GAP_MS


@dataclass(frozen=True, slots=True)
class Item:
    """A floating cue with its choices, and the onset that suits it best."""

    choices: tuple[Choice, ...]
    prefer_ms: int
    theme: str | None = None

    @property
    def first_ms(self) -> int:
        return min(choice.first_ms for choice in self.choices)

    @property
    def last_ms(self) -> int:
        return max(choice.last_ms for choice in self.choices)

    @property
    def least_room_ms(self) -> int:
        return min(choice.room_ms for choice in self.choices)


@dataclass(frozen=True, slots=True)
class Problem:
    """Items, none without choices, and the talk in ms left to them in each stretch."""

    items: tuple[Item, ...]
    budgets: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Put:
    """An item's choice at an onset. item: its index in the problem."""

    item: int
    choice: Choice
    at_ms: int


def undominated(choices: list[Choice]) -> tuple[Choice, ...]:
    """Return the choices without those that another one beats in every respect."""
    kept: list[Choice] = []
    for choice in sorted(choices, key=lambda c: (-c.worth, c.length_ms, c.first_ms, -c.last_ms)):
        if not any(_beats(better, choice) for better in kept):
            kept.append(choice)
    return tuple(kept)


def _beats(better: Choice, choice: Choice) -> bool:
    return (
        better.stretch == choice.stretch
        and better.worth >= choice.worth
        and better.length_ms <= choice.length_ms
        and better.first_ms <= choice.first_ms
        and better.last_ms >= choice.last_ms
    )
