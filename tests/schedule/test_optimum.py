"""The optimum is one: no placement that the rules allow is worth more.

Sources
    Equal worth with OR-tools CP-SAT, an exact solver that shares no code with ours
    (tests/schedule/exact.py), on random problems and on every example session.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations, pairwise
from pathlib import Path

import pytest

from cuegen.plan.reading import load_plan
from cuegen.schedule import optimum as module
from cuegen.schedule.board import Board
from cuegen.schedule.cuesheet import GAP_MS
from cuegen.schedule.firm import place_firm
from cuegen.schedule.offers import Voice, offers_of
from cuegen.schedule.optimum import Optimum, optimum
from cuegen.schedule.problem import Choice, Item, Problem, Put
from cuegen.schedule.rules import THEME_GAP_MS, frame_of
from cuegen.script.candidate import Line
from cuegen.script.candidates import build_candidates
from cuegen.targets.resolve import outline
from cuegen.targets.results import load_results
from tests.schedule.exact import LIMITLESS, greatest_worth, independent, random_problem
from tests.script.outlines import plain
from tests.voice.fake import fake_length_ms

EXAMPLES = sorted(Path("examples").glob("*.yaml"))
RANDOM_PROBLEMS = 520
BATCH = 40


def item(
    *spans: tuple[int, int], worth: int = 100, length: int = 1_000, theme: str | None = None
) -> Item:
    choices = (Choice(Line("x"), length, worth, first, last, 0) for first, last in spans)
    return Item(tuple(choices), spans[0][0], theme)


def solved(*items: Item, budget: int = LIMITLESS) -> Optimum:
    return optimum(Problem(items, (budget,)))


def assert_keeps_the_rules(problem: Problem, puts: tuple[Put, ...]) -> None:
    for put in puts:
        assert put.choice in problem.items[put.item].choices
        assert put.choice.first_ms <= put.at_ms <= put.choice.last_ms
    for one, other in pairwise(puts):
        assert other.at_ms - one.at_ms >= one.choice.length_ms + GAP_MS
    talk: dict[int, int] = defaultdict(int)
    for put in puts:
        talk[put.choice.stretch] += put.choice.length_ms
    assert all(spent <= problem.budgets[stretch] for stretch, spent in talk.items())
    for one, other in combinations(puts, 2):
        theme = problem.items[one.item].theme
        if theme is not None and theme == problem.items[other.item].theme:
            assert other.at_ms - one.at_ms >= THEME_GAP_MS
    assert len({put.item for put in puts}) == len(puts)


class TestAgainstAnExactSolver:
    @pytest.mark.parametrize("start", range(0, RANDOM_PROBLEMS, BATCH))
    def test_random_problems_come_to_the_same_worth(self, start: int) -> None:
        for seed in range(start, start + BATCH):
            problem = random_problem(seed)
            found = optimum(problem)
            assert_keeps_the_rules(problem, found.puts)
            assert found.proven, seed
            assert found.worth == greatest_worth(problem), seed

    @pytest.mark.slow
    @pytest.mark.parametrize("plan", EXAMPLES, ids=lambda path: path.stem)
    @pytest.mark.parametrize("share", [0.12, 0.3])
    def test_every_example_comes_to_the_same_worth(self, plan: Path, share: float) -> None:
        problem = example_problem(plan, share)
        found = optimum(problem)
        assert_keeps_the_rules(problem, found.puts)
        assert found.proven
        assert found.worth == sum(greatest_worth(part) for part in independent(problem))


def example_problem(plan: Path, share: float) -> Problem:
    """Return the problem of an example, its talk shared out, with lines of known lengths."""
    results = load_results(plan.parent / "results.csv")
    laid = outline(load_plan(plan), results)
    script = build_candidates(laid, plain())
    board = Board(frame_of(laid, script.quiet))
    for cue in place_firm([c for c in script.candidates if c.firm], board.frame, fake_length_ms):
        board.put(cue)
    floating = [c for c in script.candidates if not c.firm]
    every = {candidate.id for candidate in floating}
    problem = offers_of(floating, board, Voice(fake_length_ms), every).problem
    stretches = board.frame.stretches
    budgets = (int((s.end_ms - s.start_ms) * share) - spent for s, spent in _spent(board))
    assert len(problem.budgets) == len(stretches)
    return Problem(problem.items, tuple(max(0, budget) for budget in budgets))


def _spent(board: Board):  # type: ignore[no-untyped-def]
    return zip(board.frame.stretches, board.spent_ms, strict=True)


class TestSmallCases:
    def test_two_that_could_stand_in_each_others_way_both_find_room(self) -> None:
        found = solved(item((0, 0)), item((0, 1_400)))
        assert [put.at_ms for put in found.puts] == [0, 1_400]

    def test_one_ms_less_leaves_room_for_one(self) -> None:
        found = solved(item((0, 0)), item((0, 1_399), worth=101))
        assert [put.item for put in found.puts] == [1]

    def test_two_small_ones_go_before_one_great_one(self) -> None:
        great = item((1_000, 1_000), worth=150, length=3_000)
        found = solved(item((0, 0)), great, item((3_000, 3_000)))
        assert [put.item for put in found.puts] == [0, 2]

    def test_a_later_wish_is_placed_first_where_that_is_worth_more(self) -> None:
        late = item((5_000, 9_000), length=3_000)
        early = Item(item((5_000, 5_000)).choices, 6_000)
        assert [put.item for put in solved(late, early).puts] == [1, 0]

    def test_a_budget_is_spent_to_the_last_millisecond(self) -> None:
        parts = [item((at, at), worth=10, length=700) for at in (0, 5_000, 9_000)]
        assert solved(*parts, budget=1_400).worth == 20
        assert solved(*parts, budget=1_399).worth == 10

    def test_themes_stay_a_minute_apart(self) -> None:
        pair = [item((0, 0), theme="catch"), item((0, 59_999), theme="catch")]
        assert len(solved(*pair).puts) == 1
        pair[1] = item((0, 60_000), theme="catch")
        assert [put.at_ms for put in solved(*pair).puts] == [0, 60_000]

    def test_nothing_to_place_is_worth_nothing(self) -> None:
        assert solved() == Optimum((), 0, proven=True)


class TestCrowds:
    def crowd(self) -> Problem:
        spans = [(0, 40_000)] * 24
        items = (
            item(span, worth=50 + 3 * number, length=900 + 70 * number)
            for number, span in enumerate(spans)
        )
        return Problem(tuple(items), (15_000,))

    def test_a_crowd_beyond_reach_is_placed_but_not_called_proven(self) -> None:
        found = optimum(self.crowd())
        assert_keeps_the_rules(self.crowd(), found.puts)
        assert not found.proven
        assert found.worth > 0

    def test_a_search_that_is_cut_short_says_so(self, monkeypatch: pytest.MonkeyPatch) -> None:
        few = (item((0, 3_000), worth=90 + n, length=1_500) for n in range(5))
        problem = Problem(tuple(few), (LIMITLESS,))
        monkeypatch.setattr(module, "MOST_LABELS", 1)
        found = optimum(problem)
        assert_keeps_the_rules(problem, found.puts)
        assert not found.proven
        assert found.worth <= greatest_worth(problem)
