"""Split, watts, metres: one rowing read in three ways.

Conventions
    Splits are whole milliseconds per 500 m; a split that is worked out is rounded to
    a tenth, as a monitor shows it. Watts go by the relation of rowing ergometers
    (cuegen.targets.power).

    The parts of a piece are equally long. Of n parts with the splits s1 to sn, the
    whole is rowed at (derived)
        n / (1/s1 + ... + 1/sn)   where the parts are equal in time: each is t/n long
                                  and 500 t/(n s) metres far, and metres are added;
        (s1 + ... + sn) / n       where they are equal in metres, d/n each: each takes
                                  d s/(500 n), and times are added.
    A piece of which the metres are known and the time is not was given in metres.

Contents
    Held, read_held     what was typed for a piece: 2:14.2, 180W, 896m, 2:14.2,2:13.8
    split_of_parts      the split of the whole from those of its parts
    followed            what else changes when one of the three, or a part, is corrected
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from cuegen.errors import LogError, Where
from cuegen.log.entry import FIELDS, LogEntry
from cuegen.plan.model import Distance, Duration, Length
from cuegen.targets.power import SPLIT_METRES, split_from_watts, watts_from_split, whole
from cuegen.targets.result_cells import RefusedError, comma_parts
from cuegen.targets.results import WATTS_TOLERANCE

METRES_TOLERANCE = 0.01
"""How far metres and time may lie from the split beside them: all three are rounded."""

PARTS_TOLERANCE_MS = 500
"""How far the parts may lie from the split beside them: a last part may be shorter."""

NOT_ROWED = "-"

_UNIT = re.compile(r"(\d+(?:[.,]\d+)?)\s?(w|m)", re.IGNORECASE | re.ASCII)
_FORMS = (
    "Write a split (2:14.2), the splits of its parts with commas (2:14.2,2:13.8), "
    "watts (180W), metres (896m), or - for a piece not rowed."
)


@dataclass(frozen=True, slots=True)
class Held:
    """What was held over a piece: its split, and what else was read from the monitor."""

    split_ms: int
    watts: float | None = None
    metres: float | None = None
    duration_ms: int | None = None
    parts_ms: tuple[int, ...] = ()


def read_held(text: str, length: Length | None) -> Held:
    """Return what a word says of a piece of that length. Raises LogError.

    Several splits joined by commas are its parts, equally long: in metres where the
    piece is given in metres, else in time.
    """
    match = _UNIT.fullmatch(text.strip())
    try:
        if match is None:
            held = _from_splits(text.strip(), length)
        elif match[2].lower() == "w":
            watts = FIELDS["watts"].read(match[1])
            held = Held(tenth(split_from_watts(watts)), watts=watts)
        else:
            held = _from_metres(FIELDS["metres"].read(match[1]), length)
    except RefusedError as bad:
        where = Where(text=text[:80])
        raise LogError(bad.problem, where=where, remedy=bad.remedy or _FORMS) from None
    return _with_length(held, length)


def _from_splits(text: str, length: Length | None) -> Held:
    if len(comma_parts(text)) == 1:
        return Held(FIELDS["split_ms"].read(text))
    parts_ms = FIELDS["parts_ms"].read(text)
    split_ms = split_of_parts(parts_ms, in_metres=isinstance(length, Distance))
    return Held(split_ms, parts_ms=parts_ms)


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
    return Held(held.split_ms, held.watts, metres, duration_ms, held.parts_ms)


def tenth(split_ms: int) -> int:
    """Return a split to the nearest tenth of a second, half up."""
    return (split_ms + 50) // 100 * 100


def split_over(duration_ms: int, metres: float) -> int:
    """Return the split of so many metres in so long, to a tenth."""
    return tenth(whole(duration_ms * SPLIT_METRES / metres))


def split_of_parts(parts_ms: Sequence[int], *, in_metres: bool) -> int:
    """Return the split of a piece from those of its equal parts, to a tenth, rounded once.

    in_metres: they are equal in metres, not in time.
    """
    count = len(parts_ms)
    mean_ms = sum(parts_ms) / count if in_metres else count / sum(1 / part for part in parts_ms)
    return whole(mean_ms / 100) * 100


def made_by_parts(entry: LogEntry) -> int | None:
    """Return the split that the parts of an entry make, None where there are none."""
    if not entry.parts_ms:
        return None
    in_metres = entry.metres is not None and entry.duration_ms is None
    return split_of_parts(entry.parts_ms, in_metres=in_metres)


def watts_agree(split_ms: int, watts: float) -> bool:
    """Return whether watts are about those of a split."""
    return abs(watts / watts_from_split(split_ms) - 1) <= WATTS_TOLERANCE


def metres_agree(split_ms: int, metres: float, duration_ms: int) -> bool:
    """Return whether metres and a time make a split."""
    return abs(duration_ms * SPLIT_METRES / (metres * split_ms) - 1) <= METRES_TOLERANCE


def followed(before: LogEntry, changes: dict[str, Any]) -> dict[str, Any]:
    """Return the changes, and with them the split and the watts that follow from one of them.

    A split follows corrected parts, or else watts or, where the time is known, metres.
    Watts follow a split if they went with it before; on the water they need not.
    """
    found = dict(changes)
    if "split_ms" not in found:
        duration_ms = found.get("duration_ms", before.duration_ms)
        if found.get("parts_ms"):
            lengths = {name: found[name] for name in ("metres", "duration_ms") if name in found}
            parted = replace(before, parts_ms=found["parts_ms"], **lengths)
            found["split_ms"] = made_by_parts(parted)
        elif found.get("watts"):
            found["split_ms"] = tenth(split_from_watts(found["watts"]))
        elif found.get("metres") and duration_ms:
            found["split_ms"] = split_over(duration_ms, found["metres"])
    went_along = before.watts is not None and watts_agree(before.split_ms, before.watts)
    if found.get("split_ms") and "watts" not in found and went_along:
        found["watts"] = float(whole(watts_from_split(found["split_ms"])))
    return found
