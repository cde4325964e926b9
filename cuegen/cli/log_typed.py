"""What is typed after `cuegen log`: days and the fields of a result."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from cuegen.errors import LogError, Where
from cuegen.log.entry import FIELDS, text_of
from cuegen.targets import result_cells as cells
from cuegen.targets.result_cells import RefusedError

NONE = "-"
"""What takes away what was noted."""


def today() -> date:
    """Return the day it is here."""
    return datetime.now(UTC).astimezone().date()


def day_of(option: str, text: str) -> date:
    """Return a day that was typed. Raises LogError."""
    try:
        return cells.day(text.strip())
    except RefusedError as bad:
        remedy = bad.remedy or "Write the day as year-month-day, such as 2031-05-24."
        raise LogError(f"{option}: {bad.problem}", where=Where(text=text), remedy=remedy) from None


def changes_of(**typed: str | None) -> dict[str, Any]:
    """Return the values of the fields that were given. Raises LogError."""
    changes = {name: _value(name, text) for name, text in typed.items() if text is not None}
    if not changes:
        raise LogError(
            "nothing is said to be changed",
            remedy="Say what, such as --split 2:09.0; --help names everything.",
        )
    return changes


def _value(name: str, text: str) -> Any:
    spec = FIELDS[name]
    option = f"--{spec.column.replace('_', '-').replace('date', 'day')}"
    if text.strip() in (NONE, ""):
        if spec.required or name == "kind":
            remedy = f"Give {spec.what}."
            raise LogError(
                f"{option}: no result is without it", where=Where(text=text), remedy=remedy
            )
        return spec.nothing
    try:
        return text_of(text) if spec.types == (str,) else spec.read(text.strip())
    except RefusedError as bad:
        remedy = bad.remedy or f"Give {spec.what}."
        raise LogError(f"{option}: {bad.problem}", where=Where(text=text), remedy=remedy) from None
