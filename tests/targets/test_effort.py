"""Which effort a segment has where its plan is silent. CP: common practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.plan.model import Break, FreeTarget, SplitTarget, StepTarget, WattsTarget
from cuegen.targets.effort import BUILD_PCT, build_pct, efforts
from tests.targets.plans import (
    COOL_DOWN,
    PADDLE,
    REST,
    ROW,
    WARM_UP,
    entry,
    minutes,
    session,
)

PAUSE = Break(PADDLE, minutes(1))


def test_each_kind_has_its_default() -> None:
    plan = session(*(entry(kind) for kind in (WARM_UP, ROW, PADDLE, REST, COOL_DOWN)))
    assert efforts(plan.segments) == (55, 75, 50, 0, 50)


def test_the_plan_s_own_effort_goes_first() -> None:
    plan = session(entry(ROW, 4, 18, 20, 22, 24, efforts=(60, 65, 70, 95)))
    assert efforts(plan.segments) == (60, 65, 70, 95)


def test_a_four_step_build() -> None:
    """CP: about 70, 75, 80 to 85, then hardest."""
    assert BUILD_PCT == (70, 75, 80, 90)
    plan = session(entry(ROW, 4, 17, 19, 21, 23))
    assert efforts(plan.segments) == (70, 75, 80, 90)


def test_a_build_may_be_written_line_by_line() -> None:
    plan = session(*(entry(ROW, 4, rate) for rate in (17, 19, 21, 23)))
    assert efforts(plan.segments) == (70, 75, 80, 90)


def test_a_build_goes_on_across_the_breaks_of_its_own_entry() -> None:
    plan = session(entry(ROW, 4, 17, 19, 21, rest=PAUSE))
    assert efforts(plan.segments) == (70, 50, 80, 50, 90)


def test_a_build_may_step_by_split_at_one_rate() -> None:
    steps = (FreeTarget(), StepTarget(-2000), StepTarget(-2000), StepTarget(-2000))
    assert efforts(session(entry(ROW, 4, 20, targets=steps)).segments) == (70, 75, 80, 90)
    splits = (SplitTarget(130_000), WattsTarget(180), SplitTarget(120_000))
    assert efforts(session(entry(ROW, 4, 20, targets=splits)).segments) == (70, 80, 90)


@pytest.mark.parametrize(
    ("steps", "expected"), [(3, (70, 80, 90)), (5, (70, 75, 80, 85, 90)), (4, (70, 75, 80, 90))]
)
def test_builds_of_other_lengths_follow_the_same_line(
    steps: int, expected: tuple[int, ...]
) -> None:
    assert tuple(build_pct(step, steps) for step in range(steps)) == expected


@given(st.integers(3, 40))
def test_a_build_never_falls_and_keeps_its_ends(steps: int) -> None:
    line = [build_pct(step, steps) for step in range(steps)]
    assert line == sorted(line)
    assert (line[0], line[-1]) == (70, 90)


def test_two_pieces_are_no_build_but_a_modest_step() -> None:
    assert efforts(session(entry(ROW, 4, 18, 20)).segments) == (75, 80)


def test_a_pyramid_comes_down_in_modest_steps() -> None:
    plan = session(entry(ROW, 3, 18, 20, 22, 24, 22, 20, 18))
    assert efforts(plan.segments) == (70, 75, 80, 90, 85, 80, 75)


def test_equal_pieces_keep_their_effort() -> None:
    plan = session(entry(ROW, 4, 24, efforts=(85,)), entry(ROW, 4, 24), entry(ROW, 4, 24))
    assert efforts(plan.segments) == (85, 85, 85)


def test_a_modest_step_starts_from_the_plan_s_own_effort() -> None:
    plan = session(entry(ROW, 4, 18, efforts=(60,)), entry(ROW, 4, 20), entry(ROW, 4, 22))
    assert efforts(plan.segments) == (60, 65, 70)


def test_a_modest_step_never_goes_over_100() -> None:
    plan = session(entry(ROW, 4, 30, efforts=(98,)), entry(ROW, 1, 34))
    assert efforts(plan.segments) == (98, 100)


def test_a_modest_step_never_goes_under_40() -> None:
    plan = session(entry(ROW, 4, 24, efforts=(42,)), entry(ROW, 4, 18))
    assert efforts(plan.segments) == (42, 40)


def test_a_split_beside_none_says_nothing_of_harder_or_easier() -> None:
    splits = (SplitTarget(130_000), FreeTarget(), SplitTarget(120_000))
    assert efforts(session(entry(ROW, 4, 20, targets=splits)).segments) == (75, 75, 75)


def test_a_harder_piece_after_a_break_is_not_rated_below_an_easier_one() -> None:
    plan = session(entry(ROW, 4, 17, 19, 21, 23), entry(PADDLE), entry(ROW, 2, 24))
    assert efforts(plan.segments)[-1] == 90


def test_an_easier_piece_after_a_break_starts_afresh() -> None:
    plan = session(entry(ROW, 4, 17, 19, 21, 23), entry(PADDLE), entry(ROW, 9, 18))
    assert efforts(plan.segments)[-1] == 75
