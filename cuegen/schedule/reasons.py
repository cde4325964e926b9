"""Why a floating cue was left out, in words for the coach.

A cue that has no room among the firm ones could never be said; one that could, but
finds no onset in the finished track, lost it to the lines that take its onsets, by
their clips or by their theme; one that would still find an onset was left out since
the talk of its stretch or of the session is spent.
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.schedule.board import Board, Placed
from cuegen.schedule.cuesheet import GAP_MS, LEAD_MS
from cuegen.schedule.problem import Choice, Item
from cuegen.schedule.rules import THEME_GAP_MS
from cuegen.script.candidate import Candidate

MOST_NAMED = 2


@dataclass(frozen=True, slots=True)
class Refused:
    """A floating candidate without a place. why: in words; lost_to: ids of the cues in its way."""

    candidate: Candidate
    why: str
    lost_to: tuple[str, ...] = ()


def refused_of(
    floating: list[Candidate], items: dict[str, Item], full: Board
) -> tuple[Refused, ...]:
    """Return the candidates without a place, in order of the instants that suit them.

    items: by the id of their candidate, of those that have room among the firm cues.
    """
    said = {cue.candidate.id for cue in full.placed}
    return tuple(_refused(c, items.get(c.id), full) for c in floating if c.id not in said)


def _refused(candidate: Candidate, item: Item | None, full: Board) -> Refused:
    if item is None:
        return Refused(candidate, "it has no room between the firm cues and the quiet spans")
    if any(_has_onset(choice, item.theme, full) for choice in item.choices):
        return Refused(candidate, "it has room, but the talk share is spent on lines worth more")
    rivals = _rivals(item, full)
    named = " and ".join(f"{cue.candidate.id} ({cue.line.text})" for cue in rivals)
    ids = tuple(cue.candidate.id for cue in rivals)
    return Refused(candidate, f"it lost its place to {named}", ids)


def _has_onset(choice: Choice, theme: str | None, full: Board) -> bool:
    """Return whether the finished track leaves a choice an onset."""
    onsets = full.theme_onsets(theme) if theme is not None else []
    for first, last in full.free_spans(choice.first_ms, choice.last_ms, choice.length_ms):
        at_ms = first
        for onset in onsets:  # in order of time, so that once is enough
            if abs(at_ms - onset) < THEME_GAP_MS:
                at_ms = onset + THEME_GAP_MS
        if at_ms <= last:
            return True
    return False


def _rivals(item: Item, full: Board) -> list[Placed]:
    """Return the lines that take onsets of an item, those nearest to its best one.

    Its choices lie clear of the firm cues, so that all of these are floating.
    """
    inside = [
        cue
        for cue in full.placed
        if any(_takes_from(choice, item.theme, cue) for choice in item.choices)
    ]
    inside.sort(key=lambda cue: (abs(cue.at_ms - item.prefer_ms), cue.at_ms))
    return inside[:MOST_NAMED]


def _takes_from(choice: Choice, theme: str | None, cue: Placed) -> bool:
    """Return whether a line takes onsets from a choice, by its theme or by its clip."""
    if theme is not None and cue.candidate.theme == theme:
        from_ms, to_ms = cue.at_ms - THEME_GAP_MS, cue.at_ms + THEME_GAP_MS
    else:
        from_ms = cue.at_ms - choice.length_ms - GAP_MS
        to_ms = cue.end_ms + GAP_MS + LEAD_MS
    return from_ms < choice.last_ms and choice.first_ms < to_ms
