"""Asked against rowed, drawn: every piece as wide as it was long, its parts one by one.

Conventions
    Units are those of the SVG's view box, which is as wide as a phone so that its
    words can be read there. Pieces stand side by side in their order, without the
    breaks between them; a faster split is higher. Splits are milliseconds per 500 m.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cuegen.clock import clock_text

WIDTH, HEIGHT = 340, 190
LEFT, RIGHT, TOP, BOTTOM = 36, 334, 10, 150
GAP = 4.0
"""Between two pieces; less where there are so many that no room would be left for them."""

MARGIN_MS = 1_000
"""Room above the fastest and below the slowest split."""

STEPS_MS = (1_000, 2_000, 5_000, 10_000, 20_000, 30_000, 60_000, 120_000)
MOST_LINES = 5
LEAST_LABEL = 22.0
"""Room that the words under a piece need, which are three letters at most: "r28"."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A piece to draw. rowed_ms: its parts, or its one split, () where it was not rowed."""

    piece: str
    rate: str
    length_ms: int
    asked_ms: int | None
    rowed_ms: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Tick:
    """A line of the grid with its words."""

    place: float
    words: str


@dataclass(frozen=True, slots=True)
class Label:
    """What stands under the middle of a piece: its number, and the rate under that."""

    place: float
    piece: str
    rate: str


@dataclass(frozen=True, slots=True)
class Bar:
    """A line across a piece: what was asked."""

    left: float
    right: float
    y: float


@dataclass(frozen=True, slots=True)
class SplitPlot:
    """rowed: the corners of each piece's line, as an SVG polyline takes them."""

    asked: tuple[Bar, ...]
    rowed: tuple[str, ...]
    splits: tuple[Tick, ...]
    pieces: tuple[Label, ...]


def split_plot(slots: Sequence[Slot]) -> SplitPlot | None:
    """Return the drawing, None where there is no split to draw."""
    found = [ms for slot in slots for ms in (slot.asked_ms, *slot.rowed_ms) if ms is not None]
    if not found:
        return None
    fast_ms, slow_ms = min(found) - MARGIN_MS, max(found) + MARGIN_MS

    def y(split_ms: int) -> float:
        return round(TOP + (BOTTOM - TOP) * (split_ms - fast_ms) / (slow_ms - fast_ms), 1)

    spans = _spans([slot.length_ms for slot in slots])
    pairs = list(zip(slots, spans, strict=True))
    return SplitPlot(
        asked=tuple(
            Bar(left, right, y(slot.asked_ms))
            for slot, (left, right) in pairs
            if slot.asked_ms is not None
        ),
        rowed=tuple(
            _corners([y(part) for part in slot.rowed_ms], left, right)
            for slot, (left, right) in pairs
            if slot.rowed_ms
        ),
        splits=tuple(Tick(y(ms), clock_text(ms)) for ms in _marks(fast_ms, slow_ms)),
        pieces=_labels(slots, spans),
    )


def _spans(lengths_ms: Sequence[int]) -> list[tuple[float, float]]:
    """Return from where to where each piece reaches."""
    gap = min(GAP, 0.2 * (RIGHT - LEFT) / len(lengths_ms))
    scale = (RIGHT - LEFT - gap * (len(lengths_ms) - 1)) / sum(lengths_ms)
    spans, left = [], float(LEFT)
    for length_ms in lengths_ms:
        right = left + scale * length_ms
        spans.append((round(left, 1), round(right, 1)))
        left = right + gap
    return spans


def _corners(heights: Sequence[float], left: float, right: float) -> str:
    width = (right - left) / len(heights)
    points = []
    for index, height in enumerate(heights):
        points.append(f"{left + index * width:.1f},{height}")
        points.append(f"{left + (index + 1) * width:.1f},{height}")
    return " ".join(points)


def _marks(fast_ms: int, slow_ms: int) -> list[int]:
    """Return at most MOST_LINES round splits in between."""
    reach_ms = slow_ms - fast_ms
    fitting = (step for step in STEPS_MS if reach_ms <= MOST_LINES * step)
    step_ms = next(fitting, STEPS_MS[-1])
    first = math.ceil(fast_ms / step_ms) * step_ms
    return list(range(first, slow_ms + 1, step_ms))


def _labels(slots: Sequence[Slot], spans: Sequence[tuple[float, float]]) -> tuple[Label, ...]:
    """Return the words under the pieces, those left out that would run into the one before."""
    labels: list[Label] = []
    for slot, (left, right) in zip(slots, spans, strict=True):
        middle = round((left + right) / 2, 1)
        if not labels or middle - labels[-1].place >= LEAST_LABEL:
            labels.append(Label(middle, slot.piece, slot.rate))
    return tuple(labels)
