"""The checks behind the plan check: each yields what it saw, in words, with the numbers.

Conventions
    A check takes the outline and the results, if there are any, and yields
    Findings; how grave one is and what to do stands in the table of
    cuegen.targets.advice. Splits are milliseconds per 500 m, efforts per cent.

Sources
    Limits are common practice without a source, or our own judgement. The split of
    a step (2 to 5 s per 2 spm), constant work per stroke and the 5 s of a doubled
    distance: cuegen.targets.power.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from cuegen.clock import clock_text, split_text
from cuegen.plan.limits import MIN_SPLIT_MS
from cuegen.plan.model import Audience, SegmentKind, SplitTarget, WattsTarget
from cuegen.targets.outline import Outline, PlannedSegment
from cuegen.targets.power import (
    RULE_OF_THUMB_MS,
    RULE_OF_THUMB_SPM,
    split_at_distance,
    split_at_rate,
    watts_from_split,
)
from cuegen.targets.rowed import Result, Results

JUMP_PTS = 15
HARD_PCT = 85
LONG_HARD_PCT = 80
LONG_HARD_MS = 60 * 60_000
RATES = (14, 40)
SPLITS_MS = (80_000, 210_000)
TALK_SHARES = (0.20, 0.50)
SUPPORTED = 1.15
"""Power asked over power shown that is still taken for progress; a block's usual step
from 18 to 16 at the same split asks 18/16 = 1.125 (derived)."""


@dataclass(frozen=True, slots=True)
class Finding:
    """What a check saw, a sentence without its full stop. at: None for the whole session."""

    what: str
    at: PlannedSegment | None = None


def _work(outline: Outline) -> list[PlannedSegment]:
    return [one for one in outline.segments if one.segment.spec.is_work]


def _number(one: PlannedSegment) -> str:
    return f"segment {one.index + 1}"


# --------------------------------------------------- the shape of a session


def no_warm_up(outline: Outline, _: Results | None) -> Iterator[Finding]:
    work = _work(outline)
    before = outline.segments[: work[0].index] if work else ()
    if work and not any(one.kind is SegmentKind.WARM_UP for one in before):
        yield Finding("the work begins without a warm-up", work[0])


def no_cool_down(outline: Outline, _: Results | None) -> Iterator[Finding]:
    work = _work(outline)
    after = outline.segments[work[-1].index + 1 :] if work else ()
    if work and not any(one.kind is SegmentKind.COOL_DOWN for one in after):
        yield Finding("nothing cools down after the work", work[-1])


def effort_jump(outline: Outline, _: Results | None) -> Iterator[Finding]:
    work = _work(outline)
    for before, after in pairwise(work):
        if after.effort_pct - before.effort_pct > JUMP_PTS:
            jump = f"from {before.effort_pct} to {after.effort_pct} %"
            yield Finding(f"effort jumps {jump} at {_number(after)}", after)


def hard_start(outline: Outline, _: Results | None) -> Iterator[Finding]:
    for first in _work(outline)[:1]:
        before = max((one.effort_pct for one in outline.segments[: first.index]), default=0)
        if first.effort_pct >= HARD_PCT and first.effort_pct - before > JUMP_PTS:
            yield Finding(f"the first piece asks {first.effort_pct} % with no build to it", first)


def long_hard(outline: Outline, _: Results | None) -> Iterator[Finding]:
    run: list[PlannedSegment] = []
    for one in (*outline.segments, None):
        if one is not None and one.segment.spec.is_work and one.effort_pct >= LONG_HARD_PCT:
            run.append(one)
            continue
        if run and run[-1].end_ms - run[0].start_ms > LONG_HARD_MS:
            length = clock_text(run[-1].end_ms - run[0].start_ms)
            yield Finding(
                f"{length} of hard work ({LONG_HARD_PCT} % or more) without a break", run[0]
            )
        run = []


def talk_share(outline: Outline, _: Results | None) -> Iterator[Finding]:
    share, (low, high) = outline.session.talk_share, TALK_SHARES
    if not low <= share <= high:
        much = "little to be led by" if share < low else "much for a track heard again and again"
        yield Finding(f"the voice speaks {share * 100:.0f} % of the time, {much}")


# ------------------------------------------------------ rates and targets


def rate_range(outline: Outline, _: Results | None) -> Iterator[Finding]:
    low, high = RATES
    for one in outline.segments:
        rate = one.segment.rate
        if rate and not (low <= rate.low and rate.high <= high):
            text = f"{rate.low}-{rate.high}" if rate.is_band else f"{rate.low}"
            yield Finding(f"{_number(one)} asks a rate of {text}, outside {low} to {high}", one)


def split_range(outline: Outline, _: Results | None) -> Iterator[Finding]:
    low, high = SPLITS_MS
    for one in outline.segments:
        if one.split_ms is not None and not low <= one.split_ms <= high:
            than = (
                f"faster than {clock_text(low)}"
                if one.split_ms < low
                else (f"slower than {clock_text(high)}")
            )
            yield Finding(f"{_number(one)} asks {split_text(one.split_ms)}, {than}", one)


def step_size(outline: Outline, _: Results | None) -> Iterator[Finding]:
    work = _work(outline)
    for before, after in pairwise(work):
        if before.index + 1 == after.index or before.segment.entry == after.segment.entry:
            yield from _step(before, after)


def _step(before: PlannedSegment, after: PlannedSegment) -> Iterator[Finding]:
    """Compare a change of rate with what the rule of thumb, or the model, makes of it."""
    rates = before.segment.rate, after.segment.rate
    if before.split_ms is None or after.split_ms is None or rates[0] is None or rates[1] is None:
        return
    change = rates[1].middle - rates[0].middle
    if not change:
        return
    gained_ms = (before.split_ms - after.split_ms) * (1 if change > 0 else -1)
    steps = abs(change) / RULE_OF_THUMB_SPM
    model_ms = abs(
        before.split_ms - split_at_rate(before.split_ms, rates[0].middle, rates[1].middle)
    )
    low_ms = min(RULE_OF_THUMB_MS[0] * steps, model_ms)
    high_ms = max(RULE_OF_THUMB_MS[1] * steps, model_ms)
    if not low_ms <= gained_ms <= high_ms:
        yield Finding(
            f"from rate {rates[0].middle:g} to {rates[1].middle:g} the split goes from "
            f"{split_text(before.split_ms)} to {split_text(after.split_ms)}, where "
            f"{low_ms / 1000:.1f} to {high_ms / 1000:.1f} s is usual",
            after,
        )


def group_split(outline: Outline, _: Results | None) -> Iterator[Finding]:
    if outline.session.audience is not Audience.GROUP or outline.rower is not None:
        return
    for one in _work(outline):
        if isinstance(one.segment.target, SplitTarget | WattsTarget):
            yield Finding(
                f"{_number(one)} asks {split_text(one.pace_ms)} of everybody in the group", one
            )
            return


def spread(outline: Outline, _: Results | None) -> Iterator[Finding]:
    if outline.late_ms:
        yield Finding(
            "distance pieces end when they are rowed: 2 % of pace moves the end by "
            f"{outline.late_ms / 1000:.0f} s either way"
        )


# ------------------------------------------------------ targets and results


def unknown_rower(outline: Outline, results: Results | None) -> Iterator[Finding]:
    if results is None or outline.rower is None or results.knows(outline.rower):
        return
    near = results.nearest(outline.rower)
    yield Finding(
        f"there are no results of {outline.rower}"
        + (f"; the nearest name is {near}" if near else "")
    )


def over_results(outline: Outline, results: Results | None) -> Iterator[Finding]:
    shown = _shown(outline, results)
    for one in outline.segments:
        if one.split_ms is None or one.segment.rate is None or not shown:
            continue
        supports = {_supported_ms(result, one): result for result in shown}
        best_ms = min(supports)
        asked = watts_from_split(one.split_ms) / watts_from_split(best_ms)
        if asked > SUPPORTED:
            held = supports[best_ms]
            yield Finding(
                f"{_number(one)} asks {split_text(one.split_ms)} at rate "
                f"{one.segment.rate.middle:g}, {(asked - 1) * 100:.0f} % more power than "
                f"{split_text(best_ms)}, which {held.rower}'s {split_text(held.split_ms)} at rate "
                f"{held.rate} on {held.date} supports",
                one,
            )


def _shown(outline: Outline, results: Results | None) -> list[Result]:
    """Return what was last held at each rate, by the rower, or by anybody for a group."""
    if results is None:
        return []
    names = results.rowers
    if outline.rower is not None:
        names = (outline.rower,) if results.knows(outline.rower) else ()
    return [
        held
        for name in names
        for held in {result.rate: result for result in results.of(name)}.values()
    ]


def _supported_ms(result: Result, one: PlannedSegment) -> int:
    """Return the split a result supports at this segment's rate and, if known, distance."""
    assert one.segment.rate is not None
    split_ms = split_at_rate(result.split_ms, result.rate, one.segment.rate.middle)
    if result.metres and one.metres:
        split_ms = split_at_distance(split_ms, result.metres, one.metres)
    return max(split_ms, MIN_SPLIT_MS)
