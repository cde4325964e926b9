"""Placement: firm cues on their instants, floating ones to the greatest total worth.

Firm cues come first and always stand. Each wording of a floating cue that has room
between them is a choice (cuegen.schedule.offers), spoken a little faster where it has
room only then. Of all choices the placement takes those that are worth most together
(cuegen.schedule.optimum), and moves them to where they suit best
(cuegen.schedule.positions). Where that is more talk than the session's share, the talk
is shared out among the stretches, more to the easy ones, and the optimum is sought
within that.

A line must be spoken before its length is known, so wordings are asked for only where
they can matter. Each cue comes first with its fullest wording alone. Where all cues of
a part get theirs, nothing shorter could be worth more; where one does not, all wordings
of all cues of its part are weighed, until every part is of one sort or the other. That
is the optimum over all wordings.

The result depends on nothing but the arguments.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from cuegen.schedule.board import Board, Placed
from cuegen.schedule.firm import Measure, place_firm
from cuegen.schedule.offers import Offers, Prepare, Voice, offers_of
from cuegen.schedule.optimum import Optimum, optimum
from cuegen.schedule.parts import parts_of
from cuegen.schedule.positions import positioned
from cuegen.schedule.problem import Problem
from cuegen.schedule.reasons import Refused, refused_of
from cuegen.schedule.rules import Frame
from cuegen.schedule.sharing import shared_out
from cuegen.script.candidate import Candidate, Line

__all__ = ["Placement", "Refused", "place"]

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


def place(
    candidates: Iterable[Candidate],
    frame: Frame,
    measure: Measure,
    prepare: Prepare | None = None,
) -> Placement:
    """Place every firm candidate, and the floating ones that are worth most together.

    prepare: told of lines that are about to be measured, so that they can be spoken in
    one go. Raises ScheduleError where firm cues cannot all stand.
    """
    pool = sorted(candidates, key=lambda c: (c.prefer_ms, c.id))
    firm, floating = [c for c in pool if c.firm], [c for c in pool if not c.firm]
    if prepare:
        prepare(Line(c.wordings[0].text) for c in pool)
    board = Board(frame)
    for cue in place_firm(firm, frame, measure):
        board.put(cue)
    offers, best = _weighed(floating, board, Voice(measure, prepare))
    for put in positioned(best.puts, offers.problem.items):
        owner = offers.owners[put.item]
        board.put(Placed(owner, put.choice.line, put.at_ms, put.choice.length_ms))
    refused = refused_of(floating, offers.by_id(), board)
    return Placement(tuple(board.placed), refused, best.worth, best.proven)


def _weighed(floating: list[Candidate], board: Board, voice: Voice) -> tuple[Offers, Optimum]:
    """Return what was offered and the best of it, with all wordings where they can matter."""
    whole: frozenset[str] = frozenset()
    while True:
        offers = offers_of(floating, board, voice, whole)
        best, problem = _best(offers.problem, board)
        more = _wanting(offers, problem, best) - whole
        if not more:
            return offers, best
        whole |= more


def _wanting(offers: Offers, problem: Problem, best: Optimum) -> frozenset[str]:
    """Return the cues of the parts in which one did not get its fullest wording."""
    got = {put.item: put.choice.worth for put in best.puts}
    full = [max(choice.worth for choice in item.choices) for item in problem.items]
    return frozenset(
        offers.owners[number].id
        for part in parts_of(problem)
        if any(got.get(number) != full[number] for number in part)
        for number in part
    )


def _best(problem: Problem, board: Board) -> tuple[Optimum, Problem]:
    """Return the optimum within the session's talk share, and the problem with its budgets.

    What a stretch could use is at first thought to be all of its lines in full; one
    that then leaves talk unused gives it to the others.
    """
    frame, firm_ms = board.frame, tuple(board.spent_ms)
    wanted = _most_by_stretch(problem)
    for _ in range(MOST_ROUNDS):
        budgets = shared_out(frame, firm_ms, wanted)
        limited_problem = Problem(problem.items, budgets)
        best = optimum(limited_problem)
        used = _talk_by_stretch(best, frame)
        spare_ms = frame.budget_ms - board.total_ms - sum(used)
        short = [limit < want for limit, want in zip(budgets, wanted, strict=True)]
        if spare_ms < frame.duration_ms // 100 or not any(short):
            break
        wanted = tuple(
            want if limited and limit - spent < SPARE_MS else spent
            for want, limited, limit, spent in zip(wanted, short, budgets, used, strict=True)
        )
    return best, limited_problem


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
