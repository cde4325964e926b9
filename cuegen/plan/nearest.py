"""The nearest known name, for whoever mistyped one."""

from __future__ import annotations

from collections.abc import Iterable

from rapidfuzz import fuzz, process, utils

_LEAST_LIKENESS = 60.0
"""Per cent, by rapidfuzz's `ratio`; below it a guess confuses more than it helps."""


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the one that begins like `name`, else the most like it, None where none is near."""
    names = list(known)
    longer = [other for other in names if len(name) > 1 and other.startswith(name.lower())]
    if len(longer) == 1:
        return longer[0]
    found = process.extractOne(
        name,
        names,
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
