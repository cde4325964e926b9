"""Every `@` form of a plan worked out: which split to hold, and why.

Conventions
    Splits are whole milliseconds per 500 m. A step counts from the segment before
    it that had a target; paddles and rests are passed over, whatever they have.
    What is unknown stays None: nothing is guessed here (cuegen.targets.pace
    makes the stated assumptions that times and metres are reckoned with).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from cuegen.clock import split_text
from cuegen.errors import PlanError
from cuegen.plan.limits import MAX_SPLIT_MS, MIN_SPLIT_MS
from cuegen.plan.model import (
    Audience,
    FreeTarget,
    LastAtOffset,
    LastAtRate,
    Segment,
    SegmentKind,
    SplitTarget,
    StepTarget,
    Target,
    WattsTarget,
)
from cuegen.targets.lookup import Brought, brought, more_per_stroke
from cuegen.targets.outline import Basis
from cuegen.targets.power import split_from_watts, whole
from cuegen.targets.rowed import Results

RATE_RANGE = (10, 60)
"""Rates at which a result may be asked for, both included."""

PASSED_OVER = (SegmentKind.PADDLE, SegmentKind.REST)
"""Kinds from which no step counts."""

_MODEST = "led by effort, a modest step"


@dataclass(frozen=True, slots=True)
class Rowing:
    """Whose targets they are: a group, or one rower with or without results.

    day: that of the session, None where the plan does not say.
    """

    audience: Audience
    rower: str | None
    results: Results | None
    day: date | None = None

    @property
    def is_group(self) -> bool:
        return self.rower is None and self.audience is Audience.GROUP


@dataclass(frozen=True, slots=True)
class Aim:
    """What to hold. split_ms None: effort leads, or the split is each rower's own.

    known_to_rower: the split is unknown here, but whoever rows has a number to
    step from (their own last one, or the one they found in a free piece).
    last_change_ms: by how much it lies off what was held at last_rate.
    """

    split_ms: int | None
    basis: Basis
    reason: str
    last_rate: int | None = None
    known_to_rower: bool = False
    last_change_ms: int = 0


def aims(segments: Sequence[Segment], rowing: Rowing) -> tuple[Aim, ...]:
    """Return the aim of each segment. Raises PlanError for a target that cannot be."""
    found: list[Aim] = []
    before: Aim | None = None
    for segment in segments:
        aim = _aim(segment, before, rowing)
        if aim.split_ms is not None:
            check_split(segment, aim.split_ms, aim.reason)
        found.append(aim)
        if segment.target is not None and segment.kind not in PASSED_OVER:
            before = aim
    return tuple(found)


def step_seconds(change_ms: int) -> str:
    """Return `3 s faster`, `2.5 s slower` or `the same split`."""
    if not change_ms:
        return "the same split"
    return f"{abs(change_ms) / 1000:g} s {'faster' if change_ms < 0 else 'slower'}"


def check_split(segment: Segment, split_ms: int, reason: str) -> None:
    """Raise PlanError for a target (ms per 500 m) that nobody could row."""
    low, high = MIN_SPLIT_MS, MAX_SPLIT_MS
    if not low <= split_ms <= high:
        comes_to = split_text(split_ms) if split_ms > 0 else "less than no time"
        raise PlanError(
            f"the target comes to {comes_to} per 500 m ({reason})",
            where=segment.where,
            remedy=f"Targets lie between {split_text(low)} and {split_text(high)}.",
        )


def _aim(segment: Segment, before: Aim | None, rowing: Rowing) -> Aim:
    target: Target | None = segment.target
    match target:
        case SplitTarget(split_ms=split_ms):
            return Aim(split_ms, Basis.GIVEN, "set by the plan")
        case WattsTarget(watts=watts):
            return Aim(_from_watts(segment, watts), Basis.GIVEN, f"{watts} W, set by the plan")
        case StepTarget(change_ms=change_ms):
            return _stepped(segment, change_ms, before, rowing)
        case LastAtRate(rate=rate, change_ms=change_ms):
            return _last(segment, rate, change_ms, rowing)
        case LastAtOffset(offset=offset, change_ms=change_ms):
            return _last(segment, _own_rate(segment) + offset, change_ms, rowing)
        case FreeTarget() | None:
            return _by_effort(segment)


def _by_effort(segment: Segment) -> Aim:
    if segment.target is not None:
        return Aim(None, Basis.EFFORT, "free: led by effort", known_to_rower=True)
    if segment.spec.is_work:
        return Aim(None, Basis.EFFORT, "no target in the plan: led by effort")
    return Aim(None, Basis.EFFORT, segment.spec.summary)


def _from_watts(segment: Segment, watts: int) -> int:
    if watts <= 0:
        raise PlanError(
            f"a target of {watts} W asks for no power",
            where=segment.where,
            remedy="Give watts of 1 or more, or leave the target out.",
        )
    return split_from_watts(watts)


def _stepped(segment: Segment, change_ms: int, before: Aim | None, rowing: Rowing) -> Aim:
    step = step_seconds(change_ms)
    if before is None:
        raise PlanError(
            f"a target of {step} has no target before it to count from",
            where=segment.where,
            remedy="Give the first piece a split, such as @2:10, or @free.",
        )
    than = f"{step} {'than' if change_ms else 'as'}"
    if before.split_ms is not None:
        text = f"{than} {split_text(before.split_ms)} before"
        return Aim(before.split_ms + change_ms, Basis.STEP, text)
    if before.known_to_rower:
        whose = "each rower's own split" if rowing.is_group else "the split found"
        return Aim(None, Basis.STEP, f"{than} {whose} before", known_to_rower=True)
    return Aim(None, Basis.EFFORT, f"{than} a piece without a number: {_MODEST}")


def _own_rate(segment: Segment) -> int:
    if segment.rate is None:
        raise PlanError(
            "@last needs the segment's rate",
            where=segment.where,
            remedy="Give a rate, such as r20, or say which was held: @last r20.",
        )
    return whole(segment.rate.middle)


def _last(segment: Segment, rate: int, change_ms: int, rowing: Rowing) -> Aim:
    low, high = RATE_RANGE
    if not low <= rate <= high:
        raise PlanError(
            f"@last asks what was held at rate {rate}; rates lie between {low} and {high}",
            where=segment.where,
            remedy="Check the rate or the offset.",
        )
    if rowing.is_group:
        step = f"{step_seconds(change_ms)} than " if change_ms else ""
        text = f"{step}each rower's own split at rate {rate} last time"
        return Aim(None, Basis.LAST, text, rate, known_to_rower=True, last_change_ms=change_ms)
    return _last_of_rower(segment, rate, change_ms, rowing)


def _last_of_rower(segment: Segment, rate: int, change_ms: int, rowing: Rowing) -> Aim:
    rower, results = rowing.rower, rowing.results
    if rower is None:
        return Aim(None, Basis.EFFORT, f"no rower is named: {_MODEST}", rate)
    if results is None or not results.knows(rower):
        near = results.nearest(rower) if results else None
        perhaps = f" (nearest name: {near})" if near else ""
        return Aim(None, Basis.EFFORT, f"no results of {rower} yet{perhaps}: {_MODEST}", rate)
    own_rate = segment.rate.middle if segment.rate else None
    found = brought(results, rower, rate, own_rate, rowing.day)
    if found.split_ms is None:
        return Aim(None, Basis.EFFORT, f"{found.reason}: {_MODEST}", rate)
    said_rate = rate if found.basis is Basis.LAST else None
    if not change_ms:
        return Aim(found.split_ms, found.basis, found.reason, said_rate)
    return _changed(found, change_ms, said_rate)


def _changed(found: Brought, change_ms: int, rate: int | None) -> Aim:
    """Return an aim so much faster or slower than what was brought."""
    assert found.split_ms is not None, "there is something to change"
    split_ms = found.split_ms + change_ms
    text = f"{found.reason}; {step_seconds(change_ms)} than that"
    if split_ms > 0:
        more = 100 * more_per_stroke(split_ms, found.split_ms)
        text += f", {abs(more):.1f} % {'more' if more > 0 else 'less'} power"
    return Aim(split_ms, found.basis, text, rate, last_change_ms=change_ms)
