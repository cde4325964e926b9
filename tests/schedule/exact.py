"""An outside judge of placement: the same problem, given to OR-tools CP-SAT.

Conventions
    The rules are written again here from their description in cuegen.schedule.problem,
    sharing none of the search. `random_problem` draws problems of the size of a busy
    stretch or two, far more crowded than a session is.

Source: OR-tools CP-SAT (Apache-2.0), `new_optional_interval_var` and `add_no_overlap`.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations, pairwise
from random import Random

from ortools.sat.python import cp_model

from cuegen.schedule.problem import Choice, Item, Problem
from cuegen.script.candidate import Line

GAP_MS = 400
THEME_GAP_MS = 60_000
LIMITLESS = 10**9


def greatest_worth(problem: Problem) -> int:
    """Return the greatest total worth of a placement. Raises AssertionError unless proven."""
    model = cp_model.CpModel()
    worth: list[cp_model.LinearExpr] = []
    intervals: list[cp_model.IntervalVar] = []
    talk: dict[int, list[cp_model.LinearExpr]] = defaultdict(list)
    onsets: list[list[tuple[cp_model.IntVar, cp_model.IntVar]]] = []
    for item in problem.items:
        taken: list[tuple[cp_model.IntVar, cp_model.IntVar]] = []
        for choice in item.choices:
            said = model.new_bool_var("")
            at_ms = model.new_int_var(choice.first_ms, choice.last_ms, "")
            room = choice.length_ms + GAP_MS
            intervals.append(model.new_optional_interval_var(at_ms, room, at_ms + room, said, ""))
            worth.append(choice.worth * said)
            talk[choice.stretch].append(choice.length_ms * said)
            taken.append((said, at_ms))
        model.add_at_most_one(said for said, _ in taken)
        onsets.append(taken)
    model.add_no_overlap(intervals)
    for stretch, spent in talk.items():
        model.add(sum(spent) <= problem.budgets[stretch])
    _space_themes(model, problem, onsets)
    model.maximize(sum(worth))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


def independent(problem: Problem) -> list[Problem]:
    """Return a problem cut where nothing ties what comes before to what comes after.

    No clip before a cut reaches over it, no stretch and no theme within its spacing
    lies on both sides.
    """
    items = sorted(problem.items, key=lambda item: item.first_ms)
    groups: list[list[Item]] = []
    for item in items:
        if groups and not _may_cut(groups[-1], item):
            groups[-1].append(item)
        else:
            groups.append([item])
    return [Problem(tuple(group), problem.budgets) for group in groups]


def _may_cut(group: list[Item], item: Item) -> bool:
    reach = max(c.last_ms + c.length_ms + GAP_MS for each in group for c in each.choices)
    stretches = {c.stretch for each in group for c in each.choices}
    theme_reach = max(
        (each.last_ms for each in group if each.theme is not None), default=-THEME_GAP_MS
    )
    return (
        item.first_ms >= reach
        and stretches.isdisjoint(c.stretch for c in item.choices)
        and (item.theme is None or item.first_ms >= theme_reach + THEME_GAP_MS)
    )


def _space_themes(
    model: cp_model.CpModel,
    problem: Problem,
    onsets: list[list[tuple[cp_model.IntVar, cp_model.IntVar]]],
) -> None:
    for one, other in combinations(range(len(problem.items)), 2):
        theme = problem.items[one].theme
        if theme is None or theme != problem.items[other].theme:
            continue
        for said, at_ms in onsets[one]:
            for said_too, at_too in onsets[other]:
                first = model.new_bool_var("")
                model.add(at_too - at_ms >= THEME_GAP_MS).only_enforce_if(said, said_too, first)
                model.add(at_ms - at_too >= THEME_GAP_MS).only_enforce_if(
                    said, said_too, first.negated()
                )


def random_problem(seed: int) -> Problem:
    """Return a problem of 3 to 12 items in one to three stretches, the same for the same seed."""
    random = Random(seed)
    span = random.choice([30_000, 90_000, 200_000])
    count = random.randint(1, 3)
    edges = [span * part // count for part in range(count + 1)]
    items = sorted(
        (_item(random, span, edges) for _ in range(random.randint(3, 12))),
        key=lambda item: item.prefer_ms,
    )
    budgets = tuple(
        random.choice([LIMITLESS, int((high - low) * random.uniform(0.05, 0.6))])
        for low, high in pairwise(edges)
    )
    return Problem(tuple(items), budgets)


def _item(random: Random, span: int, edges: list[int]) -> Item:
    best = random.randint(0, span - 1)
    width = random.choice([0, 500, 2_000, 12_000, 25_000])
    value, length = random.randint(20, 120), random.randint(600, 9_000)
    choices: list[Choice] = []
    for number, part in enumerate((100, 85, 60)[: random.randint(1, 3)]):
        low, high = max(0, best - width), min(span - 1, best + width)
        for stretch, (start, end) in enumerate(pairwise(edges)):
            first, last = max(low, start), min(high, end - 1)
            if first <= last:
                line = Line(f"{number}")
                choices.append(Choice(line, length, value * part // 10, first, last, stretch))
        length = max(300, length * random.randint(40, 90) // 100)
    return Item(tuple(choices), best, random.choice([None, None, "catch", "ratio"]))
