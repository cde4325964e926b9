"""Cells that a spreadsheet neither runs as formulas nor turns into numbers.

A text that a spreadsheet would take for something else is written with an apostrophe
before it, which a spreadsheet shows or swallows but does not act upon; coming back, it
is taken off again.

Source: OWASP, "CSV Injection", for the signs that begin a formula (from memory).
"""

from __future__ import annotations

import re

GUARD = "'"
RUNS_AS_FORMULA = "=+-@\t\r\n\uff1d\uff0b\uff0d\uff20"
_TURNS = re.compile(r"[\s.,:/%-]*\d[\d\s.,:/%-]*(?:[eE][+-]?\d+|[ap]m)?|true|false", re.IGNORECASE)
"""What becomes a number, a date, a clock time or a truth value."""


def guard(text: str) -> str:
    """Return a text as a cell that no spreadsheet runs or turns into a number."""
    return GUARD + text if _needs_guard(text) else text


def unguard(cell: str) -> str:
    """Return the text of a cell that `guard` wrote; others are returned as they are."""
    bare = cell.removeprefix(GUARD)
    return bare if bare != cell and _needs_guard(bare) else cell


def _needs_guard(text: str) -> bool:
    """A text that begins with the guard itself needs one, or it would lose its own."""
    first = text.lstrip(" ")[:1]
    return (first != "" and first in RUNS_AS_FORMULA + GUARD) or bool(_TURNS.fullmatch(text))
