"""What each floating cue offers: its wordings as choices among the firm cues.

Conventions
    A wording is offered at the slowest pace at which it has room at all. A cue that is
    not asked for its whole offer makes one with its first wording, which is worth most;
    where that has no room, with all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass

from cuegen.schedule.board import Board
from cuegen.schedule.firm import Measure
from cuegen.schedule.problem import Choice, Item, Problem, undominated
from cuegen.schedule.rules import SPEEDS
from cuegen.script.candidate import Candidate, Line, Wording

Prepare = Callable[[Iterable[Line]], None]

_PACE_PART = {1.0: 100, 1.06: 97, 1.12: 94}
"""What a line is worth at each pace, in per cent: the voice's own sounds best."""


@dataclass(frozen=True, slots=True)
class Voice:
    """How long lines last, and where to tell of many before they are asked for."""

    measure: Measure
    prepare: Prepare | None = None


@dataclass(frozen=True, slots=True)
class Offers:
    """A problem, and whose each of its items is. Its budgets are the caps of the stretches."""

    problem: Problem
    owners: tuple[Candidate, ...]

    def by_id(self) -> dict[str, Item]:
        ids = (owner.id for owner in self.owners)
        return dict(zip(ids, self.problem.items, strict=True))


def offers_of(
    floating: list[Candidate], board: Board, voice: Voice, whole: Collection[str]
) -> Offers:
    """Return what floating cues offer. whole: ids of those that offer every wording."""
    if voice.prepare:
        asked = [c for c in floating if c.id in whole]
        voice.prepare(Line(wording.text) for c in asked for wording in c.wordings)
    found = [(c, _offer(c, board, voice, c.id in whole)) for c in floating]
    offered = [(owner, choices) for owner, choices in found if choices]
    stretches = zip(board.frame.stretches, board.spent_ms, strict=True)
    budgets = tuple(max(0, stretch.budget_ms - spent) for stretch, spent in stretches)
    items = (Item(undominated(choices), owner.prefer_ms, owner.theme) for owner, choices in offered)
    return Offers(Problem(tuple(items), budgets), tuple(owner for owner, _ in offered))


def _offer(candidate: Candidate, board: Board, voice: Voice, whole: bool) -> list[Choice]:
    first, *others = candidate.wordings
    choices = _choices(candidate, first, board, voice)
    if whole or not choices:
        for wording in others:
            choices += _choices(candidate, wording, board, voice)
    return choices


def _choices(candidate: Candidate, wording: Wording, board: Board, voice: Voice) -> list[Choice]:
    for speed in SPEEDS:
        line = Line(wording.text, speed)
        length = voice.measure(line)
        worth = candidate.value * wording.part * _PACE_PART[speed] // 1_000
        spans = board.free_spans(wording.earliest_ms, wording.latest_ms, length)
        if candidate.ends_window:
            spans = [(last, last) for _, last in spans[-1:]]
        found = [
            Choice(line, length, max(worth, 1), first, last, stretch)
            for low, high in spans
            for first, last, stretch in board.frame.cut(low, high)
        ]
        if found:
            return found
    return []
