"""How a session moves on from one week of a block to the next.

Conventions
    A rule takes a session and returns it with other rates, targets or lengths. It counts
    from the plan as it stands, not from the week before: what was held before comes in
    through `@last`, when the week is made for a rower. Only pieces of work change;
    warm-up, breaks and cool-down stay. A piece led by effort alone (`@free`, or no
    target) keeps being led so.

Sources
    The same splits two strokes lower; the same rate a second faster; longer pieces; a
    week with less: common practice, no source. That the same split two strokes lower
    is 8 to 13 % more work in each stroke follows from power (derived).

Contents
    RULES           the one table of rules
    Progress        a rule with its amount
    progressed      a session by a rule
    own_numbers     a group's session for one of its rowers
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

from cuegen.clock import MS_PER_S
from cuegen.errors import PlanError
from cuegen.plan.limits import MAX_RATE, MIN_DISTANCE_M
from cuegen.plan.model import (
    SEGMENT_KINDS,
    Distance,
    Duration,
    Entry,
    FreeTarget,
    LastAtOffset,
    LastAtRate,
    Length,
    Rate,
    Session,
    Target,
    pick,
)

ROUND_MS, ROUND_M = 10_000, 10
"""Lengths that a rule changes come out in steps that a coach would call."""

LEAST_MS = 30_000
EASIER_MS = 3_000
EASIER_PCT = 10
"""What a deload week takes off: seconds per 500 m, and points of effort (our own judgement)."""


class Rule(StrEnum):
    HOLD = "hold"
    LOWER = "lower"
    FASTER = "faster"
    LONGER = "longer"
    DELOAD = "deload"


@dataclass(frozen=True, slots=True)
class RuleSpec:
    """unit: of its amount, "" where it has none. low, high: bounds of it, both included.

    words: what it is in a sentence, `{}` standing for the amount.
    """

    unit: str
    default: float
    low: float
    high: float
    words: str
    summary: str
    apply: Callable[[Entry, float], Entry]


@dataclass(frozen=True, slots=True)
class Progress:
    """A rule with its amount, in the unit of its spec."""

    rule: Rule = Rule.HOLD
    amount: float = 0.0

    def __str__(self) -> str:
        """Return it in words: `same splits, 2 strokes lower`."""
        return RULES[self.rule].words.format(f"{self.amount:g}")

    @property
    def is_easy(self) -> bool:
        """Whether what is held in such a week says nothing of what a rower can hold."""
        return self.rule is Rule.DELOAD


def progressed(session: Session, progress: Progress) -> Session:
    """Return the session as the rule makes it. Raises PlanError for a rate or length beyond use."""
    spec = RULES[progress.rule]
    entries = tuple(
        spec.apply(entry, progress.amount) if SEGMENT_KINDS[entry.kind].is_work else entry
        for entry in session.entries
    )
    return replace(session, entries=entries)


def own_numbers(session: Session) -> Session:
    """Return a group's session for one of its rowers: what they held, not what a board says.

    A split or watts that a coach gives a whole group fit few in it; each rower's own last
    split at the rate takes their place. What `@last` and `@free` ask stays.
    """
    entries = tuple(
        replace(entry, targets=_aimed(entry, LastAtOffset(0)))
        if SEGMENT_KINDS[entry.kind].is_work
        else entry
        for entry in session.entries
    )
    return replace(session, entries=entries)


def _hold(entry: Entry, _amount: float) -> Entry:
    return entry


def _lower(entry: Entry, strokes: float) -> Entry:
    """The same splits so many strokes lower: what was held at the rate that the plan names."""
    by = int(strokes)
    _check_rate(entry)
    rates = tuple(Rate(rate.low - by, rate.high - by) for rate in entry.rates)
    if any(rate.low < 1 for rate in rates):
        raise PlanError(
            f"{by} strokes lower leaves no rate",
            where=entry.where,
            remedy="Take fewer strokes off, or write the week's session out.",
        )
    return replace(entry, rates=rates, targets=_aimed(entry, LastAtOffset(by)))


def _faster(entry: Entry, seconds: float) -> Entry:
    """The same rates, so much faster than what was held there."""
    _check_rate(entry)
    change_ms = -round(seconds * MS_PER_S)
    return replace(entry, targets=_aimed(entry, LastAtOffset(0, change_ms)))


def _longer(entry: Entry, per_cent: float) -> Entry:
    """Longer pieces at the splits that were held at their rates."""
    lengths = tuple(_scaled(length, 1 + per_cent / 100) for length in entry.lengths)
    return replace(entry, lengths=lengths, targets=_aimed(entry, LastAtOffset(0)))


def _deload(entry: Entry, per_cent: float) -> Entry:
    """Shorter pieces, easier than what was held at their rates."""
    lengths = tuple(_scaled(length, per_cent / 100) for length in entry.lengths)
    efforts = tuple(max(effort - EASIER_PCT, EASIER_PCT) for effort in entry.efforts)
    targets = _aimed(entry, LastAtOffset(0, EASIER_MS))
    return replace(entry, lengths=lengths, efforts=efforts, targets=targets)


def _aimed(entry: Entry, target: LastAtOffset) -> tuple[Target, ...]:
    """Return the targets of an entry, each that names a number turned into what was held.

    A piece of which the plan asks what was held at another rate keeps asking so, as
    much higher or lower.
    """
    if not entry.targets or not entry.rates:
        return entry.targets
    count = max(len(entry.targets), len(entry.rates) if _asks_rates(entry) else 1)
    each = (_moved(pick(entry.targets, n), pick(entry.rates, n), target) for n in range(count))
    found = tuple(each)
    return found[:1] if len(set(found)) == 1 else found


def _asks_rates(entry: Entry) -> bool:
    return any(isinstance(one, LastAtRate) for one in entry.targets)


def _moved(asked: Target | None, rate: Rate | None, target: LastAtOffset) -> Target:
    match asked:
        case FreeTarget() | None:
            return FreeTarget()
        case LastAtOffset(offset=offset, change_ms=change_ms):
            more = offset
        case LastAtRate(rate=at, change_ms=change_ms) if rate is not None:
            more = at - round(rate.middle)
        case _:
            more, change_ms = 0, 0
    return LastAtOffset(target.offset + more, target.change_ms + change_ms)


def _check_rate(entry: Entry) -> None:
    """Refuse a piece with a number to hold and no rate to hold it at."""
    led = any(not isinstance(target, FreeTarget) for target in entry.targets)
    if led and not entry.rates:
        raise PlanError(
            "this piece has no rate, which the week's progress needs",
            where=entry.where,
            remedy=f"Give it one, such as r20 (1 to {MAX_RATE}), or lead it by effort: @free.",
        )


def _scaled(length: Length, share: float) -> Length:
    """Return a length so many times as long, in round figures."""
    match length:
        case Duration(ms=ms):
            return Duration(max(round(ms * share / ROUND_MS) * ROUND_MS, min(ms, LEAST_MS)))
        case Distance(metres=metres):
            return Distance(max(round(metres * share / ROUND_M) * ROUND_M, MIN_DISTANCE_M))


RULES: dict[Rule, RuleSpec] = {
    Rule.HOLD: RuleSpec("", 0, 0, 0, "as planned", "the plan as it stands", _hold),
    Rule.LOWER: RuleSpec(
        "strokes",
        2,
        1,
        6,
        "same splits, {} strokes lower",
        "the splits last held at the plan's rates, so many strokes lower",
        _lower,
    ),
    Rule.FASTER: RuleSpec(
        "s",
        1,
        0.5,
        10,
        "same rates, {} s faster",
        "the plan's rates, so many seconds per 500 m faster than last held there",
        _faster,
    ),
    Rule.LONGER: RuleSpec(
        "%",
        20,
        1,
        100,
        "pieces {} % longer",
        "longer pieces at the splits last held at their rates",
        _longer,
    ),
    Rule.DELOAD: RuleSpec(
        "%",
        60,
        20,
        95,
        f"deload, pieces {{}} % as long, {EASIER_MS // MS_PER_S} s easier",
        f"shorter pieces, {EASIER_MS // MS_PER_S} s per 500 m easier than last held, efforts "
        f"{EASIER_PCT} points lower",
        _deload,
    ),
}
