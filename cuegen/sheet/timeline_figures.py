"""Figures three rows high for the terminal: the rate and the target, found at a glance.

Conventions
    A digit is 3 by 5 points, two points to a row of text, drawn with the half
    blocks of Unicode's Block Elements (U+2580 to U+259F). The sixth line of
    points stays empty, so that figures never touch what stands below them.
    The shapes are our own.
"""

from __future__ import annotations

from itertools import zip_longest

HEIGHT = 3
"""Rows of text that a figure takes."""

_POINTS: dict[str, tuple[str, ...]] = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": ("## ", " # ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", " ##", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    ":": (" ", "#", " ", "#", " "),
    ".": (" ", " ", " ", " ", "#"),
    "-": ("  ", "  ", "##", "  ", "  "),
    "%": ("# #", "  #", " # ", "#  ", "# #"),
    " ": ("  ", "  ", "  ", "  ", "  "),
}
_BLOCKS = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}


def big_rows(text: str) -> tuple[str, ...]:
    """Return a figure such as "2:09.4" as three rows of equal width, digits a space apart.

    Raises KeyError for a character that is no part of a rate, a split or a percentage.
    """
    lines = [" ".join(parts) for parts in zip(*(_POINTS[ch] for ch in text), strict=True)]
    pairs = zip_longest(lines[::2], lines[1::2], fillvalue=" " * (len(lines[0]) if lines else 0))
    return tuple(
        "".join(_BLOCKS[top != " ", below != " "] for top, below in zip(upper, lower, strict=True))
        for upper, lower in pairs
    )


def can_draw(text: str) -> bool:
    """Return whether every character of a text has a shape."""
    return bool(text) and all(ch in _POINTS for ch in text)
