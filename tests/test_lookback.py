"""Tests of cuegen.lookback: a block looked back on, each piece with the target it had."""

from __future__ import annotations

from datetime import date

import pytest

from cuegen.errors import BlockError
from cuegen.lookback import history_of
from cuegen.targets.history import History, RowedPiece
from cuegen.targets.rowed import Result, Results
from tests.plan.blocks import block_of

RATES = (18, 20, 22, 24)


def rows(
    day: str,
    splits_s: tuple[float, ...],
    rates: tuple[int, ...] = RATES,
    *,
    segment: str | None = None,
    session: str | None = None,
) -> list[Result]:
    on = date.fromisoformat(f"2031-{day}")
    return [
        Result("Edda Kolm", on, rate, round(1000 * split), session=session, segment=segment)
        for rate, split in zip(rates, splits_s, strict=True)
    ]


def of_week(history: History, number: int) -> list[RowedPiece]:
    return [piece for piece in history.pieces if piece.week == number]


FIRST = rows("03-05", (136, 132.4, 128, 125.2))
SECOND = rows("03-12", (136.2, 132.2, 128.9, 125.1), (16, 18, 20, 22))


def test_a_week_is_held_against_the_targets_it_had() -> None:
    """Week 2 asks the splits of week 1 two strokes lower."""
    history = history_of(block_of(), Results((*FIRST, *SECOND)), "Edda Kolm")
    second = of_week(history, 2)
    assert [piece.target_ms for piece in second] == [136_000, 132_400, 128_000, 125_200]
    assert [piece.split_ms for piece in second] == [136_200, 132_200, 128_900, 125_100]
    assert [piece.segment for piece in second] == [2, 3, 4, 5]


def test_a_newcomer_s_first_week_had_no_targets() -> None:
    history = history_of(block_of(), Results(tuple(FIRST)), "Edda Kolm")
    assert [piece.target_ms for piece in of_week(history, 1)] == [None] * 4


def test_what_comes_next_follows_the_last_week_rowed() -> None:
    """Week 3 is 1.5 s faster at the plan's rates: what was held last at each, 24 in week 1."""
    history = history_of(block_of(), Results((*FIRST, *SECOND)), "Edda Kolm")
    assert [(piece.rate, piece.split_ms) for piece in history.next_week] == [
        (18, 130_700),
        (20, 127_400),
        (22, 123_600),
        (24, 123_700),
    ]
    assert "1.5 s faster than that" in history.next_week[0].reason


def test_after_the_last_week_nothing_comes() -> None:
    last = rows("04-02", (136, 132, 128, 125))
    assert history_of(block_of(), Results(tuple(last)), "Edda Kolm").next_week == ()


def test_before_the_first_week_it_comes_first() -> None:
    history = history_of(block_of(), Results(()), "Edda Kolm")
    assert history.pieces == ()
    assert [piece.effort_pct for piece in history.next_week] == [70, 75, 80, 85]


def test_a_number_of_the_plan_says_which_piece_it_was() -> None:
    out_of_order = rows("03-05", (128.0,), (20,), segment="3")
    (piece,) = history_of(block_of(), Results(tuple(out_of_order)), "Edda Kolm").pieces
    assert piece.segment == 3


def test_without_numbers_the_rate_says_it() -> None:
    held = Results((*FIRST, *rows("03-12", (132.0,), (18,))))
    (piece,) = of_week(history_of(block_of(), held, "Edda Kolm"), 2)
    assert (piece.segment, piece.target_ms) == (3, 132_400)


def test_a_rate_that_the_week_does_not_have_has_no_target() -> None:
    held = Results((*FIRST, *rows("03-12", (132.0,), (30,))))
    (piece,) = of_week(history_of(block_of(), held, "Edda Kolm"), 2)
    assert (piece.segment, piece.target_ms) == (None, None)


def test_weeks_carry_their_rules_in_words() -> None:
    weeks = history_of(block_of(), Results(()), "Edda Kolm").weeks
    assert [(week.progress, week.easy) for week in weeks][1::3] == [
        ("same splits, 2 strokes lower", False),
        ("deload, pieces 60 % as long, 3 s easier", True),
    ]


def test_other_sessions_are_left_out() -> None:
    sprint = rows("03-06", (110.0,), (32,), session="Sunday sprints")
    assert history_of(block_of(), Results(tuple(sprint)), "Edda Kolm").pieces == ()


def test_a_slip_in_the_name_is_refused() -> None:
    with pytest.raises(BlockError, match="no rower of that name"):
        history_of(block_of(), Results(()), "Edda Kolmm")
