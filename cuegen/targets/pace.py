"""The pace that times and metres are reckoned with where no target says it.

Conventions
    Splits are whole milliseconds per 500 m. One reference serves a whole session,
    the first of: this rower's most recent result; the first piece of the plan
    that has a rate and an absolute target; 2:20 at rate 20, a middling club
    rower's steady pace (common practice, no source). A piece with a rate is
    scaled from it by constant work per stroke; anything else by effort, power
    taken to grow as effort does from REFERENCE_PCT (our own assumption).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cuegen.clock import split_text
from cuegen.plan.model import (
    SEGMENT_KINDS,
    Segment,
    SegmentKind,
    SplitTarget,
    StepTarget,
    WattsTarget,
)
from cuegen.targets.aim import PASSED_OVER, Aim, Rowing, check_split
from cuegen.targets.outline import Basis
from cuegen.targets.power import split_at_rate, split_from_watts, watts_from_split

DEFAULT_SPLIT_MS = 140_000
DEFAULT_RATE = 20.0
REFERENCE_PCT = SEGMENT_KINDS[SegmentKind.ROW].effort_pct
LEAST_PCT = 20
"""Nobody who rows at all is reckoned slower than this effort makes them."""


@dataclass(frozen=True, slots=True)
class Reference:
    """A split known or assumed at a rate; `source` says which, for the sheet."""

    split_ms: int
    rate: float
    source: str

    def __str__(self) -> str:
        return f"{split_text(self.split_ms)} at rate {self.rate:g}, {self.source}"


@dataclass(frozen=True, slots=True)
class Pace:
    """What a segment is reckoned at. assumed: whence it is, empty where the target says it."""

    split_ms: int
    assumed: str = ""


def paces(
    segments: Sequence[Segment], found: Sequence[Aim], efforts: Sequence[int], rowing: Rowing
) -> tuple[Pace, ...]:
    """Return the pace of each segment. Raises PlanError for steps that lead nowhere."""
    known = reference(segments, found, rowing)
    laid: list[Pace] = []
    before_ms = known.split_ms
    for segment, aim, effort_pct in zip(segments, found, efforts, strict=True):
        pace = _pace(segment, aim, effort_pct, known, before_ms)
        laid.append(pace)
        if segment.target is not None and segment.kind not in PASSED_OVER:
            before_ms = pace.split_ms
    return tuple(laid)


def _pace(segment: Segment, aim: Aim, effort_pct: int, known: Reference, before_ms: int) -> Pace:
    if aim.split_ms is not None:
        return Pace(aim.split_ms)
    if aim.basis is Basis.STEP and isinstance(segment.target, StepTarget):
        split_ms = before_ms + segment.target.change_ms
        check_split(segment, split_ms, aim.reason)
        return Pace(split_ms, f"reckoned at {split_text(split_ms)}")
    split_ms = assumed_pace_ms(segment, effort_pct, known)
    if not segment.spec.is_rowing:
        return Pace(split_ms)
    return Pace(split_ms, f"reckoned at {split_text(split_ms)}, from {known}")


def reference(segments: Sequence[Segment], found: Sequence[Aim], rowing: Rowing) -> Reference:
    """Return what the session's assumed paces start from."""
    if rowing.rower and rowing.results and rowing.results.knows(rowing.rower):
        held = rowing.results.of(rowing.rower)[-1]
        return Reference(held.split_ms, held.rate, f"{held.rower}'s last result")
    for segment, aim in zip(segments, found, strict=True):
        given = isinstance(segment.target, SplitTarget | WattsTarget)
        if given and segment.spec.is_work and segment.rate and aim.split_ms:
            return Reference(aim.split_ms, segment.rate.middle, "set by the plan")
    return Reference(DEFAULT_SPLIT_MS, DEFAULT_RATE, "assumed")


def assumed_pace_ms(segment: Segment, effort_pct: int, known: Reference) -> int:
    """Return the split (ms per 500 m) a segment without a target is reckoned at."""
    if not segment.spec.is_rowing:
        return known.split_ms
    if segment.spec.is_work and segment.rate:
        return split_at_rate(known.split_ms, known.rate, segment.rate.middle)
    steady_ms = split_at_rate(known.split_ms, known.rate, DEFAULT_RATE)
    share = max(effort_pct, LEAST_PCT) / REFERENCE_PCT
    return split_from_watts(watts_from_split(steady_ms) * share)
