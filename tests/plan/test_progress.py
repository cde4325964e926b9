"""Tests of cuegen.plan.progress: how a session moves on from week to week.

Outside check: the same split two strokes lower is 12.5 % more work per stroke from 18 to
16, 11.1 % from 20 to 18, 10 % from 22 to 20 (power over rate, derived).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.errors import PlanError
from cuegen.plan.model import Distance, Duration, Session
from cuegen.plan.notation_text import write_notation
from cuegen.plan.progress import RULES, Progress, Rule, own_numbers, progressed
from cuegen.plan.reading import read_plan
from cuegen.targets.power import work_per_stroke
from tests.plan.strategies import sessions


def plan(*lines: str) -> Session:
    return read_plan("session: |\n" + "".join(f"  {line}\n" for line in lines))


def by(rule: Rule, amount: float, *lines: str) -> list[str]:
    """Return the lines of a session as the rule makes them."""
    return write_notation(progressed(plan(*lines), Progress(rule, amount)).entries).splitlines()


STEPS = ("warm-up 5:00 r18", "4 x 4:00 r18/20/22/24 @2:16/-4/-4/-3 70/75/80/85%", "cool-down 4:00")


def test_hold_leaves_the_plan_as_it_stands() -> None:
    assert progressed(plan(*STEPS), Progress()) == plan(*STEPS)


def test_lower_asks_the_splits_of_the_plan_s_rates_two_strokes_lower() -> None:
    assert by(Rule.LOWER, 2, *STEPS) == [
        "warm-up 5:00 r18",
        "4 x 4:00 r16/18/20/22 @last+2 70/75/80/85%",
        "cool-down 4:00",
    ]


def test_faster_asks_so_much_more_at_the_same_rates() -> None:
    assert by(Rule.FASTER, 1.5, *STEPS)[1] == "4 x 4:00 r18/20/22/24 @last-1.5s 70/75/80/85%"


def test_longer_pieces_come_out_in_round_figures() -> None:
    assert by(Rule.LONGER, 20, *STEPS)[1] == "4 x 4:50 r18/20/22/24 @last 70/75/80/85%"
    assert by(Rule.LONGER, 25, "2 x 750m r24 @2:00") == ["2 x 940m r24 @last"]


def test_a_deload_week_is_shorter_and_easier() -> None:
    assert by(Rule.DELOAD, 60, *STEPS)[1] == "4 x 2:20 r18/20/22/24 @last+3s 60/65/70/75%"


def test_a_deload_leaves_something_to_row() -> None:
    assert by(Rule.DELOAD, 20, "0:40 r24 @2:00") == ["0:30 r24 @last+3s"]
    assert by(Rule.DELOAD, 20, "150m r24 @2:00") == ["100m r24 @last+3s"]


@pytest.mark.parametrize("rule", Rule)
def test_effort_alone_keeps_leading(rule: Rule) -> None:
    spec = RULES[rule]
    found = progressed(plan("6:00 r20 @free 70%", "6:00 70%"), Progress(rule, spec.default))
    assert [entry.targets for entry in found.entries] == [plan("6:00 @free").entries[0].targets, ()]


def test_breaks_stay_as_they_are() -> None:
    assert by(Rule.DELOAD, 50, "3 x 4:00 r20 @2:05, paddle 1:30") == [
        "3 x 2:00 r20 @last+3s, paddle 1:30"
    ]


def test_what_a_plan_asks_of_another_rate_is_asked_in_step() -> None:
    assert by(Rule.LOWER, 2, "4:00 r18 @last+2") == ["4:00 r16 @last+4"]
    assert by(Rule.FASTER, 1, "2 x 4:00 r18/20 @last r20/r22") == ["2 x 4:00 r18/20 @last+2-1s"]


def test_a_list_with_a_free_piece_keeps_it_free() -> None:
    assert by(Rule.FASTER, 1, "3 x 4:00 r18/20/22 @2:10/free/-3") == [
        "3 x 4:00 r18/20/22 @last-1s/free/last-1s"
    ]


def test_a_number_without_a_rate_cannot_move_on() -> None:
    with pytest.raises(PlanError, match="this piece has no rate, which the week's progress needs"):
        progressed(plan("4:00 @2:05"), Progress(Rule.LOWER, 2))


def test_strokes_are_only_taken_off_where_there_are_any() -> None:
    with pytest.raises(PlanError, match="6 strokes lower leaves no rate"):
        progressed(plan("4:00 r6 @2:05"), Progress(Rule.LOWER, 6))


def test_a_group_s_number_becomes_each_rower_s_own() -> None:
    found = own_numbers(plan("2 x 4:00 r18/20 @2:14/-3", "4:00 r20 @last+2", "4:00 @free"))
    assert write_notation(found.entries).splitlines() == [
        "2 x 4:00 r18/20 @last",
        "4:00 r20 @last+2",
        "4:00 @free",
    ]


@pytest.mark.parametrize(("high", "more"), [(18, 12.5), (20, 11.1), (22, 10.0), (24, 9.1)])
def test_two_strokes_lower_is_the_work_the_handbook_says(high: int, more: float) -> None:
    low = high - 2
    ratio = work_per_stroke(120_000, low) / work_per_stroke(120_000, high)
    assert round(100 * (ratio - 1), 1) == more


def test_a_rule_in_words_names_its_amount() -> None:
    assert str(Progress(Rule.LOWER, 2)) == "same splits, 2 strokes lower"
    assert str(Progress(Rule.FASTER, 1.5)) == "same rates, 1.5 s faster"
    assert str(Progress()) == "as planned"


@given(sessions(), st.sampled_from(list(Rule)), st.data())
def test_what_a_rule_makes_can_be_written_as_a_plan(
    session: Session, rule: Rule, data: st.DataObject
) -> None:
    spec = RULES[rule]
    amount = float(data.draw(st.integers(int(spec.low + 0.5), int(spec.high))))
    try:
        found = progressed(session, Progress(rule, amount))
    except PlanError:
        return
    text = "session: |\n" + "".join(f"  {x}\n" for x in write_notation(found.entries).splitlines())
    assert [entry.kind for entry in read_plan(text).entries] == [e.kind for e in session.entries]


@given(sessions(), st.floats(1, 100))
def test_longer_is_never_shorter(session: Session, per_cent: float) -> None:
    found = progressed(session, Progress(Rule.LONGER, per_cent))
    for before, after in zip(session.entries, found.entries, strict=True):
        for one, other in zip(before.lengths, after.lengths, strict=True):
            match one, other:
                case Duration(ms=ms), Duration(ms=longer):
                    assert longer >= ms - 5_000
                case Distance(metres=metres), Distance(metres=longer):
                    assert longer >= metres - 5
