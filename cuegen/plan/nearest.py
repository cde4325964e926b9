"""The nearest known name, for whoever mistyped one."""

from __future__ import annotations

from collections.abc import Iterable

from rapidfuzz import fuzz, process, utils

_LEAST_LIKENESS = 60.0
"""Per cent, by rapidfuzz's `ratio`; below it a guess confuses more than it helps."""


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name most like `name`, None where none is near."""
    found = process.extractOne(
        name,
        list(known),
        scorer=fuzz.ratio,
        processor=utils.default_process,
        score_cutoff=_LEAST_LIKENESS,
    )
    return None if found is None else found[0]


def offer(name: str, known: Iterable[str]) -> str:
    """Return the remedy for an unknown name: the nearest one, else all of them."""
    names = list(known)
    guess = nearest(name, names)
    if guess is not None:
        return f"Did you mean {guess!r}?"
    return f"Known are: {', '.join(names)}."
