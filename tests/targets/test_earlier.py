"""Tests of cuegen.targets.earlier: which results a week of a block may look back on."""

from __future__ import annotations

from datetime import date

from cuegen.targets.earlier import results_before
from cuegen.targets.rowed import Result, Results
from tests.plan.blocks import BLOCK, block_of


def rowed(day: str, session: str | None = None) -> Result:
    return Result("Edda Kolm", date.fromisoformat(f"2031-{day}"), 20, 125_000, session=session)


BEFORE, FIRST, SECOND, THIRD = (rowed(day) for day in ("02-20", "03-05", "03-12", "03-19"))
ALL = Results((BEFORE, FIRST, SECOND, THIRD), "held.csv")


def seen(number: int, *rows: Result) -> tuple[Result, ...]:
    return results_before(block_of(), number, Results(rows or ALL.rows)).rows


def test_a_week_sees_what_was_held_before_it_and_not_its_own() -> None:
    assert seen(1) == (BEFORE,)
    assert seen(2) == (BEFORE, FIRST)
    assert seen(3) == (BEFORE, FIRST, SECOND)


def test_a_session_made_up_for_late_counts_for_the_week_it_was_late_for() -> None:
    late = rowed("03-12", "Lock steps, week 1")
    assert seen(2, late) == (late,)
    assert seen(1, late) == ()


def test_a_deload_week_says_nothing_of_what_can_be_held() -> None:
    block = block_of(BLOCK.replace("  - lower\n", "  - deload\n"))
    assert results_before(block, 3, ALL).rows == (BEFORE, FIRST)
    assert results_before(block, 4, ALL).rows == (BEFORE, FIRST, THIRD)


def test_sessions_outside_the_block_count_by_their_day() -> None:
    sprint, later = rowed("03-06", "Sunday sprints"), rowed("03-20", "Sunday sprints")
    assert seen(2, sprint, later) == (sprint,)


def test_where_the_results_came_from_is_kept() -> None:
    assert results_before(block_of(), 2, ALL).file == "held.csv"
