"""A review in words: the line or three that a coach would write, and notes beside them.

Conventions
    What is said is what was rowed: nobody is shamed, nothing is claimed of anybody's
    health. Whatever stands out is for a qualified coach to weigh.

Our own judgement (no source)
    FADED_A_LOT_MS and MUCH_HARDER_PCT, from which on a coach is named.

Contents
    summary     the line or three
    notes       what did not go together with the plan
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cuegen.clock import clock_text, split_text
from cuegen.targets.placing import Numbering, RowedSegment
from cuegen.targets.review import TOLERANCE_MS
from cuegen.targets.review_cells import (
    asked_rate,
    asked_words,
    course_words,
    piece_name,
    plain,
    planned_length,
    step_name,
)
from cuegen.targets.reviewed import (
    Outcome,
    PieceReview,
    Review,
    Rule,
    StepReview,
)

FADED_A_LOT_MS = 3_000
MUCH_HARDER_PCT = 15
MOST_NAMED = 2
"""So many pieces or steps are named in the summary; of more, only how many there are."""

USUAL = "the usual 2 to 5 s"
COACH = "If that was not the idea, a qualified coach can help to find out why."


# ------------------------------------------------------------------ summary


def summary(review: Review) -> tuple[str, ...]:
    """Return one to three lines: the whole, the steps, what stands out within pieces."""
    if not review.pieces:
        return ("None of the plan's pieces was found among the results.",)
    lines = (_whole_line(review), _steps_line(review.steps), _within_line(review.pieces))
    return tuple(line for line in lines if line)


def _whole_line(review: Review) -> str:
    whole, rowed = review.whole, len(review.pieces)
    assert whole.split_ms is not None, "pieces were rowed"
    count = rowed + len(review.not_rowed)
    which = (
        f"All {count} pieces were"
        if rowed == count
        else f"{rowed} of {count} pieces {_were(rowed)}"
    )
    which = "The one piece was" if count == 1 else which
    mean = f"{which} rowed, {clock_text(whole.time_ms)} at a mean of {split_text(whole.split_ms)}."
    return f"{mean} {_targets_words(review)}"


def _targets_words(review: Review) -> str:
    whole, within = review.whole, f"within {TOLERANCE_MS / 1000:g} s"
    if not whole.targets:
        return "No split was asked: effort led."
    if whole.held == whole.targets:
        every = "The target was" if whole.targets == 1 else f"All {whole.targets} targets were"
        return f"{every} held {within}."
    others = [one for one in review.pieces if one.outcome not in (None, Outcome.HELD)]
    if whole.targets == 1:
        return f"{_off_words(others[0]).capitalize()} than its target."
    if len(others) <= MOST_NAMED:
        named = " and ".join(map(_off_words, others))
    else:
        counts = ((whole.faster, Outcome.FASTER), (whole.slower, Outcome.SLOWER))
        named = " and ".join(f"{count} {_were(count)} {what}" for count, what in counts if count)
    held = f"{whole.held} of {whole.targets} targets {_were(whole.held)} held {within}"
    return f"{held}; {named}."


def _were(count: int) -> str:
    return "was" if count == 1 else "were"


def _off_words(piece: PieceReview) -> str:
    return f"piece {piece.planned.piece} was {plain(piece.change_ms or 0)} {piece.outcome}"


def _steps_line(steps: Sequence[StepReview]) -> str:
    outside = [one for one in steps if one.rule is not Rule.WITHIN]
    if not steps:
        return ""
    if not outside:
        which = f"The step from {step_name(steps[0])} was" if len(steps) == 1 else "Each step was"
        return f"{which} worth {_range(steps)} per two strokes, within {USUAL}."
    if len(outside) > MOST_NAMED:
        return (
            f"The {len(steps)} steps were worth {_range(steps)} per two strokes; "
            f"{len(outside)} of them lay outside {USUAL}."
        )
    named = " ".join(map(_outside_words, outside))
    rest = len(steps) - len(outside)
    others = {0: "", 1: " The other step lay within."}
    return f"{named}{others.get(rest, f' The other {rest} steps lay within.')}"


def _range(steps: Sequence[StepReview]) -> str:
    worth = [one.per_step_ms / 1000 for one in steps]
    low, high = f"{min(worth):.1f}", f"{max(worth):.1f}"
    return f"{low} s" if low == high else f"{low} to {high} s"


def _outside_words(step: StepReview) -> str:
    verb = "was worth" if step.per_step_ms >= 0 else "cost"
    worth = f"{verb} {plain(step.per_step_ms)} per two strokes"
    return f"From {step_name(step)} the step {worth}, {step.rule} {USUAL}, {_work(step)}."


def _work(step: StepReview) -> str:
    change = round(step.work_pct)
    if not change:
        return "with the same work in each stroke"
    return f"with {abs(change)} % {'more' if change > 0 else 'less'} work in each stroke"


def _within_line(pieces: Sequence[PieceReview]) -> str:
    faded, harder = list(_faded(pieces)), list(_felt(pieces))
    flags = [
        *_few(faded, f"{len(faded)} pieces faded by {plain(FADED_A_LOT_MS)} or more."),
        *_few(harder, f"{len(harder)} pieces felt {MUCH_HARDER_PCT} % or more above the plan."),
    ]
    return " ".join([*_steadiest(pieces), *flags, *([COACH] if flags else [])])


def _few(named: Sequence[str], counted: str) -> Sequence[str]:
    return named if len(named) <= MOST_NAMED else (counted,)


def _steadiest(pieces: Sequence[PieceReview]) -> Iterator[str]:
    parted = [(one.steadiness.spread_ms, one) for one in pieces if one.steadiness is not None]
    if not parted:
        return
    spread_ms, piece = min(parted, key=lambda pair: pair[0])
    name = f"Piece {piece.planned.piece}"
    if len(parted) == 1:
        yield f"The parts of piece {piece.planned.piece} lay within {plain(spread_ms)}."
    else:
        yield f"{name} was the steadiest, its parts within {plain(spread_ms)}."


def _faded(pieces: Sequence[PieceReview]) -> Iterator[str]:
    for one in pieces:
        if one.steadiness is not None and one.steadiness.drift_ms >= FADED_A_LOT_MS:
            yield f"Piece {one.planned.piece} {course_words(one.steadiness)}."


def _felt(pieces: Sequence[PieceReview]) -> Iterator[str]:
    for one in pieces:
        if one.felt_change_pct is not None and one.felt_change_pct >= MUCH_HARDER_PCT:
            yield (
                f"Piece {one.planned.piece} felt like {one.rowed.felt_pct} % "
                f"where {one.planned.effort_pct} % was planned."
            )


# -------------------------------------------------------------------- notes


def notes(review: Review) -> tuple[str, ...]:
    """Return what was not rowed, what the plan does not have, and how results were placed."""
    return tuple(_notes(review))


def _notes(review: Review) -> Iterator[str]:
    if review.logged_as is not None:
        title = f"as {review.logged_as!r}" if review.logged_as else "without a title"
        yield f"These results were logged {title}."
    for planned in review.not_rowed:
        rate = f" at rate {asked_rate(planned)}" if planned.rates else ""
        asked = f"{planned_length(planned)}{rate}, {asked_words(planned)}"
        yield f"Not rowed: piece {piece_name(planned)}, {asked}."
    for rowed in review.unplanned:
        yield f"Not in the plan: {_result(rowed)}."
    for rowed in review.again:
        yield f"Logged once more later, so not counted: {_result(rowed)}."
    if review.numbering is Numbering.PIECES:
        yield "The results' numbers were read as those of the pieces, not of all segments."
    if review.numbering is Numbering.ORDER:
        yield "The results have no numbers; they were given to the pieces in their order."
    if any(not step.alike for step in review.steps):
        yield "A step between pieces of different lengths says less about the rate."


def _result(rowed: RowedSegment) -> str:
    number = "" if rowed.segment is None else f"segment {rowed.segment}, "
    label = f", {rowed.label}" if rowed.label else ""
    return f"{number}{split_text(rowed.split_ms)} at rate {rowed.rate}{label}"
