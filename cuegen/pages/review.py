"""A review of a session as a page: what a coach would say first, then the figures.

The page is one file that runs nothing and asks for nothing (cuegen.sheet.page). It
holds what somebody did and how it felt: it is for them and for their coach. Names
and words come from people and are always escaped.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from cuegen.clock import clock_text, split_text
from cuegen.pages.split_plot import Slot, SplitPlot, split_plot
from cuegen.sheet.page import Dark, fill_page
from cuegen.sheet.wording import one_line
from cuegen.targets import review_cells as cells
from cuegen.targets import review_words as words
from cuegen.targets.review import TOLERANCE_MS
from cuegen.targets.reviewed import Outcome, PieceReview, PlannedPiece, Review, StepReview

_MINUS, _FIRM_BLANK = "\u2212", "\u00a0"
_UNIT = re.compile(r"(?<=\d) (?=s\b|%)")
"""The blank between a figure and its unit, at which no line may break."""


@dataclass(frozen=True, slots=True)
class PieceRow:
    """Asked against rowed. outcome: in a word, empty where no split was asked."""

    name: str
    length: str
    rate: str
    asked: str
    rowed: str
    off: str
    outcome: str
    held: bool


@dataclass(frozen=True, slots=True)
class PowerRow:
    """What a piece took. power: against what was asked."""

    name: str
    power: str
    work: str
    felt: str
    heart: str


@dataclass(frozen=True, slots=True)
class WithinRow:
    name: str
    parts: tuple[str, ...]
    spread: str
    variation: str
    course: str


@dataclass(frozen=True, slots=True)
class StepRow:
    rates: str
    gained: str
    per_step: str
    constant: str
    rule: str


def review_page(review: Review) -> str:
    """Return the review as one HTML page."""
    whole = review.whole
    return fill_page(
        "review.html.jinja",
        "review.css",
        dark=Dark.ASKED,
        language="en",
        title=one_line(review.title),
        rower=one_line(review.rower or ""),
        day="" if review.day is None else review.day.isoformat(),
        summary=tuple(map(one_line, words.summary(review))),
        split="" if whole.split_ms is None else split_text(whole.split_ms),
        time=clock_text(whole.time_ms),
        metres=f"{whole.metres:.0f}",
        targets=whole.targets,
        held=whole.held,
        tolerance=f"{TOLERANCE_MS / 1000:g} s",
        plot=_plot(review),
        pieces=tuple(map(_piece_row, review.pieces)),
        power=tuple(map(_power_row, review.pieces)),
        has_felt=any(one.rowed.felt_pct is not None for one in review.pieces),
        has_heart=any(one.rowed.heart_rate is not None for one in review.pieces),
        within=_within_rows(review.pieces),
        steps=tuple(map(_step_row, review.steps)),
        notes=tuple(map(one_line, words.notes(review))),
    )


def _plot(review: Review) -> SplitPlot | None:
    """Return the drawing of all pieces of the plan; None where none of them was rowed."""
    if not review.pieces:
        return None
    slots = {one.planned.piece: _rowed_slot(one) for one in review.pieces}
    slots |= {one.piece: _empty_slot(one) for one in review.not_rowed}
    return split_plot([slots[number] for number in sorted(slots)])


def _rowed_slot(piece: PieceReview) -> Slot:
    parts = piece.rowed.parts_ms or (piece.rowed.split_ms,)
    number, rate = str(piece.planned.piece), f"r{piece.rowed.rate}"
    return Slot(number, rate, piece.time_ms, piece.planned.split_ms, parts)


def _empty_slot(planned: PlannedPiece) -> Slot:
    return Slot(str(planned.piece), "\u2013", planned.length_ms, planned.split_ms, ())


def _piece_row(piece: PieceReview) -> PieceRow:
    return PieceRow(
        name=_name(piece),
        length=cells.length_words(piece),
        rate=cells.rate_words(piece),
        asked=cells.asked_words(piece.planned),
        rowed=split_text(piece.rowed.split_ms),
        off=_figures(cells.seconds(piece.change_ms)),
        outcome=piece.outcome or "",
        held=piece.outcome is Outcome.HELD,
    )


def _power_row(piece: PieceReview) -> PowerRow:
    heart = piece.rowed.heart_rate
    return PowerRow(
        name=_name(piece),
        power=_figures(cells.per_cent(piece.power_pct)),
        work=f"{piece.work_j:.0f} J",
        felt=cells.felt_words(piece),
        heart="" if heart is None else str(heart),
    )


def _within_rows(pieces: Sequence[PieceReview]) -> tuple[WithinRow, ...]:
    return tuple(
        WithinRow(
            name=_name(one),
            parts=tuple(map(split_text, one.rowed.parts_ms)),
            spread=f"{one.steadiness.spread_ms / 1000:.1f} s",
            variation=f"{one.steadiness.variation_pct:.1f} %",
            course=_figures(cells.course_words(one.steadiness)),
        )
        for one in pieces
        if one.steadiness is not None
    )


def _step_row(step: StepReview) -> StepRow:
    return StepRow(
        rates=cells.step_name(step),
        gained=_figures(cells.gained_words(step)),
        per_step=_figures(f"{step.per_step_ms / 1000:.1f} s"),
        constant=_figures(f"{step.constant_per_step_ms / 1000:.1f} s"),
        rule=step.rule,
    )


def _name(piece: PieceReview) -> str:
    return one_line(cells.piece_name(piece.planned))


def _figures(text: str) -> str:
    return _UNIT.sub(_FIRM_BLANK, text).replace("-", _MINUS)
