"""Asked against rowed, with the values of the trade's tables.

Marks: CP common practice, no source; D derived by hand from the formula beside it.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.clock import parse_split
from cuegen.targets.placing import Numbering
from cuegen.targets.reviewed import Outcome, PieceReview, Review, Rule, StepReview
from tests.targets.reviews import DAY, STEPS, good, held, reviewed


def ms(text: str) -> int:
    split_ms = parse_split(text)
    assert split_ms is not None
    return split_ms


def one_piece(asked: str, rowed_ms: int, rate: int = 20) -> PieceReview:
    (piece,) = reviewed(f"4:00 r20 {asked}", held(1, rate, rowed_ms)).pieces
    return piece


def step_of(first: tuple[int, int], second: tuple[int, int]) -> StepReview:
    """The step between two pieces of (rate, split)."""
    session = f"2 x 4:00 r{first[0]}/{second[0]} @2:00/2:00"
    (step,) = reviewed(session, held(1, *first), held(2, *second)).steps
    return step


# ------------------------------------------------------------- piece by piece


def test_a_session_piece_by_piece() -> None:
    found = good()
    assert [
        (one.planned.piece, one.planned.segment, one.planned.theme) for one in found.pieces
    ] == [
        (1, 2, "a"),
        (2, 3, "b"),
        (3, 4, "c"),
        (4, 5, "d"),
    ]
    assert [one.planned.split_ms for one in found.pieces] == [134_000, 131_000, 128_000, 125_000]
    assert [one.change_ms for one in found.pieces] == [200, -200, 100, -100]
    assert [one.felt_change_pct for one in found.pieces] == [0, 0, 5, 0]
    assert [one.steadiness is None for one in found.pieces] == [True, False, True, False]
    assert (found.title, found.rower, found.day) == ("By the weir", "Maren Holt", DAY)
    assert (found.not_rowed, found.unplanned, found.again) == ((), (), ())
    assert found.numbering is Numbering.SEGMENTS


@pytest.mark.parametrize(
    ("rowed_ms", "outcome"),
    [
        (119_500, Outcome.HELD),
        (120_500, Outcome.HELD),
        (119_499, Outcome.FASTER),
        (120_501, Outcome.SLOWER),
    ],
)
def test_a_target_is_held_within_half_a_second(rowed_ms: int, outcome: Outcome) -> None:
    assert one_piece("@2:00", rowed_ms).outcome is outcome


def test_power_against_that_of_the_split_asked() -> None:
    """CP: 2:00 is 202.55 W, 2:05 is 179.20 W exactly: 11.53 % less."""
    assert one_piece("@2:00", ms("2:05")).power_pct == pytest.approx(-11.53, abs=0.005)
    assert one_piece("@2:05", ms("2:00")).power_pct == pytest.approx(13.03, abs=0.005)


def test_work_per_stroke_at_two_minutes_and_24() -> None:
    """D: 60 x 202.55 / 24 = 506.4 J."""
    assert one_piece("@2:00", ms("2:00"), 24).work_j == pytest.approx(506.4, abs=0.05)


def test_watts_ask_the_split_of_that_power() -> None:
    """CP: 200 W is 2:00.51."""
    piece = one_piece("@200W", ms("2:00.5"))
    assert piece.planned.split_ms == pytest.approx(ms("2:00.51"), abs=5)
    assert piece.outcome is Outcome.HELD


@pytest.mark.parametrize(("rate", "change"), [(17, -1), (18, 0), (19, 0), (20, 0), (22, 2)])
def test_a_rate_within_its_band_is_the_one_that_was_asked(rate: int, change: int) -> None:
    (piece,) = reviewed("4:00 r18-20 @2:00", held(1, rate, 120_000)).pieces
    assert piece.rate_change == change


def test_where_effort_leads_no_target_is_judged() -> None:
    (piece,) = reviewed("4:00 r20 80%", held(1, 20, 120_000, felt_pct=90)).pieces
    assert (piece.change_ms, piece.power_pct, piece.outcome) == (None, None, None)
    assert (piece.planned.effort_pct, piece.felt_change_pct) == (80, 10)


def test_an_effort_that_the_plan_does_not_name_is_not_compared() -> None:
    """With a split and no effort in the plan, how hard it should feel is not known."""
    (piece,) = reviewed("4:00 r20 @2:00", held(1, 20, 120_000, felt_pct=90)).pieces
    assert (piece.planned.effort_pct, piece.felt_change_pct) == (None, None)


def test_a_step_from_a_split_that_was_found_is_reckoned_from_it() -> None:
    """Rowed freely at 2:10.4, so 3 s faster is 2:07.4; and the next from what was rowed then."""
    session = "3 x 4:00 r18/20/22 @2:12/-2/-3; 4:00 r24 @free; 2 x 4:00 r24/26 @-3/-3"
    found = reviewed(
        session,
        *(held(number, 18, ms("2:12")) for number in (1, 2, 3)),
        held(4, 24, ms("2:10.4")),
        held(5, 24, ms("2:07.8")),
        held(6, 26, ms("2:04.0")),
    )
    planned = [(one.planned.split_ms, one.planned.stepped) for one in found.pieces]
    assert planned == [
        (132_000, False),
        (130_000, False),
        (127_000, False),
        (None, False),
        (127_400, True),
        (124_800, True),
    ]
    assert [one.outcome for one in found.pieces[4:]] == [Outcome.HELD, Outcome.FASTER]


def test_a_paddle_is_passed_over_when_a_step_is_reckoned() -> None:
    session = "4:00 r18 @2:12; 4:00 r20 @free; paddle 2:00 @2:40; 4:00 r22 @-3"
    splits = (held(1, 18, 132_000), held(2, 20, 129_500), held(4, 22, 126_500))
    assert reviewed(session, *splits).pieces[2].planned.split_ms == 126_500


def test_a_newcomers_step_is_led_by_effort_as_on_the_sheet() -> None:
    """Without a result to start from, nobody was asked for 3 s."""
    found = reviewed("2 x 4:00 r18/20 @last/-3", held(1, 18, 132_000), held(2, 20, 129_000))
    assert [one.planned.split_ms for one in found.pieces] == [None, None]
    assert found.steps[0].asked_ms is None


def test_no_step_is_reckoned_from_a_piece_that_was_not_rowed() -> None:
    session = "4:00 r18 @2:12; 2 x 4:00 r20/22 @free; 4:00 r24 @-3"
    found = reviewed(session, held(1, 18, ms("2:12")), held(4, 24, ms("2:05")))
    assert [one.planned.split_ms for one in found.pieces] == [132_000, None]


# --------------------------------------------------------------- step by step


@pytest.mark.parametrize(
    ("rate", "split"),
    [
        (18, "2:12.1"),
        (20, "2:07.5"),
        (22, "2:03.5"),
        (26, "1:56.8"),
        (28, "1:54.0"),
        (30, "1:51.4"),
        (32, "1:49.0"),
    ],
)
def test_constant_work_per_stroke_from_two_minutes_at_24(rate: int, split: str) -> None:
    """D: 120 s x (24 / rate)^(1/3), to the tenth; who rows it has the same work in each stroke."""
    step = step_of((24, ms("2:00")), (rate, ms(split)))
    assert step.constant_ms == pytest.approx(ms(split), abs=50)
    assert step.per_step_ms == pytest.approx(step.constant_per_step_ms, abs=50)
    assert step.work_pct == pytest.approx(0, abs=0.15)


@pytest.mark.parametrize(
    ("split", "steps"),
    [
        ("1:45", (4.0, 3.6, 3.3, 3.0)),
        ("2:00", (4.6, 4.1, 3.8, 3.4)),
        ("2:15", (5.2, 4.7, 4.2, 3.9)),
    ],
)
def test_what_two_strokes_are_worth_at_constant_work(split: str, steps: tuple[float, ...]) -> None:
    """D: for 16 to 18, 18 to 20, 20 to 22, 22 to 24."""
    for rate, seconds in zip((16, 18, 20, 22), steps, strict=True):
        step = step_of((rate, ms(split)), (rate + 2, ms("2:00")))
        assert step.constant_per_step_ms == pytest.approx(1000 * seconds, abs=50)


@pytest.mark.parametrize(
    ("second_ms", "rule"),
    [
        (118_001, Rule.BELOW),
        (118_000, Rule.WITHIN),
        (115_000, Rule.WITHIN),
        (114_999, Rule.ABOVE),
        (121_000, Rule.BELOW),
    ],
)
def test_the_rule_of_two_to_five_seconds(second_ms: int, rule: Rule) -> None:
    """CP: a step of two strokes is worth 2 to 5 s, both included."""
    assert step_of((20, 120_000), (22, second_ms)).rule is rule


@pytest.mark.parametrize(
    ("rates", "splits", "gained_ms", "per_step_ms"),
    [
        ((18, 22), (126_000, 120_000), 6_000, 3_000),
        ((22, 18), (120_000, 126_000), -6_000, 3_000),
        ((18, 19), (126_000, 124_500), 1_500, 3_000),
        ((18, 21), (126_000, 127_500), -1_500, -1_000),
    ],
    ids=["up by four", "down by four", "up by one", "up, and slower"],
)
def test_what_is_gained_is_for_two_strokes_whichever_way_the_rate_goes(
    rates: tuple[int, int], splits: tuple[int, int], gained_ms: int, per_step_ms: int
) -> None:
    step = step_of((rates[0], splits[0]), (rates[1], splits[1]))
    assert (step.rates, step.gained_ms, step.per_step_ms) == (rates, gained_ms, per_step_ms)


def test_more_gained_than_constant_work_gives_is_more_work_in_each_stroke() -> None:
    """D: 2:00 is 202.55 W and 1:52 249.12 W (CP), at 24 and 26: 249.12 / 202.55 x 24 / 26."""
    step = step_of((24, ms("2:00")), (26, ms("1:52")))
    assert step.work_pct == pytest.approx(100 * (249.12 / 202.55 * 24 / 26 - 1), abs=0.01)


def test_steps_are_those_between_pieces_that_were_rowed() -> None:
    found = reviewed(STEPS, held(2, 17, 134_000), held(4, 21, 128_000), held(5, 21, 127_000))
    assert [(one.pieces, one.rates) for one in found.steps] == [((1, 3), (17, 21))]


@pytest.mark.parametrize(("rates", "steps"), [("24/24", 0), ("24/25", 1), ("23-24/24", 1)])
def test_one_stroke_off_a_rate_that_was_asked_twice_is_no_step(rates: str, steps: int) -> None:
    found = reviewed(f"2 x 4:00 r{rates} @2:00", held(1, 24, 120_000), held(2, 25, 119_000))
    assert len(found.steps) == steps


def test_two_strokes_off_it_are_a_step() -> None:
    found = reviewed("2 x 4:00 r24 @2:00", held(1, 24, 120_000), held(2, 26, 117_000))
    assert len(found.steps) == 1


def test_what_the_plan_asked_to_gain() -> None:
    assert [one.asked_ms for one in good().steps] == [3_000, 3_000, 3_000]
    session = "4:00 r20 @2:10; 4:00 r22 @free; 4:00 r24 @-3"
    splits = (held(1, 20, 130_000), held(2, 22, 127_000), held(3, 24, 125_000))
    assert [one.asked_ms for one in reviewed(session, *splits).steps] == [None, 3_000]


@pytest.mark.parametrize(
    ("session", "alike"),
    [
        ("2 x 4:00 r20/22 @2:00", True),
        ("2 x 750m r20/22 @2:00", True),
        ("4:00 r20 @2:00; 3:00 r22 @2:00", False),
        ("4:00 r20 @2:00; 1000m r22 @2:00", False),
    ],
)
def test_pieces_of_one_length_are_alike(session: str, alike: bool) -> None:
    found = reviewed(session, held(1, 20, 120_000), held(2, 22, 117_000))
    assert [one.alike for one in found.steps] == [alike]


# ------------------------------------------------------------------ as a whole


def test_the_mean_split_is_that_of_the_mean_speed() -> None:
    """D: a minute at 1:40 is 300 m, four at 2:30 are 800 m: 1100 m in 300 s are 136.364 s."""
    found = reviewed(
        "1:00 r20 @1:40; 4:00 r20 @2:30", held(1, 20, 100_000), held(2, 20, 150_000)
    ).whole
    assert (found.time_ms, found.metres, found.split_ms) == (300_000, 1100, 136_364)


def test_a_piece_in_metres_lasts_as_long_as_its_split_makes_it() -> None:
    """D: 750 m at 2:00 take 180 s."""
    (piece,) = reviewed("750m r26 @2:00", held(1, 26, 120_000, metres=750.0)).pieces
    assert (piece.time_ms, piece.metres) == (180_000, 750)


def test_a_length_that_was_logged_goes_before_the_plans() -> None:
    (piece,) = reviewed("4:00 r20 @2:00", held(1, 20, 120_000, duration_ms=180_000)).pieces
    assert piece.time_ms == 180_000
    (piece,) = reviewed("750m r20 @2:00", held(1, 20, 120_000, metres=500.0)).pieces
    assert piece.time_ms == 120_000


def test_targets_are_counted_by_how_they_came_out() -> None:
    found = reviewed(
        "4 x 4:00 r20 @2:00; 4:00 r20 @free",
        *(held(n, 20, split) for n, split in enumerate((120_000, 119_000, 118_000, 121_000), 1)),
        held(5, 20, 125_000),
    ).whole
    assert (found.targets, found.held, found.faster, found.slower) == (4, 1, 2, 1)


def test_what_was_not_rowed_and_what_the_plan_does_not_have() -> None:
    extra = held(9, 30, 110_000)
    found = reviewed(STEPS, held(2, 17, 134_000), held(5, 23, 125_000), extra)
    assert [one.segment for one in found.not_rowed] == [3, 4]
    assert found.unplanned == (extra,)
    assert found.whole.targets == 2


def test_nothing_that_was_rowed_is_no_session() -> None:
    found = reviewed(STEPS)
    assert (found.pieces, found.steps) == ((), ())
    assert (found.whole.time_ms, found.whole.metres, found.whole.split_ms) == (0, 0, None)
    assert len(found.not_rowed) == 4


@given(
    st.lists(st.tuples(st.integers(16, 32), st.integers(80_000, 200_000)), min_size=4, max_size=4)
)
def test_whatever_was_rowed_every_piece_is_once_somewhere(rows: list[tuple[int, int]]) -> None:
    found: Review = reviewed(STEPS, *(held(n, *row) for n, row in enumerate(rows, 2)))
    assert len(found.pieces) + len(found.not_rowed) == 4
    splits = [one.rowed.split_ms for one in found.pieces]
    assert found.whole.split_ms is not None
    assert min(splits) - 1 <= found.whole.split_ms <= max(splits) + 1
    assert found.whole.held + found.whole.faster + found.whole.slower == found.whole.targets == 4
    for step in found.steps:
        gained = step.gained_ms * 2 / (step.rates[1] - step.rates[0])
        assert step.per_step_ms == pytest.approx(gained, abs=0.5)
        assert (step.work_pct > 0) == (
            step.gained_ms > splits[step.pieces[0] - 1] - step.constant_ms
        ) or abs(step.work_pct) < 0.01
