"""Split, watts, metres: one rowing read in three ways.

Conventions
    Splits are whole milliseconds per 500 m; a split that is worked out is rounded to
    a tenth, as a monitor shows it. Watts go by the relation of rowing ergometers
    (cuegen.targets.power).

Contents
    Held, read_held     what was typed for a piece: 2:14.2, 180W, 896m
    followed            what else changes when one of the three is corrected
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from cuegen.errors import LogError, Where
from cuegen.log.entry import FIELDS, LogEntry
from cuegen.plan.model import Distance, Duration, Length
from cuegen.targets.power import SPLIT_METRES, split_from_watts, watts_from_split, whole
from cuegen.targets.result_cells import RefusedError
from cuegen.targets.results import WATTS_TOLERANCE

METRES_TOLERANCE = 0.01
"""How far metres and time may lie from the split beside them: all three are rounded."""

NOT_ROWED = "-"

_UNIT = re.compile(r"(\d+(?:[.,]\d+)?)\s?(w|m)", re.IGNORECASE | re.ASCII)
_FORMS = "Write a split (2:14.2), watts (180W), metres (896m), or - for a piece not rowed."


@dataclass(frozen=True, slots=True)
class Held:
    """What was held over a piece: its split, and what else was read from the monitor."""

    split_ms: int
    watts: float | None = None
    metres: float | None = None
    duration_ms: int | None = None


def read_held(text: str, length: Length | None) -> Held:
    """Return what a word says of a piece of that length. Raises LogError."""
    match = _UNIT.fullmatch(text.strip())
    try:
        if match is None:
            held = Held(FIELDS["split_ms"].read(text.strip()))
        elif match[2].lower() == "w":
            watts = FIELDS["watts"].read(match[1])
            held = Held(tenth(split_from_watts(watts)), watts=watts)
        else:
            held = _from_metres(FIELDS["metres"].read(match[1]), length)
    except RefusedError as bad:
        where = Where(text=text[:80])
        raise LogError(bad.problem, where=where, remedy=bad.remedy or _FORMS) from None
    return _with_length(held, length)


def _from_metres(metres: float, length: Length | None) -> Held:
    if isinstance(length, Distance):
        raise RefusedError(
            f"this piece is {length.metres} m long whoever rows it", "Give its split."
        )
    if length is None:
        raise RefusedError(
            "metres tell a split only where the piece's time is known",
            "Name the plan, or give --lengths, such as --lengths 4:00.",
        )
    return Held(split_over(length.ms, metres), metres=metres)


def _with_length(held: Held, length: Length | None) -> Held:
    metres, duration_ms = held.metres, None
    if isinstance(length, Duration):
        duration_ms = length.ms
    elif isinstance(length, Distance):
        metres = float(length.metres)
    return Held(held.split_ms, held.watts, metres, duration_ms)


def tenth(split_ms: int) -> int:
    """Return a split to the nearest tenth of a second, half up."""
    return (split_ms + 50) // 100 * 100


def split_over(duration_ms: int, metres: float) -> int:
    """Return the split of so many metres in so long, to a tenth."""
    return tenth(whole(duration_ms * SPLIT_METRES / metres))


def watts_agree(split_ms: int, watts: float) -> bool:
    """Return whether watts are about those of a split."""
    return abs(watts / watts_from_split(split_ms) - 1) <= WATTS_TOLERANCE


def metres_agree(split_ms: int, metres: float, duration_ms: int) -> bool:
    """Return whether metres and a time make a split."""
    return abs(duration_ms * SPLIT_METRES / (metres * split_ms) - 1) <= METRES_TOLERANCE


def followed(before: LogEntry, changes: dict[str, Any]) -> dict[str, Any]:
    """Return the changes, and with them the split and the watts that follow from one of them.

    A split follows corrected watts or, where the time is known, corrected metres.
    Watts follow a split if they went with it before; on the water they need not.
    """
    found = dict(changes)
    if "split_ms" not in found:
        duration_ms = found.get("duration_ms", before.duration_ms)
        if found.get("watts"):
            found["split_ms"] = tenth(split_from_watts(found["watts"]))
        elif found.get("metres") and duration_ms:
            found["split_ms"] = split_over(duration_ms, found["metres"])
    went_along = before.watts is not None and watts_agree(before.split_ms, before.watts)
    if found.get("split_ms") and "watts" not in found and went_along:
        found["watts"] = float(whole(watts_from_split(found["split_ms"])))
    return found
