"""Which results a week of a block may look back on.

Conventions
    A week's targets come from what was held before it, so that a week made again, when
    its own results are in, is the same week. What was held in a deload week says nothing
    of what a rower can hold, and is passed over.
"""

from __future__ import annotations

from cuegen.plan.block import BlockPlan, week_of
from cuegen.targets.rowed import Result, Results


def results_before(block: BlockPlan, number: int, results: Results) -> Results:
    """Return the results of earlier weeks, deload weeks left out, and of before the block."""
    return Results(tuple(row for row in results.rows if _counts(block, number, row)), results.file)


def _counts(block: BlockPlan, number: int, row: Result) -> bool:
    week = week_of(block, row.date, row.session)
    if week is None:
        return row.date < block.first_day(number)
    return week < number and not block.week(week).progress.is_easy
