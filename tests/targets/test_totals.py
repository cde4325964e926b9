"""Sums by hand, and that they add up."""

from __future__ import annotations

import pytest
from hypothesis import given

from cuegen.plan.model import Break, SplitTarget
from cuegen.targets.outline import Outline
from cuegen.targets.resolve import outline
from cuegen.targets.totals import total, totals
from tests.targets.plans import REST, ROW, entry, minutes, session
from tests.targets.test_resolve import outlines

# 10:00 at 1:40 and 20 spm, a rest of 5:00, 10:00 at 2:05 without a rate.
PLAN = outline(
    session(
        entry(ROW, 10, 20, targets=(SplitTarget(100_000),)),
        entry(REST, 5),
        entry(ROW, 10, targets=(SplitTarget(125_000),)),
    )
)


def test_a_session_by_hand() -> None:
    """350 W and 179.2 W are exact in the power table (common practice)."""
    whole = totals(PLAN).session
    assert (whole.time_ms, whole.rowing_ms, whole.strokes_ms) == (1_500_000, 1_200_000, 600_000)
    assert whole.metres == 3000 + 2400
    assert whole.strokes == 200
    assert whole.watts == pytest.approx((350 + 179.2) / 2)
    assert whole.work_kj == pytest.approx((350 + 179.2) * 600 / 1000)


def test_a_segment_by_hand() -> None:
    first, rest, _ = totals(PLAN).segments
    assert (first.time_ms, first.metres, first.strokes) == (600_000, 3000.0, 200.0)
    assert first.watts == pytest.approx(350.0)
    assert first.work_kj == pytest.approx(210.0)
    assert (rest.time_ms, rest.rowing_ms, rest.strokes, rest.watts) == (300_000, 0, None, 0.0)


def test_mean_power_is_weighted_by_time() -> None:
    plan = outline(
        session(
            entry(ROW, 30, targets=(SplitTarget(100_000),)),
            entry(ROW, 10, targets=(SplitTarget(125_000),)),
        )
    )
    assert totals(plan).session.watts == pytest.approx(0.75 * 350 + 0.25 * 179.2)


def test_work_leaves_out_what_is_no_piece() -> None:
    plan = outline(
        session(
            entry(
                ROW,
                4,
                targets=(SplitTarget(125_000),),
                rest=Break(REST, minutes(1)),
                repeats=3,
            )
        )
    )
    assert totals(plan).work.time_ms == 12 * 60_000
    assert totals(plan).session.time_ms == 14 * 60_000


@given(outlines())
def test_the_session_is_the_sum_of_its_segments(plan: Outline) -> None:
    found = totals(plan)
    for name in ("time_ms", "rowing_ms", "strokes_ms", "metres", "work_kj"):
        parts = sum(getattr(one, name) for one in found.segments)
        assert getattr(found.session, name) == pytest.approx(parts)
    assert found.session.time_ms == plan.row_end_ms - plan.lead_in_ms


def test_nothing_comes_to_nothing() -> None:
    assert (total([]).time_ms, total([]).strokes, total([]).watts) == (0, None, 0.0)
