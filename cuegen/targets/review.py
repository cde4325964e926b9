"""A session after it was rowed: asked against rowed, piece by piece and step by step.

Conventions
    Those of cuegen.targets.reviewed. Only pieces are reviewed: a warm-up is nobody's
    target.

How it is reckoned
    Power goes by the relation of rowing ergometers, and so does its change, 100
    ((asked / rowed)^3 - 1) per cent (cuegen.targets.power). At constant work per
    stroke a split falls as rate^(-1/3) (derived there); a step of two strokes is
    worth 2 to 5 s per 500 m (common practice, no source). The mean split of a session
    is that of its mean speed: all time by all metres of the pieces rowed.

Our own judgement (no source)
    TOLERANCE_MS, within which a target is held; EVEN_MS, within which first and last
    part of a piece are the same (cuegen.targets.steadiness).

Contents
    RowedSegment    what was rowed
    review          an outline and what was rowed, as a Review
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from itertools import pairwise

from cuegen.plan.model import Distance, StepTarget
from cuegen.targets.aim import PASSED_OVER
from cuegen.targets.outline import Basis, Outline, PlannedSegment
from cuegen.targets.placing import RowedSegment, placed
from cuegen.targets.power import (
    RULE_OF_THUMB_MS,
    RULE_OF_THUMB_SPM,
    SPLIT_METRES,
    split_at_rate,
    time_for,
    watts_from_split,
    whole,
    work_per_stroke,
)
from cuegen.targets.reviewed import (
    Outcome,
    PieceReview,
    PlannedPiece,
    Review,
    Rule,
    StepReview,
    WholeReview,
)
from cuegen.targets.steadiness import steadiness

__all__ = ["TOLERANCE_MS", "Review", "RowedSegment", "review"]

TOLERANCE_MS = 500
"""A target is held by who rows within so much of it (our own judgement)."""


def review(
    outline: Outline,
    rowed: Sequence[RowedSegment],
    *,
    rower: str | None = None,
    day: date | None = None,
    logged_as: str | None = None,
) -> Review:
    """Return the review of what was rowed, in the order it was logged, against an outline.

    rower, day and logged_as (see Review) are carried along; the outline's rower by default.
    """
    work = [one for one in outline.segments if one.segment.spec.is_work]
    place = placed([one.index + 1 for one in work], rowed)
    found = _targets(outline, place.rowed)
    asked = [_asked(number, one, found) for number, one in enumerate(work, start=1)]
    pieces = tuple(
        _piece(one, place.rowed[one.segment]) for one in asked if one.segment in place.rowed
    )
    return Review(
        title=outline.session.title,
        rower=rower or outline.rower,
        day=day,
        logged_as=logged_as,
        pieces=pieces,
        steps=tuple(_step(*pair) for pair in pairwise(pieces) if _is_step(*pair)),
        whole=_whole(pieces),
        not_rowed=tuple(one for one in asked if one.segment not in place.rowed),
        unplanned=place.unplanned,
        again=place.again,
        numbering=place.numbering,
    )


# ------------------------------------------------------------- what was asked


def _targets(outline: Outline, rowed: Mapping[int, RowedSegment]) -> dict[int, int]:
    """Return, by segment, the splits of steps from a split that was only found in rowing."""
    found: dict[int, int] = {}
    before: RowedSegment | None = None
    for planned in outline.segments:
        segment, number = planned.segment, planned.index + 1
        if segment.target is None or segment.kind in PASSED_OVER:
            continue
        is_open_step = planned.basis is Basis.STEP and planned.split_ms is None
        if is_open_step and isinstance(segment.target, StepTarget) and before is not None:
            found[number] = before.split_ms + segment.target.change_ms
        before = rowed.get(number)
    return found


def _asked(number: int, planned: PlannedSegment, found: Mapping[int, int]) -> PlannedPiece:
    segment = planned.segment
    led_by_effort = segment.effort_pct is not None or planned.split_ms is None
    return PlannedPiece(
        piece=number,
        segment=segment.index + 1,
        theme=segment.theme,
        length_ms=planned.length_ms,
        metres=segment.length.metres if isinstance(segment.length, Distance) else None,
        rates=(segment.rate.low, segment.rate.high) if segment.rate else None,
        split_ms=found.get(segment.index + 1, planned.split_ms),
        stepped=segment.index + 1 in found,
        effort_pct=planned.effort_pct if led_by_effort else None,
        reason=planned.reason,
    )


# ------------------------------------------------------------- piece by piece


def _piece(asked: PlannedPiece, rowed: RowedSegment) -> PieceReview:
    change_ms = None if asked.split_ms is None else rowed.split_ms - asked.split_ms
    felt, effort = rowed.felt_pct, asked.effort_pct
    return PieceReview(
        planned=asked,
        rowed=rowed,
        time_ms=_time_ms(asked, rowed),
        work_j=work_per_stroke(rowed.split_ms, rowed.rate),
        change_ms=change_ms,
        power_pct=None if asked.split_ms is None else _power_pct(asked.split_ms, rowed.split_ms),
        outcome=None if change_ms is None else _outcome(change_ms),
        rate_change=None if asked.rates is None else _outside(rowed.rate, *asked.rates),
        felt_change_pct=None if felt is None or effort is None else felt - effort,
        steadiness=steadiness(rowed.parts_ms),
    )


def _time_ms(asked: PlannedPiece, rowed: RowedSegment) -> int:
    if rowed.duration_ms is not None:
        return rowed.duration_ms
    if asked.metres is None:
        return asked.length_ms
    return time_for(rowed.metres or asked.metres, rowed.split_ms)


def _power_pct(asked_ms: int, rowed_ms: int) -> float:
    return 100 * (watts_from_split(rowed_ms) / watts_from_split(asked_ms) - 1)


def _outcome(change_ms: int) -> Outcome:
    if abs(change_ms) <= TOLERANCE_MS:
        return Outcome.HELD
    return Outcome.FASTER if change_ms < 0 else Outcome.SLOWER


def _outside(rate: int, low: int, high: int) -> int:
    return min(rate - low, 0) or max(rate - high, 0)


# --------------------------------------------------------------- step by step


def _is_step(one: PieceReview, other: PieceReview) -> bool:
    """Say whether the rate changed; one stroke where the plan asked the same is no step."""
    strokes = abs(other.rowed.rate - one.rowed.rate)
    asked = one.planned.rates, other.planned.rates
    same_asked = asked[0] is not None and asked[0] == asked[1]
    return strokes > (1 if same_asked else 0)


def _step(one: PieceReview, other: PieceReview) -> StepReview:
    first, second = one.rowed, other.rowed
    strokes = second.rate - first.rate
    gained_ms = first.split_ms - second.split_ms
    constant_ms = split_at_rate(first.split_ms, first.rate, second.rate)
    per_step_ms = whole(gained_ms * RULE_OF_THUMB_SPM / strokes)
    return StepReview(
        pieces=(one.planned.piece, other.planned.piece),
        rates=(first.rate, second.rate),
        gained_ms=gained_ms,
        asked_ms=_asked_gain(one, other),
        per_step_ms=per_step_ms,
        constant_ms=constant_ms,
        constant_per_step_ms=whole((first.split_ms - constant_ms) * RULE_OF_THUMB_SPM / strokes),
        work_pct=100 * (other.work_j / one.work_j - 1),
        rule=_rule(per_step_ms),
        alike=_length(one) == _length(other),
    )


def _asked_gain(one: PieceReview, other: PieceReview) -> int | None:
    before_ms = one.rowed.split_ms if other.planned.stepped else one.planned.split_ms
    if before_ms is None or other.planned.split_ms is None:
        return None
    return before_ms - other.planned.split_ms


def _rule(per_step_ms: int) -> Rule:
    low, high = RULE_OF_THUMB_MS
    if per_step_ms < low:
        return Rule.BELOW
    return Rule.ABOVE if per_step_ms > high else Rule.WITHIN


def _length(piece: PieceReview) -> tuple[str, float]:
    if piece.planned.metres is not None:
        return "m", piece.rowed.metres or piece.planned.metres
    return "ms", piece.time_ms


# ------------------------------------------------------------------ as a whole


def _whole(pieces: Sequence[PieceReview]) -> WholeReview:
    time_ms = sum(one.time_ms for one in pieces)
    metres = sum(one.metres for one in pieces)
    outcomes = [one.outcome for one in pieces if one.outcome is not None]
    return WholeReview(
        time_ms=time_ms,
        metres=metres,
        split_ms=whole(time_ms * SPLIT_METRES / metres) if pieces else None,
        targets=len(outcomes),
        held=outcomes.count(Outcome.HELD),
        faster=outcomes.count(Outcome.FASTER),
        slower=outcomes.count(Outcome.SLOWER),
    )
