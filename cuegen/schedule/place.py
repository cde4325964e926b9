"""Placement: firm cues on their instants, floating ones to the greatest total worth.

Firm cues come first and always stand. Each wording of a floating cue that has room
between them is a choice, spoken a little faster where it has room only then. Of all
choices the placement takes those that are worth most together (cuegen.schedule.optimum),
and moves them to where they suit best (cuegen.schedule.positions). Where that is more
talk than the session's share, the talk is shared out among the stretches, more to the
easy ones, and the optimum is sought once more within that.

The result depends on nothing but the arguments.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from cuegen.schedule.board import Board, Placed
from cuegen.schedule.firm import Measure, place_firm
from cuegen.schedule.optimum import Optimum, optimum
from cuegen.schedule.positions import positioned
from cuegen.schedule.problem import Choice, Item, Problem, undominated
from cuegen.schedule.reasons import Refused, refused_of
from cuegen.schedule.rules import SPEEDS, Frame
from cuegen.schedule.sharing import shared_out
from cuegen.script.candidate import Candidate, Line, Wording

__all__ = ["Placement", "Refused", "place", "problem_of"]

_PACE_PART = {1.0: 100, 1.06: 97, 1.12: 94}
"""What a line is worth at each pace, in per cent: the voice's own sounds best."""

MOST_ROUNDS = 3
SPARE_MS = 4_000
"""A stretch with this much of its talk unspent had nothing more to say."""


@dataclass(frozen=True, slots=True)
class Placement:
    """placed: in order of start. proven: no placement of the floating cues is worth more."""

    placed: tuple[Placed, ...]
    refused: tuple[Refused, ...]
    worth: int = 0
    proven: bool = True


def place(candidates: Iterable[Candidate], frame: Frame, measure: Measure) -> Placement:
    """Place every firm candidate, and the floating ones that are worth most together.

    Raises ScheduleError where firm cues cannot all stand.
    """
    pool = sorted(candidates, key=lambda c: (c.prefer_ms, c.id))
    board = Board(frame)
    for cue in place_firm([c for c in pool if c.firm], frame, measure):
        board.put(cue)
    floating = [c for c in pool if not c.firm]
    problem, owners = problem_of(floating, board, measure)
    best = _best(problem, board)
    for put in positioned(best.puts, problem.items):
        board.put(Placed(owners[put.item], put.choice.line, put.at_ms, put.choice.length_ms))
    return Placement(
        tuple(board.placed),
        refused_of(floating, dict(zip((c.id for c in owners), problem.items, strict=True)), board),
        best.worth,
        best.proven,
    )


def problem_of(
    floating: list[Candidate], board: Board, measure: Measure
) -> tuple[Problem, list[Candidate]]:
    """Return the problem of placing floating cues among the firm ones, and whose each item is."""
    items: list[Item] = []
    owners: list[Candidate] = []
    for candidate in floating:
        choices = [
            choice
            for wording in candidate.wordings
            for choice in _choices(candidate, wording, board, measure)
        ]
        if choices:
            items.append(Item(undominated(choices), candidate.prefer_ms, candidate.theme))
            owners.append(candidate)
    stretches = zip(board.frame.stretches, board.spent_ms, strict=True)
    budgets = tuple(max(0, stretch.budget_ms - spent) for stretch, spent in stretches)
    return Problem(tuple(items), budgets), owners


def _choices(
    candidate: Candidate, wording: Wording, board: Board, measure: Measure
) -> list[Choice]:
    """Return the choices of a wording at the slowest pace at which it has room at all."""
    for speed in SPEEDS:
        line = Line(wording.text, speed)
        length = measure(line)
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


def _best(problem: Problem, board: Board) -> Optimum:
    """Return the optimum within the session's talk share.

    What a stretch could use is at first thought to be all of its lines in full; one
    that then leaves talk unused gives it to the others.
    """
    frame, firm_ms = board.frame, tuple(board.spent_ms)
    wanted = _most_by_stretch(problem)
    for _ in range(MOST_ROUNDS):
        budgets = shared_out(frame, firm_ms, wanted)
        best = optimum(Problem(problem.items, budgets))
        used = _talk_by_stretch(best, frame)
        spare_ms = frame.budget_ms - board.total_ms - sum(used)
        short = [limit < want for limit, want in zip(budgets, wanted, strict=True)]
        if spare_ms < frame.duration_ms // 100 or not any(short):
            break
        wanted = tuple(
            want if limited and limit - spent < SPARE_MS else spent
            for want, limited, limit, spent in zip(wanted, short, budgets, used, strict=True)
        )
    return best


def _most_by_stretch(problem: Problem) -> tuple[int, ...]:
    """Return the talk of all items in full, no more than each stretch may have."""
    most = [0] * len(problem.budgets)
    for item in problem.items:
        lengths: dict[int, int] = {}
        for choice in item.choices:
            lengths[choice.stretch] = max(lengths.get(choice.stretch, 0), choice.length_ms)
        for stretch, length in lengths.items():
            most[stretch] += length
    return tuple(min(talk, limit) for talk, limit in zip(most, problem.budgets, strict=True))


def _talk_by_stretch(best: Optimum, frame: Frame) -> tuple[int, ...]:
    talk = [0] * len(frame.stretches)
    for put in best.puts:
        talk[put.choice.stretch] += put.choice.length_ms
    return tuple(talk)
