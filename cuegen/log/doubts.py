"""What is hard to believe of an entry, to be asked about before it is kept.

Conventions
    A rule sees one entry and what stands around it, and says what is odd in a phrase
    without a full stop, or None. Nothing here refuses anything: whoever adds the entry
    decides. Splits are milliseconds per 500 m.

Sources
    All limits are our own judgement (common practice, no source): nobody holds a
    minute per 500 m, races are rowed at up to about 50 strokes a minute, a rower's
    split at one rate moves by seconds and not by 20, from one day to another and from
    one part of a piece to the next. Of metres, time and split each follows from the
    other two; watts from the split by cuegen.targets.power, the split from its parts.

Contents
    DOUBTS                      the one table of rules
    doubts_about, doubts_of     what is odd about entries, for a log, among other entries
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from rapidfuzz import fuzz

from cuegen.clock import split_text
from cuegen.log.entry import LogEntry, exact_number
from cuegen.log.readings import (
    PARTS_TOLERANCE_MS,
    made_by_parts,
    metres_agree,
    split_over,
    watts_agree,
)
from cuegen.log.rows import identity_of, key_of, slot_of
from cuegen.targets.power import watts_from_split
from cuegen.targets.result_cells import SPLIT_RANGE_MS

if TYPE_CHECKING:
    from cuegen.log.store import Log

RATES = (12, 50)
HEART_RATES = (40, 220)
JUMP_MS = 20_000
NEAR_RATE = 1
"""Rates so far apart are about the same."""

LIKENESS = 85.0
"""Per cent, by rapidfuzz's `ratio`, from which a new name may be a known one mistyped."""


@dataclass(frozen=True, slots=True)
class Around:
    """What stands around an entry.

    before: what the rower last held at about that rate; twin: an entry of the same
    segment; like: a known rower with nearly the same name, for a rower who is new.
    """

    today: date
    before: LogEntry | None = None
    twin: LogEntry | None = None
    like: str | None = None


@dataclass(frozen=True, slots=True)
class Doubt:
    """rule: a key of DOUBTS. index: which entry, counted from 0. what: what is odd."""

    rule: str
    index: int
    what: str


# ----------------------------------------------------------------- rules


def _split(entry: LogEntry, _: Around) -> str | None:
    beyond = _beyond(entry.split_ms)
    return beyond and f"a split of {split_text(entry.split_ms)} is {beyond}"


def _part(entry: LogEntry, _: Around) -> str | None:
    for number, part_ms in enumerate(entry.parts_ms, start=1):
        if beyond := _beyond(part_ms):
            return f"part {number}, {split_text(part_ms)}, is {beyond}"
    return None


def _beyond(split_ms: int) -> str | None:
    low, high = SPLIT_RANGE_MS
    if low <= split_ms <= high:
        return None
    return f"faster than {split_text(low)}" if split_ms < low else f"slower than {split_text(high)}"


def _inner_jump(entry: LogEntry, _: Around) -> str | None:
    for number, (one_ms, next_ms) in enumerate(pairwise(entry.parts_ms), start=2):
        if abs(change_ms := next_ms - one_ms) >= JUMP_MS:
            return (
                f"part {number}, {split_text(next_ms)}, is {abs(change_ms) / 1000:.1f} s "
                f"{'slower' if change_ms > 0 else 'faster'} than the part before it"
            )
    return None


def _parts(entry: LogEntry, _: Around) -> str | None:
    made_ms = made_by_parts(entry)
    if made_ms is None or abs(made_ms - entry.split_ms) <= PARTS_TOLERANCE_MS:
        return None
    return f"its parts make {split_text(made_ms)}, not {split_text(entry.split_ms)}"


def _rate(entry: LogEntry, _: Around) -> str | None:
    low, high = RATES
    return (
        None if low <= entry.rate <= high else f"a rate of {entry.rate} is outside {low} to {high}"
    )


def _jump(entry: LogEntry, around: Around) -> str | None:
    before = around.before
    if before is None or abs(change_ms := entry.split_ms - before.split_ms) < JUMP_MS:
        return None
    return (
        f"{split_text(entry.split_ms)} at rate {entry.rate} is {abs(change_ms) / 1000:.1f} s "
        f"{'slower' if change_ms > 0 else 'faster'} than {split_text(before.split_ms)} "
        f"at rate {before.rate} on {before.day}"
    )


def _watts(entry: LogEntry, _: Around) -> str | None:
    if entry.watts is None or watts_agree(entry.split_ms, entry.watts):
        return None
    expected = watts_from_split(entry.split_ms)
    return (
        f"the split {split_text(entry.split_ms)} is {expected:.0f} W, "
        f"not {exact_number(entry.watts)} W"
    )


def _metres(entry: LogEntry, _: Around) -> str | None:
    metres, duration_ms = entry.metres, entry.duration_ms
    if metres is None or duration_ms is None or metres_agree(entry.split_ms, metres, duration_ms):
        return None
    made = split_text(split_over(duration_ms, metres))
    return f"these metres in this time make {made}, not {split_text(entry.split_ms)}"


def _future(entry: LogEntry, around: Around) -> str | None:
    return f"the day {entry.day} is still to come" if entry.day > around.today else None


def _heart_rate(entry: LogEntry, _: Around) -> str | None:
    low, high = HEART_RATES
    if entry.heart_rate is None or low <= entry.heart_rate <= high:
        return None
    return f"a heart rate of {entry.heart_rate} is outside {low} to {high}"


def _new_name(entry: LogEntry, around: Around) -> str | None:
    if around.like is None:
        return None
    return f"{entry.rower} is new to this log, and {around.like} is not"


def _twice(entry: LogEntry, around: Around) -> str | None:
    twin = around.twin
    if twin is None:
        return None
    where = "stands here twice" if twin.id is None else f"is in the log already, number {twin.id}"
    held = f"({split_text(twin.split_ms)} at rate {twin.rate})"
    if entry.segment is None:
        return f"the same result of that day {where} {held}"
    return f"segment {entry.segment} of that session {where} {held}"


DOUBTS: dict[str, Callable[[LogEntry, Around], str | None]] = {
    "split": _split,
    "part": _part,
    "inner-jump": _inner_jump,
    "parts": _parts,
    "rate": _rate,
    "jump": _jump,
    "watts": _watts,
    "metres": _metres,
    "future": _future,
    "heart-rate": _heart_rate,
    "new-name": _new_name,
    "twice": _twice,
}


# ---------------------------------------------------------- the looking


def doubts_about(
    log: Log, entries: Sequence[LogEntry], today: date, *, instead_of: int | None = None
) -> list[Doubt]:
    """Return what is odd about entries for this log, in their order.

    instead_of: the id of the entry that they are to replace.
    """
    there = log.of_rowers(entry.rower for entry in entries)
    names = [rower.name for rower in log.rowers()]
    return doubts_of(entries, [one for one in there if one.id != instead_of], names, today)


def doubts_of(
    entries: Sequence[LogEntry], there: Iterable[LogEntry], names: Iterable[str], today: date
) -> list[Doubt]:
    """Return what is odd. there: what the log has of their rowers; names: all its rowers."""
    around = _around(entries, there, _likes(entries, names), today)
    return [
        Doubt(rule, index, what)
        for index, entry in enumerate(entries)
        for rule, check in DOUBTS.items()
        if (what := check(entry, around[index])) is not None
    ]


def _around(
    entries: Sequence[LogEntry], there: Iterable[LogEntry], likes: dict[str, str], today: date
) -> dict[int, Around]:
    """Go through everything by day, the log's own first within one, and note what stood there."""
    last: dict[Hashable, LogEntry] = {}
    seen: dict[Hashable, LogEntry] = {}
    found: dict[int, Around] = {}
    both: list[tuple[LogEntry, int | None]] = [(entry, None) for entry in there]
    both.extend((entry, index) for index, entry in enumerate(entries))
    for entry, index in sorted(both, key=lambda pair: pair[0].day):
        which = slot_of(entry) or identity_of(entry)
        if index is not None:
            before = _before(entry, last)
            found[index] = Around(today, before, seen.get(which), likes.get(key_of(entry.rower)))
        last[_held_at(entry, entry.rate)] = entry
        seen.setdefault(which, entry)
    return found


def _held_at(entry: LogEntry, rate: int) -> Hashable:
    return key_of(entry.rower), entry.kind, rate


def _before(entry: LogEntry, last: dict[Hashable, LogEntry]) -> LogEntry | None:
    """Return the latest that was held at about this rate; on one day, that at this very rate."""
    rates = range(entry.rate - NEAR_RATE, entry.rate + NEAR_RATE + 1)
    there = [one for rate in rates if (one := last.get(_held_at(entry, rate))) is not None]
    return max(there, key=lambda one: (one.day, one.rate == entry.rate), default=None)


def _likes(entries: Iterable[LogEntry], names: Iterable[str]) -> dict[str, str]:
    """Return, by key, a known name that is nearly that of a new rower, or a part of it."""
    known = {key_of(name): name for name in names}
    new = {key_of(entry.rower) for entry in entries} - known.keys()
    likes = ((key, _like(key, known)) for key in new)
    return {key: like for key, like in likes if like is not None}


def _like(key: str, known: dict[str, str]) -> str | None:
    words = set(key.split())
    for other, name in known.items():
        others = set(other.split())
        if words <= others or others <= words or fuzz.ratio(key, other) >= LIKENESS:
            return name
    return None
