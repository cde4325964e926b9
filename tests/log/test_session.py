"""A whole session in one line."""

from __future__ import annotations

from typing import Any

import pytest

from cuegen.errors import LogError
from cuegen.log.session import Given, pieces_of, session_entries
from cuegen.plan.reading import read_plan
from tests.log.samples import DAY

PLAN = read_plan(
    "title: Thursday\n"
    "session: |\n"
    "  warm-up 5:00 r18\n"
    "  3 x 4:00 r17/19-20/21 (catch/legs/length), paddle 1:00\n"
    "  750m r24\n"
    "  cool-down 4:00\n"
)


def given(*held: str, **more: Any) -> Given:
    return Given("Maren Holt", DAY, held, **more)


def test_a_plan_gives_segment_rate_length_and_label() -> None:
    """The paddles between are counted but not asked for; a band's middle is rounded up."""
    found = session_entries(given("2:14", "2:11", "896m", "2:00"), pieces_of(PLAN))
    assert [(one.segment, one.rate, one.label) for one in found] == [
        (2, 17, "1 of 3, catch"),
        (4, 20, "2 of 3, legs"),
        (6, 21, "3 of 3, length"),
        (7, 24, None),
    ]
    assert [(one.split_ms, one.duration_ms, one.metres) for one in found] == [
        (134_000, 240_000, None),
        (131_000, 240_000, None),
        (133_900, 240_000, 896.0),
        (120_000, None, 750.0),
    ]


def test_the_parts_of_a_piece_are_kept_with_the_split_that_they_make() -> None:
    """D: 1:40 and 2:30 make 2:00 where they are equal in time, 2:05 in metres."""
    held = given("1:40,2:30", "2:11", "2:08,5", "1:40,2:30")
    found = session_entries(held, pieces_of(PLAN))
    assert [(one.split_ms, one.parts_ms) for one in found] == [
        (120_000, (100_000, 150_000)),
        (131_000, ()),
        (128_500, ()),
        (125_000, (100_000, 150_000)),
    ]


def test_a_piece_not_rowed_is_left_out() -> None:
    found = session_entries(given("2:14", "-", "-", "2:00", felt="70/-/-/95"), pieces_of(PLAN))
    assert [(one.segment, one.felt_pct) for one in found] == [(2, 70), (7, 95)]


def test_rates_that_were_rowed_go_before_the_plans() -> None:
    found = session_entries(
        given("2:14", "2:11", "2:08", "2:00", rates="17/19/22/-"), pieces_of(PLAN)
    )
    assert [one.rate for one in found] == [17, 19, 22, 24]


def test_one_value_serves_all() -> None:
    found = session_entries(given("2:14", "896m", rates="18", lengths="4:00", heart_rates="150"))
    assert [(one.segment, one.rate, one.duration_ms, one.heart_rate) for one in found] == [
        (1, 18, 240_000, 150),
        (2, 18, 240_000, 150),
    ]


def test_what_is_said_of_the_session_stands_at_every_piece() -> None:
    found = session_entries(given("2:14", "2:11", rates="18", session="Thursday", note="windy"))
    assert {(one.rower, one.day, one.session, one.note) for one in found} == {
        ("Maren Holt", DAY, "Thursday", "windy")
    }


@pytest.mark.parametrize(
    ("typed", "problem"),
    [
        (given("2:14"), "for 4 pieces of work in the plan there is 1 result"),
        (given(*["2:14"] * 5), "for 4 pieces of work in the plan there are 5 results"),
        (given(*["-"] * 4), "no piece was rowed"),
        (given(*["2:14"] * 4, rates="17/19"), "rate: there are 2 values for 4 pieces"),
        (given(*["2:14"] * 4, rates="17/19/fast/20"), "rate: this is no whole number"),
        (given(*["2:14"] * 4, felt="170"), "felt: felt effort lies between 0 and 100"),
        (given(*["2:14"] * 4, lengths="4"), "duration: this is no length of time"),
        (given("2:14", "2:11", "2:08", "750m"), "this piece is 750 m long"),
    ],
)
def test_what_does_not_fit_the_plan_is_refused(typed: Given, problem: str) -> None:
    with pytest.raises(LogError, match=problem):
        session_entries(typed, pieces_of(PLAN))


def test_without_a_plan_rates_are_needed() -> None:
    with pytest.raises(LogError, match=r"(?s)rate of segment 1 is not known.*--rates 17/19"):
        session_entries(given("2:14"))
