"""Tests of cuegen.plan.block: a run of weeks, the session of each, which week a day belongs to."""

from __future__ import annotations

from datetime import date

import pytest

from cuegen.errors import BlockError, PlanError
from cuegen.plan.block import week_of, week_session
from cuegen.plan.model import Audience, Block
from cuegen.plan.notation_text import write_notation
from tests.plan.blocks import BLOCK, block_of


def board(number: int, rower: str | None = None) -> list[str]:
    return write_notation(week_session(block_of(), number, rower).entries).splitlines()


class TestWeekSession:
    def test_carries_the_week_in_title_and_block(self) -> None:
        session = week_session(block_of(), 2)
        assert session.title == "Lock steps, week 2"
        assert session.block == Block("Weir spring", 2)

    def test_is_the_plan_as_the_week_s_rule_makes_it(self) -> None:
        assert board(1)[1] == "4 x 4:00 r18/20/22/24 @2:16/-4/-4/-3 70/75/80/85%"
        assert board(2)[1] == "4 x 4:00 r16/18/20/22 @last+2 70/75/80/85%"
        assert board(4) == ["22:00 r20 @last"]

    def test_has_the_week_s_changes(self) -> None:
        third = week_session(block_of(), 3)
        assert (third.talk_share, third.phrase_book) == (0.25, "calm")
        assert week_session(block_of(), 2).talk_share == 0.30

    def test_for_a_rower_is_their_own(self) -> None:
        session = week_session(block_of(), 1, "tore vass")
        assert (session.audience, session.rower) == (Audience.SOLO, "Tore Vass")
        assert session.rower_say == "Toor-uh Vass"

    def test_for_a_rower_asks_what_they_held_instead_of_the_group_s_number(self) -> None:
        assert board(1, "Edda Kolm")[1] == "4 x 4:00 r18/20/22/24 @last 70/75/80/85%"

    def test_of_a_solo_plan_keeps_its_numbers(self) -> None:
        text = BLOCK.replace("  - {plan: long.yaml, progress: longer 10 %}", "  - plan: long.yaml")
        session = week_session(block_of(text), 4, "Edda Kolm")
        assert write_notation(session.entries).splitlines() == ["20:00 r20 @2:10"]

    def test_is_for_guests_too(self) -> None:
        assert week_session(block_of(), 1, "Juno Hart").rower == "Juno Hart"

    def test_refuses_a_slip_in_a_name(self) -> None:
        with pytest.raises(BlockError, match="no rower of that name") as caught:
            week_session(block_of(), 1, "Edda Kolmm")
        assert caught.value.remedy.startswith("Did you mean 'Edda Kolm'?")

    @pytest.mark.parametrize("number", [0, 6, -1])
    def test_refuses_a_week_that_is_none(self, number: int) -> None:
        with pytest.raises(BlockError, match=f"has no week {number}") as caught:
            week_session(block_of(), number)
        assert caught.value.remedy == "It has weeks 1 to 5."

    def test_refuses_a_line_that_a_shorter_week_would_never_say(self) -> None:
        say = '{say: [{at: "24:00", text: Row it home.}]}'
        text = BLOCK.replace("progress: deload", f"{{progress: deload, changes: {say}}}")
        assert week_session(block_of(text.replace("deload", "hold")), 5).say
        with pytest.raises(PlanError, match="this instant lies after the last stroke"):
            week_session(block_of(text), 5)


class TestWeekOf:
    @pytest.mark.parametrize(
        ("day", "week"),
        [
            (date(2031, 3, 2), None),
            (date(2031, 3, 3), 1),
            (date(2031, 3, 9), 1),
            (date(2031, 3, 10), 2),
            (date(2031, 4, 6), 5),
            (date(2031, 4, 7), None),
        ],
    )
    def test_a_day_belongs_to_the_week_it_lies_in(self, day: date, week: int | None) -> None:
        assert week_of(block_of(), day) == week

    def test_a_session_made_up_for_late_belongs_to_its_own_week(self) -> None:
        assert week_of(block_of(), date(2031, 3, 12), "lock steps,  Week 1") == 1

    def test_the_plan_s_own_title_leaves_it_to_the_day(self) -> None:
        assert week_of(block_of(), date(2031, 3, 12), "Lock steps") == 2

    def test_another_session_is_none_of_them(self) -> None:
        assert week_of(block_of(), date(2031, 3, 12), "Sunday sprints") is None


def test_a_week_begins_seven_days_after_the_one_before() -> None:
    assert [block_of().first_day(n) for n in (1, 2, 5)] == [
        date(2031, 3, 3),
        date(2031, 3, 10),
        date(2031, 3, 31),
    ]
