"""A drawing read back from its SVG, as any reader of SVG sees it.

The parser is Python's xml.etree. Where a mark stands is turned into a split or joules
by the axis that the SVG itself shows: the words of its ticks and the lines beside them.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from cuegen.clock import parse_split
from cuegen.pages.progress_plots import Plot, plot_svg
from cuegen.targets.history import History
from tests.targets.histories import history

SVG = "{http://www.w3.org/2000/svg}"
MOVED = re.compile(r"translate\((\S+) (\S+)\)")


class Drawing:
    """An SVG: its groups by id, its marks, and what its axes say."""

    def __init__(self, svg: str) -> None:
        self.root = ET.fromstring(svg.encode())
        self.groups = {one.get("id"): one for one in self.root.iter(f"{SVG}g")}

    def marks(self, name: str) -> list[tuple[float, float]]:
        """Return where the marks of a group stand, in its order."""
        found = (MOVED.fullmatch(one.get("transform", "")) for one in self.groups[name].iter())
        return [(float(one[1]), float(one[2])) for one in found if one]

    def texts(self) -> list[str]:
        return [one.text or "" for one in self.root.iter(f"{SVG}text")]

    def ticks(self, axis: str) -> dict[str, float]:
        """Return the place of each tick by its words: up or down where it has a line."""
        found = {}
        for tick in self.groups[axis]:
            text = next(tick.iter(f"{SVG}text"))
            line = next(tick.iter(f"{SVG}path"), None)
            place = text.get("x", "") if line is None else line.get("d", "").split()[2]
            found[text.text or ""] = float(place)
        return found

    def values(self, name: str, axis: str) -> list[float]:
        """Return what the marks of a group are worth, by the first and the last tick."""
        ticks = {worth(words): place for words, place in self.ticks(axis).items()}
        (low, at_low), (high, at_high) = min(ticks.items()), max(ticks.items())
        scale = (high - low) / (at_high - at_low)
        return [low + (y - at_low) * scale for _, y in self.marks(name)]


def worth(words: str) -> float:
    split_ms = parse_split(words)
    return float(words.removesuffix(" J")) if split_ms is None else split_ms


def drawing(which: Plot, made: History | None = None) -> Drawing:
    return Drawing(plot_svg(made or history(), which))
