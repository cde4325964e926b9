"""The figures of a review as cells of a table, on the terminal and on its page.

Conventions
    Figures carry their unit; a change carries its sign, and minus is faster or less.
    What was asked stands in brackets behind what was rowed, where it was another.
"""

from __future__ import annotations

from cuegen.clock import clock_text, split_text
from cuegen.targets.placing import RowedSegment
from cuegen.targets.reviewed import PieceReview, PlannedPiece, StepReview
from cuegen.targets.steadiness import Course, Steadiness


def piece_name(planned: PlannedPiece) -> str:
    """Return "2" or "2 length"."""
    return f"{planned.piece} {planned.theme}" if planned.theme else str(planned.piece)


def rate_words(piece: PieceReview) -> str:
    """Return the rate, and in brackets the one asked where it was another."""
    if not piece.rate_change or piece.planned.rates is None:
        return str(piece.rowed.rate)
    return f"{piece.rowed.rate} ({asked_rate(piece.planned)})"


def asked_rate(planned: PlannedPiece) -> str:
    """Return "20", "18-20" or nothing."""
    if planned.rates is None:
        return ""
    low, high = planned.rates
    return str(low) if low == high else f"{low}-{high}"


def asked_words(planned: PlannedPiece) -> str:
    """Return the split that was asked, or else the effort."""
    return f"{planned.effort_pct} %" if planned.split_ms is None else split_text(planned.split_ms)


def length_words(piece: PieceReview) -> str:
    """Return "4:00" or "750 m", with the plan's in brackets where it was another."""
    planned, rowed = piece.planned, piece.rowed
    if planned.metres is not None:
        return _of(f"{rowed.metres or planned.metres:.0f} m", f"{planned.metres} m")
    return _of(clock_text(piece.time_ms), clock_text(planned.length_ms))


def planned_length(planned: PlannedPiece) -> str:
    """Return "4:00" or "750 m"."""
    return f"{planned.metres} m" if planned.metres is not None else clock_text(planned.length_ms)


def _of(rowed: str, asked: str) -> str:
    return rowed if rowed == asked else f"{rowed} ({asked})"


def felt_words(piece: PieceReview) -> str:
    """Return "75 %", or "75 % (70 %)" with the effort that was planned."""
    if piece.rowed.felt_pct is None:
        return ""
    felt = f"{piece.rowed.felt_pct} %"
    return felt if piece.felt_change_pct is None else f"{felt} ({piece.planned.effort_pct} %)"


def seconds(change_ms: int | None) -> str:
    """Return "+0.2 s", "-1.2 s" or "0.0 s"; nothing for None."""
    return "" if change_ms is None else f"{_signed(change_ms / 1000)} s"


def per_cent(change_pct: float | None) -> str:
    """Return "+0.4 %", "-2.3 %" or "0.0 %"; nothing for None."""
    return "" if change_pct is None else f"{_signed(change_pct)} %"


def _signed(value: float) -> str:
    text = f"{value:+.1f}"
    return "0.0" if text in ("+0.0", "-0.0") else text


def parts_words(rowed: RowedSegment) -> str:
    """Return the splits of the parts in a row."""
    return " ".join(map(split_text, rowed.parts_ms))


def course_words(steadiness: Steadiness) -> str:
    """Return "faded by 1.6 s", "built by 0.8 s" or "even"."""
    if steadiness.course is Course.EVEN:
        return "even"
    return f"{steadiness.course.value} by {plain(steadiness.drift_ms)}"


def step_name(step: StepReview) -> str:
    """Return "17 to 19"."""
    return f"{step.rates[0]} to {step.rates[1]}"


def gained_words(step: StepReview) -> str:
    """Return "3.2 s faster", and in brackets what was asked where the plan says it."""
    gained = f"{plain(step.gained_ms)} {'slower' if step.gained_ms < 0 else 'faster'}"
    return gained if step.asked_ms is None else f"{gained} ({plain(step.asked_ms)})"


def plain(change_ms: int) -> str:
    """Return the size of a change, "0.2 s"."""
    return f"{abs(change_ms) / 1000:.1f} s"
