"""How hard a segment is rowed where its plan does not say.

Conventions
    Efforts are whole per cent of what a rower could give, no share of a heart
    rate. A run of pieces is linked when they touch or are repeats of one entry.

Rules, the first that fits (common practice, no source, except the modest step's
size, which is our own judgement)
    1. the effort in the plan
    2. a build of three or more linked pieces, each harder than the one before,
       none with an effort of its own: along BUILD_PCT
    3. a piece linked to the one before: that effort, a modest step up or down
       as it is harder or easier
    4. the default of its kind, but for a piece never less than that of an easier
       piece before it
"""

from __future__ import annotations

from collections.abc import Sequence

from cuegen.plan.model import Segment, SplitTarget, StepTarget, WattsTarget
from cuegen.targets.power import split_from_watts

BUILD_PCT = (70, 75, 80, 90)
"""The four steps of a build; the last is the hardest."""

MODEST_STEP_PCT = 5
LEAST_BUILD = 3
_ROUND_TO = 5
_LEAST_PCT, _MOST_PCT = 40, 100


def efforts(segments: Sequence[Segment]) -> tuple[int, ...]:
    """Return the effort of each segment, in whole per cent."""
    found: list[int] = []
    builds = _builds(segments)
    before: list[Segment] = []
    for segment in segments:
        if segment.effort_pct is not None:
            found.append(segment.effort_pct)
        elif segment.spec.is_work:
            found.append(builds.get(segment.index) or _from_before(segment, before, found))
        else:
            found.append(segment.spec.effort_pct)
        if segment.spec.is_work:
            before.append(segment)
    return tuple(found)


def _from_before(segment: Segment, before: Sequence[Segment], found: Sequence[int]) -> int:
    """Return a piece's effort by rules 3 and 4; `before` are the pieces before it."""
    if before and _linked(before[-1], segment):
        effort = found[before[-1].index] + MODEST_STEP_PCT * _harder(before[-1], segment)
        return min(max(effort, _LEAST_PCT), _MOST_PCT)
    easier = [found[one.index] for one in before if _harder(one, segment) > 0]
    return max(segment.spec.effort_pct, *easier, 0)


def build_pct(step: int, steps: int) -> int:
    """Return the effort of one step (from 0) of a build, along BUILD_PCT, to the nearest 5 %."""
    place = step * (len(BUILD_PCT) - 1) / (steps - 1)
    low = min(int(place), len(BUILD_PCT) - 2)
    exact = BUILD_PCT[low] + (place - low) * (BUILD_PCT[low + 1] - BUILD_PCT[low])
    return int(exact / _ROUND_TO + 0.5) * _ROUND_TO


def _builds(segments: Sequence[Segment]) -> dict[int, int]:
    """Return the efforts, by index, of the segments that rule 2 decides."""
    found: dict[int, int] = {}
    for run in _rising_runs([segment for segment in segments if segment.spec.is_work]):
        if len(run) >= LEAST_BUILD and all(segment.effort_pct is None for segment in run):
            found |= {segment.index: build_pct(n, len(run)) for n, segment in enumerate(run)}
    return found


def _rising_runs(work: Sequence[Segment]) -> list[list[Segment]]:
    runs: list[list[Segment]] = []
    for segment in work:
        if runs and _linked(runs[-1][-1], segment) and _harder(runs[-1][-1], segment) > 0:
            runs[-1].append(segment)
        else:
            runs.append([segment])
    return runs


def _linked(before: Segment, segment: Segment) -> bool:
    return before.index + 1 == segment.index or before.entry == segment.entry


def _harder(before: Segment, segment: Segment) -> int:
    """Return 1 for a harder piece, -1 for an easier one: by rate, or else by split."""
    if before.rate and segment.rate and before.rate.middle != segment.rate.middle:
        return 1 if segment.rate.middle > before.rate.middle else -1
    change_ms = _change_ms(before, segment)
    return (change_ms < 0) - (change_ms > 0)


def _change_ms(before: Segment, segment: Segment) -> int:
    """Return by how much the split grows, 0 where the plan does not say."""
    if isinstance(segment.target, StepTarget):
        return segment.target.change_ms
    asked = _given_ms(before), _given_ms(segment)
    return 0 if asked[0] is None or asked[1] is None else asked[1] - asked[0]


def _given_ms(segment: Segment) -> int | None:
    if isinstance(segment.target, SplitTarget):
        return segment.target.split_ms
    if isinstance(segment.target, WattsTarget):
        return split_from_watts(segment.target.watts)
    return None
