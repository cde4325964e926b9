"""What the drawings of a history share: colours, axes, lines and the names at their ends.

Conventions
    Lengths are points of a drawing WIDTH wide, about a phone, so that its words can
    be read there. Everything that is told by colour is told by shape too: each rate
    and week has a marker of its own and its name at the end of its line.

Sources
    RATE_COLOURS stand at least 26 apart (CAM02-UCS) to full colour vision and to
    deuteranopia, protanopia and tritanopia after Machado et al. 2009, worked out once
    with the library colorspacious; each has 3:1 on paper (WCAG 2.2, 1.4.11).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from cuegen.clock import split_text

WIDTH = 360.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 56.0, 42.0, 34.0
"""Around the axes. On the right stand the names of lines."""

NAME_GAP = 13.0
"""So far apart the names of lines stand."""

PAPER, INK, SOFT = "#ffffff", "#14181a", "#3f4a4d"
RIVER, LINE, FLAG = "#0d4a40", "#5d6b6e", "#8a1c12"
"""The family's colours (templates/look.css)."""

RATE_COLOURS = (INK, "#e66600", "#3399b3", "#661acc", "#804d4d")
MARKERS = ("o", "s", "^", "D", "v", "P", "X")

_LEAST_SPAN_MS, _LEAST_SPAN_J = 2_000, 10
"""An axis of less would make much of little."""


@dataclass(frozen=True, slots=True)
class Look:
    """How a line is drawn. A hollow one is no line but marks alone, unless it is dashed."""

    colour: str
    marker: str
    width: float = 1.7
    hollow: bool = False
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class End:
    """A line's name, and where it ends in data."""

    name: str
    x: float
    y: float


def trace(axes: Axes, points: Sequence[tuple[float, float]], name: str, look: Look) -> None:
    """Draw a line with a mark at each point, if there is any; name is its id."""
    if not points:
        return
    (line,) = axes.plot(*zip(*points, strict=True), color=look.colour, clip_on=False)
    style = (0, (4, 3)) if look.dashed else "none" if look.hollow else "-"
    line.set(linestyle=style, linewidth=look.width, marker=look.marker, markersize=5.5)
    line.set(markerfacecolor=PAPER if look.hollow else look.colour, zorder=3, gid=name)


def name_ends(axes: Axes, ends: Sequence[End], height: float) -> None:
    """Write each line's name in the margin, tied to its end by a dotted line."""
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    heights = [(end.y - low) / (high - low) for end in ends]
    places = spread([at * height for at in heights], NAME_GAP, height)
    point = 1 / (WIDTH - LEFT - RIGHT)
    for end, at, place in zip(ends, heights, places, strict=True):
        x, y = (end.x - left) / (right - left), place / height
        tie = axes.plot([x + 5 * point, 1 + 5 * point], [at, y], color=LINE, lw=0.8, ls=":")[0]
        tie.set(transform=axes.transAxes, clip_on=False)
        axes.text(1 + 8 * point, y, end.name, transform=axes.transAxes, va="center")


def spread(places: Sequence[float], gap: float, room: float) -> list[float]:
    """Return places at least a gap apart, from 0 to room, in the same order.

    Each is moved as little as can be (the least sum of squares): neighbours that are
    too close are pooled about their mean, which is isotonic regression. ValueError
    where there is no room for them.
    """
    most = room - (len(places) - 1) * gap
    if most < 0:
        raise ValueError(f"{len(places)} places {gap} apart do not fit into {room}")
    order = sorted(range(len(places)), key=lambda i: (places[i], i))
    pools: list[tuple[float, int]] = []
    for rank, index in enumerate(order):
        mean, count = places[index] - rank * gap, 1
        while pools and pools[-1][0] >= mean:
            before, many = pools.pop()
            mean = (before * many + mean * count) / (many + count)
            count += many
        pools.append((mean, count))
    means = [min(max(mean, 0.0), most) for mean, count in pools for _ in range(count)]
    moved = {index: means[rank] + rank * gap for rank, index in enumerate(order)}
    return [moved[index] for index in range(len(places))]


def split_axis(axes: Axes, splits_ms: Sequence[int], name: str) -> None:
    """Lay the height out for splits (ms per 500 m), the fastest on top."""
    _value_axis(axes, splits_ms, _LEAST_SPAN_MS, name)
    axes.invert_yaxis()
    axes.yaxis.set_major_formatter(FuncFormatter(lambda ms, _: split_text(round(ms))))


def work_axis(axes: Axes, joules: Sequence[float], name: str) -> None:
    """Lay the height out for work per stroke (J)."""
    _value_axis(axes, joules, _LEAST_SPAN_J, name)
    axes.yaxis.set_major_formatter(FuncFormatter(lambda work, _: f"{work:.0f} J"))


def across(axes: Axes, words: Sequence[str], name: str, count: int | None = None) -> None:
    """Lay the width out for as many places as there are words, or for count without words."""
    places = len(words) if count is None else count
    axes.set_xlim(-0.4, places - 0.6)
    axes.xaxis.set_major_locator(FixedLocator(range(len(words))))
    axes.set_xticklabels(words)
    axes.xaxis.set_gid(f"{name}-x")


def _value_axis(axes: Axes, values: Sequence[float], least_span: float, name: str) -> None:
    low, high = min(values), max(values)
    pad = max((high - low) * 0.08, (least_span - (high - low)) / 2)
    axes.set_ylim(low - pad, high + pad)
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10], integer=True))
    axes.yaxis.set_gid(f"{name}-y")
