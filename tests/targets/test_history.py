"""What a block comes to: best and last, what moved, how many targets were met.

Marks: CP common practice, no source; D derived by hand from the formula beside it.
"""

from __future__ import annotations

import pytest
from hypothesis import given

from cuegen.clock import split_text
from cuegen.targets.history import (
    BlockWeek,
    History,
    RateChange,
    RateWeek,
    RowedPiece,
    TargetsMet,
    percent_more,
    rate_changes,
    rate_weeks,
    shown_ms,
    targets_met,
    work_change,
)
from tests.targets.histories import histories, history, ms, piece


@pytest.mark.parametrize(
    ("held", "rate", "joules", "within"),
    [
        ("2:00.0", 24, 506.4, 0.05),  # D: 60 x 202.55 / 24, in the tables of the trade
        ("1:40.0", 20, 1050.0, 1e-9),  # D: 60 x 350 / 20, P exact
        ("2:05.0", 20, 537.6, 1e-9),  # D: 60 x 179.2 / 20, P exact
        ("2:10.0", 18, 531.03, 0.02),  # D: 60 x 159.31 / 18, P as the table has it (CP)
    ],
)
def test_work_per_stroke_is_sixty_times_power_over_rate(
    held: str, rate: int, joules: float, within: float
) -> None:
    assert piece(rate, held).work_j == pytest.approx(joules, abs=within)


@pytest.mark.parametrize(
    ("held", "target", "over_ms", "met"),
    [
        ("2:10.5", "2:10.0", 500, True),
        ("2:10.6", "2:10.0", 600, False),
        ("2:08.0", "2:10.0", -2_000, True),
        ("2:10.54", "2:10.0", 500, True),  # shows as 2:10.5
        ("2:10.55", "2:10.0", 600, False),  # shows as 2:10.6
    ],
)
def test_a_target_is_met_up_to_half_a_second_over_as_shown(
    held: str, target: str, over_ms: int, met: bool
) -> None:
    one = piece(20, held, target)
    assert (one.over_ms, one.is_met) == (over_ms, met)


def test_without_a_target_nothing_is_met_or_missed() -> None:
    assert (piece().over_ms, piece().is_met) == (None, None)


@pytest.mark.parametrize(
    ("split", "shown"), [("1:59.96", "2:00.0"), ("2:10.04", "2:10.0"), ("2:10.05", "2:10.1")]
)
def test_what_is_compared_is_what_is_shown(split: str, shown: str) -> None:
    assert shown_ms(ms(split)) == ms(shown)
    assert split_text(ms(split)) == shown


def test_a_week_s_best_is_its_fastest_and_its_last_the_latest() -> None:
    rowed = (piece(20, "2:10.0", day=1), piece(20, "2:08.0", day=2), piece(20, "2:09.0", day=3))
    found = rate_weeks(history(pieces=rowed))
    assert found == (RateWeek(1, 20, 3, ms("2:08.0"), ms("2:09.0")),)
    assert found[0].work_j == piece(20, "2:08.0").work_j


def test_weeks_come_in_order_and_in_each_the_rates() -> None:
    found = rate_weeks(history())
    assert [(one.week, one.rate) for one in found[:9]] == [
        *((1, 18), (1, 20), (1, 22), (1, 24)),
        *((2, 16), (2, 18), (2, 20), (2, 22)),
        (3, 18),
    ]


def test_a_rate_s_change_runs_from_its_first_week_to_its_last_past_the_easy_one() -> None:
    assert rate_changes(history()) == (
        RateChange(18, 1, 4, ms("2:16.0"), ms("2:11.0")),
        RateChange(20, 1, 4, ms("2:12.4"), ms("2:08.1")),
        RateChange(22, 1, 4, ms("2:08.9"), ms("2:05.2")),
        RateChange(24, 1, 4, ms("2:05.6"), ms("2:03.9")),
    )
    assert [one.change_ms for one in rate_changes(history())] == [-5_000, -4_300, -3_700, -1_700]


def test_an_easy_week_at_the_end_is_not_where_a_rate_ended() -> None:
    weeks = (BlockWeek(1, "", ""), BlockWeek(2, "", ""), BlockWeek(3, "", "", easy=True))
    rowed = tuple(
        piece(20, held, week=week, day=week)
        for week, held in ((1, "2:10.0"), (2, "2:09.0"), (3, "2:20.0"))
    )
    made = history(weeks=weeks, pieces=rowed)
    assert rate_changes(made) == (RateChange(20, 1, 2, ms("2:10.0"), ms("2:09.0")),)
    assert (made.easy_weeks, made.rowed_weeks) == ((3,), (1, 2, 3))


def test_splits_that_show_the_same_have_not_changed() -> None:
    change = RateChange(20, 1, 2, ms("2:09.44"), ms("2:09.36"))
    assert change.change_ms == 0


def test_a_rate_of_one_week_has_no_change() -> None:
    assert 16 not in {one.rate for one in rate_changes(history())}


@pytest.mark.parametrize(("rate", "pct"), [(18, 11), (20, 10), (22, 9)])
def test_the_same_split_two_strokes_lower_raises_mean_work_as_the_trade_s_table_says(
    rate: int, pct: int
) -> None:
    """D: (rate + 2) / rate: 11.1 % at 18, 10 % at 20, 9.1 % at 22."""
    rowed = (piece(rate + 2, "2:08.0"), piece(rate, "2:08.0", week=2, day=8))
    change = work_change(history(pieces=rowed))
    assert change is not None
    assert (change.first_week, change.last_week, change.work_pct) == (1, 2, pct)


def test_mean_work_counts_every_piece_of_the_first_and_the_last_week_alike() -> None:
    """D: 60 x 350 / 20 = 1050 J, 60 x 179.2 / 20 = 537.6 J; half of the sum is 793.8 J."""
    rowed = (piece(20, "2:05.0"), piece(20, "1:40.0"), piece(20, "2:05.0", week=2, day=8))
    change = work_change(history(pieces=rowed))
    assert change is not None
    assert change.first_j == pytest.approx(793.8)
    assert change.last_j == pytest.approx(537.6)
    assert change.work_pct == -32  # D: 537.6 / 793.8 = 0.677


def test_targets_met_and_by_how_much_the_others_were_missed() -> None:
    judged = targets_met(history())
    assert (judged.pieces, judged.met, judged.share) == (16, 15, 0.9375)
    assert [one.split_ms for one in judged.missed] == [ms("2:03.9")]
    assert judged.mean_miss_ms == 1_400


def test_the_mean_miss_is_of_the_missed_alone() -> None:
    rowed = (
        piece(20, "2:11.0", "2:10.0"),
        piece(20, "2:12.0", "2:10.0", day=2),
        piece(20, "2:00.0", "2:10.0", day=3),
        piece(20, "2:30.0", day=4),
    )
    judged = targets_met(history(pieces=rowed))
    assert (judged.pieces, judged.met, judged.mean_miss_ms) == (3, 1, 1_500)


@pytest.mark.parametrize("rowed", [(), (piece(),)])
def test_nothing_to_compare_is_nothing_and_no_number(rowed: tuple[RowedPiece, ...]) -> None:
    made = history(pieces=rowed)
    assert (rate_changes(made), work_change(made)) == ((), None)
    assert targets_met(made) == TargetsMet(0, 0, ())
    assert (targets_met(made).share, targets_met(made).mean_miss_ms) == (None, None)


def test_a_week_that_the_block_does_not_know_is_compared_and_has_no_title() -> None:
    assert history().week(9) == BlockWeek(9, "", "", easy=False)


@pytest.mark.parametrize(
    ("first", "last", "pct"), [(400.0, 450.0, 13), (400.0, 400.0, 0), (500.0, 450.0, -10)]
)
def test_per_cent_are_whole_half_up(first: float, last: float, pct: int) -> None:
    assert percent_more(first, last) == pct


@given(histories())
def test_every_summary_is_of_pieces_that_are_there(made: History) -> None:
    held = {(one.week, one.rate, one.split_ms) for one in made.pieces}
    for change in rate_changes(made):
        assert (change.first_week, change.rate, change.first_ms) in held
        assert (change.last_week, change.rate, change.last_ms) in held
        assert change.first_week < change.last_week
        assert not {change.first_week, change.last_week} & set(made.easy_weeks)
    for one in rate_weeks(made):
        assert {(one.week, one.rate, one.best_ms), (one.week, one.rate, one.last_ms)} <= held
        assert one.best_ms <= one.last_ms
    judged = targets_met(made)
    assert judged.met + len(judged.missed) == judged.pieces <= len(made.pieces)


@given(histories())
def test_a_rate_is_called_faster_only_where_its_split_is_lower(made: History) -> None:
    for change in rate_changes(made):
        if change.change_ms < 0:
            assert change.last_ms < change.first_ms
            assert change.last_j > change.first_j
        if change.change_ms > 0:
            assert change.last_ms > change.first_ms
