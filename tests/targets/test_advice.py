"""The plan check: each rule speaks alone on a plan made for it, none on a sane plan."""

from __future__ import annotations

import pytest
from hypothesis import given

from cuegen.plan.model import (
    Audience,
    Break,
    Distance,
    Entry,
    FreeTarget,
    LastAtOffset,
    LastAtRate,
    Session,
    SplitTarget,
    StepTarget,
    WattsTarget,
)
from cuegen.targets.advice import RULES, Advice, Severity, advise
from cuegen.targets.outline import Outline
from cuegen.targets.resolve import outline
from cuegen.targets.results import Results, read_results
from tests.targets.plans import COOL_DOWN, PADDLE, REST, ROW, WARM_UP, entry, minutes, session
from tests.targets.test_resolve import outlines

HELD = read_results(
    "rower,date,rate,split,metres\n"
    "Ilka Brandt,2031-05-17,20,2:00,\n"
    "Ilka Brandt,2031-05-24,20,2:10,\n"
    "Jonas Reet,2031-05-24,24,2:00,2000\n"
)
WARM, COOL = entry(WARM_UP, 6, 18), entry(COOL_DOWN, 4, 18)
STEPS = (SplitTarget(134_000), StepTarget(-4000), StepTarget(-4000), StepTarget(-3500))
BUILD = entry(ROW, 4, 17, 19, 21, 23, targets=STEPS)


def held_at(split_ms: int, rate: int = 20, length: Distance | float = 4) -> Entry:
    return entry(ROW, length, rate, targets=(SplitTarget(split_ms),))


def advice(plan: Session, results: Results | None = None) -> tuple[Advice, ...]:
    return advise(outline(plan, results), results)


def only(plan: Session, results: Results | None = None) -> Advice:
    """Return the one finding of a plan; more than one is a rule that speaks out of turn."""
    found = advice(plan, results)
    assert len(found) == 1, [one.message for one in found]
    return found[0]


def around(*pieces: Entry, **settings: object) -> Session:
    return session(WARM, *pieces, COOL, **settings)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "plan",
    [
        around(BUILD),
        around(entry(ROW, 4, 16, 18, 20, 22, targets=tuple(map(LastAtRate, (18, 20, 22, 24))))),
        around(entry(ROW, 4, 18, 20, targets=(FreeTarget(), StepTarget(-3000)))),
        around(held_at(120_000, 24), entry(PADDLE, 2), held_at(117_000, 24)),
        around(entry(ROW, 60, 20, efforts=(80,))),
        around(entry(ROW, 90, 18)),
        around(entry(ROW, 2, 14), entry(PADDLE), entry(ROW, 1, 40)),
        around(entry(ROW, 4, 18, 20, 22, 24, 22, 20, 18)),
        session(entry(WARM_UP, 10)),
    ],
    ids=[
        "build",
        "last",
        "free",
        "intervals",
        "an-hour-hard",
        "long-easy",
        "rates-at-bounds",
        "pyramid",
        "no-work",
    ],
)
def test_a_sane_plan_gets_no_advice(plan: Session) -> None:
    assert advice(plan) == ()


def test_no_warm_up() -> None:
    found = only(session(BUILD, COOL))
    assert (found.rule, found.severity, found.segment) == ("no-warm-up", Severity.WARNING, 0)
    assert found.message == (
        "The work begins without a warm-up. Add a warm-up, or make sure one is rowed before. "
        "Ask a qualified coach if in doubt."
    )


def test_a_warm_up_after_the_work_is_none() -> None:
    assert only(session(BUILD, WARM, COOL)).rule == "no-warm-up"


def test_no_cool_down() -> None:
    found = only(session(WARM, BUILD))
    assert (found.rule, found.segment) == ("no-cool-down", 4)


def test_effort_jump() -> None:
    found = only(around(entry(ROW, 4, 18, 20, efforts=(65, 81))))
    assert (found.rule, found.segment) == ("effort-jump", 2)
    assert found.message.startswith("Effort jumps from 65 to 81 % at segment 3. ")
    assert advice(around(entry(ROW, 4, 18, 20, efforts=(65, 80)))) == ()


def test_an_effort_jump_across_a_rest_counts_too() -> None:
    plan = around(entry(ROW, 4, 18, 20, efforts=(60, 80), rest=Break(REST, minutes(1))))
    assert only(plan).rule == "effort-jump"


def test_hard_start() -> None:
    found = only(around(entry(ROW, 2, 28, efforts=(85,))))
    assert (found.rule, found.segment) == ("hard-start", 1)
    assert "the first piece asks 85 % with no build" in found.message.lower()
    assert advice(around(entry(ROW, 2, 28, efforts=(84,)))) == ()


def test_only_the_first_piece_can_be_a_hard_start() -> None:
    pieces = entry(ROW, 2, 28, efforts=(80, 86, 95))
    assert advice(around(pieces)) == ()


def test_a_warm_up_that_builds_is_a_build() -> None:
    warm = entry(WARM_UP, 3, 18, efforts=(55, 70))
    assert advice(session(warm, entry(ROW, 2, 28, efforts=(85,)), COOL)) == ()


def test_long_hard_work() -> None:
    found = only(around(entry(ROW, 30.5, 20, efforts=(80,), repeats=2)))
    assert (found.rule, found.segment) == ("long-hard", 1)
    assert found.message.startswith("1:01:00 of hard work (80 % or more) without a break. ")


def test_a_break_divides_long_hard_work() -> None:
    piece = entry(ROW, 40, 20, efforts=(80,), repeats=2, rest=Break(PADDLE, minutes(2)))
    assert advice(around(piece)) == ()


@pytest.mark.parametrize(("rate", "text"), [(13, "13"), (41, "41"), ((38, 42), "38-42")])
def test_rates_outside_14_to_40(rate: int | tuple[int, int], text: str) -> None:
    found = only(around(entry(ROW, 4, rate)))
    assert (found.rule, found.segment) == ("rate-range", 1)
    assert found.message.startswith(f"Segment 2 asks a rate of {text}, outside 14 to 40. ")


@pytest.mark.parametrize(
    ("split_ms", "text"),
    [(79_999, "1:20.0, faster than 1:20"), (210_001, "3:30.0, slower than 3:30")],
)
def test_splits_outside_1_20_to_3_30(split_ms: int, text: str) -> None:
    found = only(around(held_at(split_ms)))
    assert found.rule == "split-range"
    assert text in found.message


@pytest.mark.parametrize("split_ms", [80_000, 210_000])
def test_the_bounds_of_splits_are_allowed(split_ms: int) -> None:
    assert advice(around(held_at(split_ms))) == ()


def test_a_target_far_above_what_was_held_last() -> None:
    """By hand: 2:00 against 2:10 asks (130/120)^3 = 1.271; the older 2:00 no longer counts."""
    found = only(around(held_at(120_000), rower="Ilka Brandt"), HELD)
    assert (found.rule, found.segment) == ("over-results", 1)
    assert found.message.startswith(
        "Segment 2 asks 2:00.0 at rate 20, 27 % more power than 2:10.0, which Ilka Brandt's "
        "2:10.0 at rate 20 on 2031-05-24 supports. "
    )


def test_what_was_held_is_compared_at_the_segment_s_rate() -> None:
    """By hand: 2:10 at 20 is worth 130 x (20/24)^(1/3) = 122.3 s at 24."""
    assert advice(around(held_at(118_000, 24), rower="Ilka Brandt"), HELD) == ()
    found = only(around(held_at(116_000, 24), rower="Ilka Brandt"), HELD)
    assert "17 % more power than 2:02.3" in found.message


def test_what_was_held_is_compared_over_the_segment_s_distance() -> None:
    """By hand: 2:00 over 2000 m is worth 115 s over 1000 m, 126.6 s over 5000 m."""
    short = around(held_at(112_000, 24, Distance(1000)), rower="Jonas Reet")
    assert {one.rule for one in advice(short, HELD)} == {"distance-spread"}
    long = around(held_at(119_000, 24, Distance(5000)), rower="Jonas Reet")
    over = [one.message for one in advice(long, HELD) if one.rule == "over-results"]
    assert len(over) == 1
    assert "20 % more power than 2:06.6" in over[0]


def test_a_block_s_usual_step_is_supported() -> None:
    """18 to 16 at the same split asks 12.5 % more (derived)."""
    held = read_results("rower,date,rate,split\nIlka Brandt,2031-05-24,18,2:10\n")
    assert advice(around(held_at(130_000, 16), rower="Ilka Brandt"), held) == ()


def test_a_group_is_compared_with_its_strongest() -> None:
    plan = around(entry(ROW, 4, 20, targets=(SplitTarget(110_000),)), audience=Audience.GROUP)
    rules = [one.rule for one in advice(plan, HELD)]
    assert rules == ["over-results", "group-split"]
    assert "Jonas Reet's" in advice(plan, HELD)[0].message


def test_a_rower_without_results() -> None:
    found = only(around(BUILD, rower="Ilka Brand"), HELD)
    assert found.rule == "unknown-rower"
    assert "no results of Ilka Brand; the nearest name is Ilka Brandt" in found.message


@pytest.mark.parametrize("step", [-6000, -1000, 4000])
def test_steps_that_fit_neither_rule(step: int) -> None:
    """From 18 to 20 the rule says 2 to 5 s, constant work per stroke 4.5 s at 2:10."""
    targets = (SplitTarget(130_000), StepTarget(step))
    found = only(around(entry(ROW, 4, 18, 20, targets=targets)))
    assert (found.rule, found.severity, found.segment) == ("step-size", Severity.NOTE, 2)
    assert "where 2.0 to 5.0 s is usual" in found.message


@pytest.mark.parametrize("step", [-2000, -5000])
def test_steps_at_the_bounds_of_the_rule(step: int) -> None:
    targets = (SplitTarget(130_000), StepTarget(step))
    assert advice(around(entry(ROW, 4, 18, 20, targets=targets))) == ()


def test_a_step_that_the_model_allows_at_slow_splits() -> None:
    """Constant work per stroke gives 5.2 s from 16 to 18 at 2:15 (derived)."""
    targets = (SplitTarget(135_000), StepTarget(-5100))
    assert advice(around(entry(ROW, 4, 16, 18, targets=targets))) == ()


def test_steps_down_are_measured_the_same_way() -> None:
    targets = (SplitTarget(120_000), StepTarget(9000))
    assert only(around(entry(ROW, 4, 22, 20, targets=targets))).rule == "step-size"


@pytest.mark.parametrize("target", [SplitTarget(130_000), WattsTarget(160)])
def test_one_target_for_a_whole_group(target: SplitTarget | WattsTarget) -> None:
    plan = around(entry(ROW, 4, 20, targets=(target,), repeats=3), audience=Audience.GROUP)
    found = only(plan)
    assert (found.rule, found.severity, found.segment) == ("group-split", Severity.NOTE, 1)
    assert "Newcomers are led by effort" in found.message


def test_a_group_with_its_own_numbers_is_fine() -> None:
    plan = around(entry(ROW, 4, 20, targets=(LastAtOffset(0),)), audience=Audience.GROUP)
    assert advice(plan, HELD) == ()


@pytest.mark.parametrize(("share", "text"), [(0.19, "19 %"), (0.51, "51 %")])
def test_talk_share(share: float, text: str) -> None:
    found = only(around(BUILD, talk_share=share))
    assert (found.rule, found.segment) == ("talk-share", None)
    assert f"The voice speaks {text} of the time" in found.message
    assert found.where.file == "plan.yaml"


@pytest.mark.parametrize("share", [0.2, 0.5])
def test_the_bounds_of_the_talk_share(share: float) -> None:
    assert advice(around(BUILD, talk_share=share)) == ()


def test_distance_pieces_have_a_spread() -> None:
    """2000 m at 2:00 are 480 s, 2 % of which are 10 s."""
    found = only(around(held_at(120_000, 24, Distance(2000))))
    assert found.rule == "distance-spread"
    assert "moves the end by 10 s either way" in found.message


def test_advice_points_at_the_plan_s_line() -> None:
    found = only(around(entry(ROW, 4, 41, line=9)))
    assert (found.where.file, found.where.line) == ("plan.yaml", 9)
    assert str(found).startswith("Warning, line 9: Segment 2 asks a rate of 41, ")


def test_advice_on_the_whole_session_names_no_line() -> None:
    assert str(only(around(BUILD, talk_share=0.1))).startswith("Note: The voice speaks 10 % ")


def test_every_warning_leaves_the_last_word_to_a_coach_or_to_the_spelling() -> None:
    for rule in RULES:
        if rule.severity is Severity.WARNING and rule.name != "unknown-rower":
            assert "qualified coach" in rule.remedy


def test_rule_names_are_unique_and_told() -> None:
    assert len({rule.name for rule in RULES}) == len(RULES)
    assert all(rule.summary and rule.remedy.endswith(".") for rule in RULES)


@given(outlines())
def test_advice_stands_for_any_plan(plan: Outline) -> None:
    names = {rule.name for rule in RULES}
    for results in (None, HELD):
        for one in advise(plan, results):
            assert one.rule in names
            assert one.segment is None or one.where == plan.segments[one.segment].segment.where
