"""Why a floating cue was left out, in words for the coach.

A cue that has no room among the firm ones could never be said; one that has room
there but none in the finished track lost it to lines that stand in its window; one
that would still have room was left out for the sake of quiet.
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.schedule.board import Board, Placed
from cuegen.schedule.firm import Measure
from cuegen.schedule.rules import SPEEDS, THEME_GAP_MS
from cuegen.script.candidate import Candidate, Line

MOST_NAMED = 2


@dataclass(frozen=True, slots=True)
class Refused:
    """A floating candidate without a place. why: in words; lost_to: ids of the cues in its way."""

    candidate: Candidate
    why: str
    lost_to: tuple[str, ...] = ()


def refused_of(
    floating: list[Candidate], firm: Board, full: Board, measure: Measure
) -> tuple[Refused, ...]:
    """Return the candidates without a place, in order of the instants that suit them."""
    said = {cue.candidate.id for cue in full.placed}
    return tuple(_refused(c, firm, full, measure) for c in floating if c.id not in said)


def _refused(candidate: Candidate, firm: Board, full: Board, measure: Measure) -> Refused:
    if not _has_room(candidate, firm, measure):
        return Refused(candidate, "it has no room between the firm cues and the quiet spans")
    if _has_room(candidate, full, measure) and not _too_near(candidate, full):
        return Refused(candidate, "it has room, but the talk share is spent on lines worth more")
    rivals = _rivals(candidate, full)
    if not rivals:
        return Refused(candidate, "lines worth more take its room")
    named = " and ".join(f"{cue.candidate.id} ({cue.line.text})" for cue in rivals)
    ids = tuple(cue.candidate.id for cue in rivals)
    return Refused(candidate, f"it lost its place to {named}", ids)


def _has_room(candidate: Candidate, board: Board, measure: Measure) -> bool:
    return any(
        board.free_spans(
            wording.earliest_ms, wording.latest_ms, measure(Line(wording.text, SPEEDS[0]))
        )
        for wording in candidate.wordings
    )


def _too_near(candidate: Candidate, board: Board) -> bool:
    """Return whether lines on its theme leave no onset far enough away from them."""
    if candidate.theme is None:
        return False
    first = min(w.earliest_ms for w in candidate.wordings)
    last = max(w.latest_ms for w in candidate.wordings)
    return any(
        onset - THEME_GAP_MS < first and last < onset + THEME_GAP_MS
        for onset in board.theme_onsets(candidate.theme)
    )


def _rivals(candidate: Candidate, board: Board) -> list[Placed]:
    """Return the floating lines in a candidate's window, those nearest to its best onset."""
    first = min(w.earliest_ms for w in candidate.wordings)
    last = max(w.latest_ms for w in candidate.wordings)
    inside = [
        cue
        for cue in board.placed
        if not cue.candidate.firm
        if cue.start_ms <= last or cue.candidate.theme == candidate.theme is not None
        if cue.end_ms >= first
    ]
    inside = [cue for cue in inside if abs(cue.at_ms - candidate.prefer_ms) < THEME_GAP_MS]
    inside.sort(key=lambda cue: (abs(cue.at_ms - candidate.prefer_ms), cue.at_ms))
    return inside[:MOST_NAMED]
