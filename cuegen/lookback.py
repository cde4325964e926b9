"""A block looked back on for one rower: what was rowed, what it was to be, what comes next.

Conventions
    Pure: a block and results in, a History out. A week's targets are those that the
    rower was given, from the weeks before it, so a week looks the same whenever it is
    looked back on. What was rowed beside the plan, or at a rate that its week does not
    have, is kept without a target.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cuegen.occasion import occasion_of
from cuegen.plan.block import BlockPlan, WeekPlan, week_of, week_title
from cuegen.targets.history import BlockWeek, History, NextPiece, RowedPiece
from cuegen.targets.outline import PlannedSegment
from cuegen.targets.placing import Numbering, RowedSegment, placed
from cuegen.targets.power import whole
from cuegen.targets.rowed import Result, Results


def history_of(block: BlockPlan, results: Results, rower: str) -> History:
    """Return what a rower of a block rowed. Raises BlockError for a slip in the name."""
    who = block.rower(rower).name
    mine = results.of(who) if results.knows(who) else ()
    rowed: dict[int, list[Result]] = {}
    for row in mine:
        number = week_of(block, row.date, row.session)
        if number is not None:
            rowed.setdefault(number, []).append(row)
    pieces = (
        piece
        for number, rows in rowed.items()
        for piece in _pieces(block, number, results, who, rows)
    )
    return History(
        rower=who,
        block=block.name,
        weeks=tuple(_block_week(block, week) for week in block.weeks),
        pieces=tuple(sorted(pieces, key=lambda piece: (piece.day, piece.segment or 0))),
        next_week=tuple(_next(block, max(rowed, default=0) + 1, results, who)),
    )


def _block_week(block: BlockPlan, week: WeekPlan) -> BlockWeek:
    title = week_title(block, week.number)
    return BlockWeek(week.number, title, str(week.progress), easy=week.progress.is_easy)


def _pieces(
    block: BlockPlan, number: int, results: Results, rower: str, rows: Iterable[Result]
) -> Iterator[RowedPiece]:
    """Yield what was rowed of a week, each piece with the target that stood for it."""
    work = _work(block, number, results, rower)
    for day in sorted({row.date for row in rows}):
        that_day = [row for row in rows if row.date == day]
        asked = _asked(work, that_day)
        for row, planned in zip(that_day, asked, strict=True):
            yield RowedPiece(
                week=number,
                day=row.date,
                segment=None if planned is None else planned.index + 1,
                rate=row.rate,
                split_ms=row.split_ms,
                target_ms=None if planned is None else planned.split_ms,
                heart_rate=row.heart_rate,
                felt_pct=row.felt_pct,
            )


def _asked(work: list[PlannedSegment], rows: list[Result]) -> list[PlannedSegment | None]:
    """Return which piece of the week each result is of, None where it is of none."""
    by_number = {one.index + 1: one for one in work}
    rowed = [RowedSegment(_number(row), row.rate, row.split_ms) for row in rows]
    found = placed(tuple(by_number), rowed)
    if found.numbering is not Numbering.ORDER and all(one.segment is None for one in rowed):
        return [_at_rate(work, row.rate) for row in rows]
    segments = {id(one): number for number, one in found.rowed.items()}
    return [by_number[segments[id(one)]] if id(one) in segments else None for one in rowed]


def _number(row: Result) -> int | None:
    return int(row.segment) if row.segment is not None and row.segment.isdigit() else None


def _at_rate(work: list[PlannedSegment], rate: int) -> PlannedSegment | None:
    found = (one for one in work if one.segment.rate and whole(one.segment.rate.middle) == rate)
    return next(found, None)


def _next(block: BlockPlan, number: int, results: Results, rower: str) -> Iterator[NextPiece]:
    if number > len(block.weeks):
        return
    for one in _work(block, number, results, rower):
        rate = one.segment.rate
        yield NextPiece(
            None if rate is None else whole(rate.middle), one.split_ms, one.effort_pct, one.reason
        )


def _work(block: BlockPlan, number: int, results: Results, rower: str) -> list[PlannedSegment]:
    """Return the pieces of work of a week as this rower was to row them."""
    laid = occasion_of(block, number, results, rower).outline()
    return [one for one in laid.segments if one.segment.spec.is_work]
