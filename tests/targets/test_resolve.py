"""Every form of target, and the session on the clock."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.errors import PlanError
from cuegen.plan.model import (
    Audience,
    Break,
    Distance,
    Duration,
    Entry,
    FreeTarget,
    LastAtOffset,
    LastAtRate,
    Rate,
    SegmentKind,
    SplitTarget,
    StepTarget,
    Target,
    WattsTarget,
)
from cuegen.targets.outline import Basis, Outline, PlannedSegment
from cuegen.targets.power import split_from_watts, watts_from_split
from cuegen.targets.resolve import outline
from cuegen.targets.results import read_results
from tests.targets.plans import COOL_DOWN, PADDLE, REST, ROW, WARM_UP, entry, minutes, session

HELD = read_results(
    "rower,date,rate,split\n"
    "Ilka Brandt,2031-05-24,18,2:09\n"
    "Ilka Brandt,2031-05-24,20,2:05.5\n"
    "Jonas Reet,2031-05-24,20,1:57\n"
)


def aim(*targets: Target, rates: tuple[int | tuple[int, int], ...] = (20,)) -> Entry:
    return entry(ROW, 4, *rates, targets=targets)


def splits(plan: Outline) -> list[tuple[int | None, Basis]]:
    return [(one.split_ms, one.basis) for one in plan.segments]


def last(plan: Outline) -> PlannedSegment:
    return plan.segments[-1]


# ------------------------------------------------------------- every @ form


def test_a_split_is_taken_as_it_stands() -> None:
    one = last(outline(session(aim(SplitTarget(125_500)))))
    assert (one.split_ms, one.pace_ms, one.basis) == (125_500, 125_500, Basis.GIVEN)
    assert one.reason == "set by the plan"


def test_watts_become_the_split_of_the_power_table() -> None:
    """350 W is 1:40 exactly (common practice: P = 2.80 / (split/500)^3)."""
    one = last(outline(session(aim(WattsTarget(350)))))
    assert (one.split_ms, one.basis) == (100_000, Basis.GIVEN)
    assert one.reason == "350 W, set by the plan"


def test_steps_chain_over_paddles_rests_and_pieces_without_a_target() -> None:
    plan = outline(
        session(
            aim(SplitTarget(134_000)),
            aim(StepTarget(-3000)),
            entry(PADDLE, 2, targets=(SplitTarget(160_000),)),
            entry(ROW, 4),
            entry(REST, 2),
            aim(StepTarget(2500)),
            aim(StepTarget(0)),
        )
    )
    assert splits(plan)[1] == (131_000, Basis.STEP)
    assert splits(plan)[5:] == [(133_500, Basis.STEP), (133_500, Basis.STEP)]
    assert [plan.segments[n].reason for n in (1, 5, 6)] == [
        "3 s faster than 2:14.0 before",
        "2.5 s slower than 2:11.0 before",
        "the same split as 2:13.5 before",
    ]


def test_a_step_may_count_from_the_warm_up() -> None:
    plan = outline(
        session(entry(WARM_UP, 5, targets=(SplitTarget(150_000),)), aim(StepTarget(-9000)))
    )
    assert last(plan).split_ms == 141_000


def test_a_step_on_a_paddle_starts_no_chain() -> None:
    plan = outline(
        session(
            aim(SplitTarget(120_000)),
            entry(PADDLE, 1, targets=(StepTarget(30_000),)),
            aim(StepTarget(-1000)),
        )
    )
    assert [one.split_ms for one in plan.segments] == [120_000, 150_000, 119_000]


def test_last_at_a_rate_is_what_the_rower_held() -> None:
    one = last(outline(session(aim(LastAtRate(18), rates=(16,)), rower="ilka brandt"), HELD))
    assert (one.split_ms, one.basis, one.last_rate) == (129_000, Basis.LAST, 18)
    assert one.reason == (
        "Ilka Brandt held 2:09.0 at rate 18 on 2031-05-24; at rate 16 that is 12 % more per stroke"
    )


@pytest.mark.parametrize(
    ("offset", "rate", "split_ms"), [(0, 20, 125_500), (2, 18, 125_500), (-2, 20, 129_000)]
)
def test_last_with_an_offset_counts_from_the_segment_s_rate(
    offset: int, rate: int, split_ms: int
) -> None:
    plan = outline(session(aim(LastAtOffset(offset), rates=(rate,)), rower="Ilka Brandt"), HELD)
    assert (last(plan).split_ms, last(plan).last_rate) == (split_ms, rate + offset)


@pytest.mark.parametrize(("band", "rate"), [((18, 20), 19), ((19, 20), 20), ((18, 21), 20)])
def test_last_at_a_band_is_its_middle_rounded(band: tuple[int, int], rate: int) -> None:
    plan = outline(session(aim(LastAtOffset(0), rates=(band,)), audience=Audience.GROUP))
    assert last(plan).last_rate == rate


def test_the_rower_asked_for_goes_before_the_plan_s_own() -> None:
    plan = session(aim(LastAtOffset(0)), rower="Ilka Brandt")
    assert last(outline(plan, HELD)).split_ms == 125_500
    assert last(outline(plan, HELD, rower="Jonas Reet")).split_ms == 117_000
    assert outline(plan, HELD, rower="Jonas Reet").rower == "Jonas Reet"


def test_free_is_led_by_effort() -> None:
    one = last(outline(session(aim(FreeTarget()))))
    assert (one.split_ms, one.basis, one.last_rate) == (None, Basis.EFFORT, None)
    assert one.reason.startswith("free: led by effort; reckoned at 2:20.0, from 2:20.0 at rate 20")


def test_no_target_is_led_by_effort() -> None:
    one = last(outline(session(entry(ROW, 4, 20))))
    assert (one.split_ms, one.basis) == (None, Basis.EFFORT)
    assert one.reason.startswith("no target in the plan: led by effort; ")


# ------------------------------------------------- newcomers, groups, chains


def test_a_rate_never_rowed_is_what_the_others_point_to() -> None:
    plan = session(aim(LastAtRate(20), LastAtRate(22), rates=(18, 20)), rower="Ilka Brandt")
    one = last(outline(plan, HELD))
    assert (one.split_ms, one.basis, one.last_rate) == (121_500, Basis.CURVE, None)
    assert one.reason.startswith("no result at rate 22 yet; the others point to 2:01.5 there (8")
    assert [s.effort_pct for s in outline(plan, HELD).segments] == [75, 80]


def test_a_change_of_what_was_held_says_what_it_asks() -> None:
    plan = session(aim(LastAtOffset(2, -1_000), rates=(18,)), rower="Ilka Brandt")
    one = last(outline(plan, HELD))
    assert (one.split_ms, one.last_rate, one.last_change_ms) == (124_500, 20, -1_000)
    assert one.reason == (
        "Ilka Brandt held 2:05.5 at rate 20 on 2031-05-24; at rate 18 that is 11 % more per "
        "stroke; 1 s faster than that, 2.4 % more power"
    )


def test_a_change_for_a_group_is_off_each_rower_s_own_split() -> None:
    plan = session(aim(LastAtOffset(0, 1_500)), audience=Audience.GROUP)
    one = last(outline(plan, HELD))
    assert (one.split_ms, one.last_rate, one.last_change_ms) == (None, 20, 1_500)
    assert one.reason.startswith("1.5 s slower than each rower's own split at rate 20 last time")


def test_a_newcomer_is_led_along_the_build() -> None:
    plan = session(
        aim(*map(LastAtRate, (18, 20, 22, 24)), rates=(16, 18, 20, 22)), rower="Enno Falk"
    )
    found = outline(plan, HELD).segments
    assert {one.basis for one in found} == {Basis.EFFORT}
    assert [one.effort_pct for one in found] == [70, 75, 80, 90]
    assert found[0].reason.startswith("no results of Enno Falk yet: led by effort, a modest step")


def test_without_a_results_file_everybody_is_a_newcomer() -> None:
    one = last(outline(session(aim(LastAtOffset(0)), rower="Ilka Brandt")))
    assert one.reason.startswith("no results of Ilka Brandt yet: led by effort")


def test_a_misspelt_rower_is_told_the_nearest_name() -> None:
    one = last(outline(session(aim(LastAtOffset(0)), rower="Ilka Brand"), HELD))
    assert one.reason.startswith("no results of Ilka Brand yet (nearest name: Ilka Brandt): led")


def test_a_solo_plan_that_names_nobody_is_led_by_effort() -> None:
    one = last(outline(session(aim(LastAtOffset(0))), HELD))
    assert (one.basis, one.last_rate) == (Basis.EFFORT, 20)
    assert one.reason.startswith("no rower is named: led by effort")


def test_a_group_has_as_many_last_splits_as_rowers() -> None:
    one = last(outline(session(aim(LastAtRate(22)), audience=Audience.GROUP), HELD))
    assert (one.split_ms, one.basis, one.last_rate) == (None, Basis.LAST, 22)
    assert one.reason.startswith("each rower's own split at rate 22 last time; reckoned at")


def test_one_rower_of_a_group_gets_their_own_numbers() -> None:
    plan = session(aim(LastAtOffset(0)), audience=Audience.GROUP)
    assert last(outline(plan, HELD, rower="Jonas Reet")).split_ms == 117_000


def test_a_step_from_what_was_held_is_a_split() -> None:
    plan = session(aim(LastAtOffset(0), StepTarget(-1500)), rower="Ilka Brandt")
    assert splits(outline(plan, HELD)) == [(125_500, Basis.LAST), (124_000, Basis.STEP)]


def test_a_step_from_each_rower_s_own_split_stays_a_step() -> None:
    plan = session(
        aim(LastAtOffset(0), StepTarget(-3000), StepTarget(-2000)), audience=Audience.GROUP
    )
    found = outline(plan).segments
    assert splits(outline(plan))[1:] == [(None, Basis.STEP), (None, Basis.STEP)]
    assert [one.pace_ms for one in found] == [140_000, 137_000, 135_000]
    assert found[1].reason == "3 s faster than each rower's own split before; reckoned at 2:17.0"


def test_a_step_from_a_free_piece_counts_from_the_split_found_there() -> None:
    plan = outline(session(aim(SplitTarget(120_000), FreeTarget(), StepTarget(-3000))))
    assert splits(plan)[2] == (None, Basis.STEP)
    assert last(plan).reason.startswith("3 s faster than the split found before")


def test_a_newcomer_s_steps_stay_effort_until_the_plan_gives_a_number() -> None:
    plan = session(
        aim(LastAtOffset(0), StepTarget(-3000), SplitTarget(130_000), StepTarget(-3000)),
        rower="Enno Falk",
    )
    assert splits(outline(plan, HELD)) == [
        (None, Basis.EFFORT),
        (None, Basis.EFFORT),
        (130_000, Basis.GIVEN),
        (127_000, Basis.STEP),
    ]


# ----------------------------------------------------------- time and metres


def test_a_session_is_laid_out_to_the_millisecond() -> None:
    """By hand: 30 s; 6:00; 2 x 750 m at 2:00 (3:00 each) with 1:30 between; 4:00; 12 s."""
    plan = outline(
        session(
            entry(WARM_UP, 6, 18),
            entry(
                ROW,
                Distance(750),
                24,
                targets=(SplitTarget(120_000),),
                rest=Break(PADDLE, Duration(90_000)),
                repeats=2,
            ),
            entry(COOL_DOWN, 4),
        )
    )
    edges = [plan.segments[0].start_ms, *(one.end_ms for one in plan.segments)]
    assert edges == [30_000, 390_000, 570_000, 660_000, 840_000, 1_080_000]
    assert (plan.row_end_ms, plan.duration_ms) == (1_080_000, 1_092_000)
    assert [one.predicted for one in plan.segments] == [False, True, True, True, True]
    assert (plan.early_ms, plan.late_ms) == (7_200, 7_200)  # 2 % of 2 x 3:00
    piece = plan.segments[1]
    assert (piece.metres, piece.strokes) == (750.0, 72.0)
    assert piece.watts == pytest.approx(202.55, abs=0.005)  # the table's power at 2:00


def test_a_session_of_times_alone_ends_when_it_says() -> None:
    plan = outline(session(entry(ROW, 30, 20, targets=(SplitTarget(120_000),))))
    assert (plan.early_ms, plan.late_ms, last(plan).predicted) == (0, 0, False)
    assert last(plan).metres == 7500.0


def test_strokes_of_a_band_are_reckoned_by_its_middle() -> None:
    assert last(outline(session(entry(ROW, 5, (16, 19))))).strokes == 87.5


def test_without_a_rate_no_strokes_are_counted() -> None:
    assert last(outline(session(entry(ROW, 5)))).strokes is None


def test_a_rest_is_no_rowing() -> None:
    one = outline(session(entry(ROW, 5), entry(REST, 2))).segments[1]
    assert (one.metres, one.strokes, one.watts, one.effort_pct) == (0.0, None, 0.0, 0)
    assert (one.length_ms, one.reason) == (120_000, "handle down, no rowing")


def test_a_piece_without_a_target_is_reckoned_from_2_20_at_20() -> None:
    """Derived: constant work per stroke, 140 s x (20/24)^(1/3) = 131.745 s."""
    one = last(outline(session(entry(ROW, Distance(1000), 24))))
    assert (one.pace_ms, one.length_ms, one.split_ms) == (131_745, 263_490, None)
    assert one.reason.endswith("reckoned at 2:11.7, from 2:20.0 at rate 20, assumed")


def test_light_rowing_is_reckoned_by_effort() -> None:
    """Power as effort over 75 %, of the 127.55 W of 2:20."""
    warm = outline(session(entry(WARM_UP, 6, 18), entry(ROW, 5, 20))).segments[0]
    assert warm.pace_ms == split_from_watts(watts_from_split(140_000) * 55 / 75)
    assert warm.reason.startswith("easy rowing before the work; reckoned at 2:35.")


def test_the_plan_s_first_target_is_a_better_reference_than_none() -> None:
    plan = outline(session(entry(ROW, 4, 20), entry(ROW, 4, 20, targets=(SplitTarget(118_000),))))
    assert plan.segments[0].pace_ms == 118_000
    assert "from 1:58.0 at rate 20, set by the plan" in plan.segments[0].reason


def test_the_rower_s_own_last_result_is_a_better_reference_still() -> None:
    plan = session(entry(ROW, 4, 20, targets=(SplitTarget(118_000),)), entry(ROW, 4, 20))
    one = last(outline(plan, HELD, rower="Ilka Brandt"))
    assert one.pace_ms == 125_500
    assert "from 2:05.5 at rate 20, Ilka Brandt's last result" in one.reason


@pytest.mark.parametrize(
    ("count_in", "lead_in_ms", "expected"),
    [(3, None, 30_000), (0, None, 30_000), (3, 3_500, 3_500), (0, 0, 0), (5, 9_000, 9_000)],
)
def test_lead_in(count_in: int, lead_in_ms: int | None, expected: int) -> None:
    plan = outline(session(entry(), count_in=count_in, lead_in_ms=lead_in_ms))
    assert (plan.lead_in_ms, plan.segments[0].start_ms) == (expected, expected)


# -------------------------------------------------------------------- errors


@pytest.mark.parametrize(("count_in", "lead_in_ms"), [(3, 0), (3, 3_499), (10, 9_000)])
def test_a_count_in_needs_its_seconds(count_in: int, lead_in_ms: int) -> None:
    with pytest.raises(PlanError, match=f"a count-in of {count_in} does not fit into"):
        outline(session(entry(), count_in=count_in, lead_in_ms=lead_in_ms))


@pytest.mark.parametrize(
    ("bad", "message"),
    [
        (aim(StepTarget(-3000)), "3 s faster has no target before it"),
        (aim(LastAtOffset(0), rates=()), "@last needs the segment's rate"),
        (aim(LastAtOffset(-15)), "what was held at rate 5; rates lie between 10 and 60"),
        (aim(LastAtRate(61)), "what was held at rate 61"),
        (aim(WattsTarget(0)), "a target of 0 W asks for no power"),
        (aim(WattsTarget(1)), r"the target comes to 11:44\.\d per 500 m \(1 W, set by the plan\)"),
        (aim(SplitTarget(60_000), StepTarget(-10_001)), "the target comes to 0:50.0 per 500 m"),
        (aim(SplitTarget(60_000), *[StepTarget(-60_000)]), "less than no time per 500 m"),
        (aim(FreeTarget(), *[StepTarget(-50_000)] * 2), "the target comes to 0:40.0"),
        (entry(REST, Distance(500)), "a rest has no metres"),
        (entry(ROW, 0), "a segment has no length"),
        (entry(ROW, 12 * 60 + 0.001), "by here the session lasts 12:00:00, over 12 hours"),
    ],
)
def test_what_cannot_be_rowed_is_an_error_at_its_line(bad: Entry, message: str) -> None:
    bad = replace(bad, where=replace(bad.where, line=7))
    with pytest.raises(PlanError, match=message) as caught:
        outline(session(bad))
    assert (caught.value.where.file, caught.value.where.line) == ("plan.yaml", 7)
    assert caught.value.remedy


@pytest.mark.parametrize("rate", [10, 60])
def test_the_bounds_of_rates_held_are_allowed(rate: int) -> None:
    one = last(outline(session(aim(LastAtRate(rate)), rower="Ilka Brandt"), HELD))
    assert one.last_rate == rate
    assert one.reason.startswith(f"no result at rate {rate} yet, nor near it: led by effort")


def test_twelve_hours_to_the_millisecond_are_allowed() -> None:
    plan = outline(session(entry(ROW, 6 * 60), entry(ROW, 6 * 60)))
    assert plan.row_end_ms - plan.lead_in_ms == 12 * 3_600_000


def test_the_twelve_hours_count_distances_by_their_pace() -> None:
    """155 km at 2:20 are 12 h 3 min."""
    with pytest.raises(PlanError, match="over 12 hours"):
        outline(session(entry(ROW, Distance(155_000), 20)))


def test_a_session_needs_a_segment() -> None:
    with pytest.raises(PlanError, match=r"plan\.yaml, line 1: the session has no segments"):
        outline(session())


# ---------------------------------------------------------------- invariants

TARGETS = st.one_of(
    st.none(),
    st.builds(SplitTarget, st.integers(90_000, 180_000)),
    st.builds(WattsTarget, st.integers(60, 400)),
    st.builds(LastAtRate, st.integers(16, 30)),
    st.builds(LastAtOffset, st.integers(-2, 4)),
    st.builds(StepTarget, st.integers(-3_000, 3_000)),
    st.just(FreeTarget()),
)
LENGTHS = st.one_of(
    st.builds(Duration, st.integers(1_000, 900_000)), st.builds(Distance, st.integers(100, 3000))
)


@st.composite
def entries(draw: st.DrawFn) -> Entry:
    kind = draw(st.sampled_from(SegmentKind))
    if kind is REST:
        return entry(REST, Duration(draw(st.integers(1_000, 300_000))))
    low = draw(st.integers(16, 30))
    repeats = draw(st.integers(1, 3))
    return Entry(
        kind=kind,
        repeats=repeats,
        lengths=(draw(LENGTHS),),
        rates=(Rate(low, low + draw(st.integers(0, 3))),),
        targets=tuple(filter(None, [draw(TARGETS)])),
        rest=draw(st.sampled_from((None, Break(PADDLE, minutes(1)), Break(REST, minutes(2))))),
    )


@st.composite
def outlines(draw: st.DrawFn) -> Outline:
    first = aim(SplitTarget(130_000))
    plan = session(
        first,
        *draw(st.lists(entries(), max_size=6)),
        audience=draw(st.sampled_from(Audience)),
        rower=draw(st.sampled_from((None, "Ilka Brandt", "Enno Falk"))),
    )
    return outline(plan, draw(st.sampled_from((None, HELD))))


@given(outlines())
def test_segments_touch_and_add_up(plan: Outline) -> None:
    at_ms = plan.lead_in_ms
    for one in plan.segments:
        assert one.start_ms == at_ms
        assert one.length_ms > 0
        at_ms = one.end_ms
    assert plan.row_end_ms == plan.lead_in_ms + sum(one.length_ms for one in plan.segments)


@given(outlines())
def test_a_known_split_is_the_pace_and_lengths_are_kept(plan: Outline) -> None:
    for one in plan.segments:
        assert one.split_ms in (None, one.pace_ms)
        if isinstance(one.segment.length, Duration):
            assert one.length_ms == one.segment.length.ms
        else:
            assert one.metres == one.segment.length.metres
            assert abs(one.length_ms - one.metres * one.pace_ms / 500) <= 0.5


@given(outlines())
def test_every_step_stands_against_the_target_before_it(plan: Outline) -> None:
    """A second way to find the base: the last targeted segment that is no paddle."""
    for one in plan.segments:
        target = one.segment.target
        if not isinstance(target, StepTarget) or one.basis is Basis.EFFORT:
            continue
        base = [
            earlier
            for earlier in plan.segments[: one.index]
            if earlier.segment.target and earlier.kind is not PADDLE
        ][-1]
        assert one.pace_ms == base.pace_ms + target.change_ms
        assert (one.split_ms is None) == (base.split_ms is None)


@given(outlines())
def test_only_distances_are_predicted_and_all_that_follows_them(plan: Outline) -> None:
    seen = False
    for one in plan.segments:
        seen = seen or isinstance(one.segment.length, Distance)
        assert one.predicted == seen
    assert bool(plan.late_ms) == seen


@given(outlines())
def test_every_segment_says_why(plan: Outline) -> None:
    assert all(one.reason and "\n" not in one.reason for one in plan.segments)
