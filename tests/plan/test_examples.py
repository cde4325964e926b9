"""Every plan in examples/ loads and lasts as long as it says; together they show every form."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cuegen.plan.model import (
    SEGMENT_KINDS,
    Audience,
    Distance,
    Duration,
    FreeTarget,
    LastAtOffset,
    LastAtRate,
    SegmentKind,
    Session,
    SplitTarget,
    StepTarget,
    WattsTarget,
)
from cuegen.plan.reading import load_plan
from tests.plan.strategies import THEMES

EXAMPLES = Path(__file__).parents[2] / "examples"
PLANS = sorted(EXAMPLES.glob("*.yaml"))


def minutes(session: Session) -> float:
    """Rough length, a metre reckoned at 2:05 per 500 m."""
    lengths = [segment.length for segment in session.segments]
    return (
        sum(
            length.ms if isinstance(length, Duration) else length.metres * 250 for length in lengths
        )
        / 60_000
    )


def test_there_are_at_least_seven_examples_and_the_demo_is_one() -> None:
    assert len(PLANS) >= 7
    assert EXAMPLES / "harbour-build.yaml" in PLANS


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_an_example_loads_and_has_warm_up_cool_down_and_comments(path: Path) -> None:
    session = load_plan(path)
    assert path.stem.isascii()
    assert session.segments[0].kind is SegmentKind.WARM_UP
    assert session.segments[-1].kind is SegmentKind.COOL_DOWN
    assert 20 <= minutes(session) <= 45
    assert path.read_text().count("#") >= 4


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_an_example_lasts_as_long_as_its_head_says(path: Path) -> None:
    said = re.search(r"(\d+) minutes", path.read_text().split("\n\n")[0])
    assert said is not None
    assert abs(minutes(load_plan(path)) - int(said[1])) < 0.5


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_an_example_names_only_themes_of_the_phrase_books(path: Path) -> None:
    used = {segment.theme for segment in load_plan(path).segments} - {None}
    assert used <= set(THEMES)


def test_the_demo_is_a_continuous_build_for_a_group() -> None:
    session = load_plan(EXAMPLES / "harbour-build.yaml")
    work = [segment for segment in session.segments if SEGMENT_KINDS[segment.kind].is_work]
    assert session.audience is Audience.GROUP
    assert minutes(session) >= 20
    assert [segment.index for segment in work] == [1, 2, 3, 4]
    assert [segment.rate.low for segment in work if segment.rate] == [17, 19, 21, 23]
    assert [segment.target for segment in work] == [SplitTarget(134_000)] + [StepTarget(-3_000)] * 3


def test_the_examples_show_every_kind_of_segment_length_and_target() -> None:
    sessions = [load_plan(path) for path in PLANS]
    segments = [segment for session in sessions for segment in session.segments]
    assert {segment.kind for segment in segments} == set(SegmentKind)
    assert {type(segment.length) for segment in segments} == {Duration, Distance}
    assert {type(segment.target) for segment in segments} == {
        type(None),
        SplitTarget,
        WattsTarget,
        StepTarget,
        LastAtRate,
        LastAtOffset,
        FreeTarget,
    }
    assert any(segment.rate and segment.rate.is_band for segment in segments)
    assert {session.audience for session in sessions} == set(Audience)
    assert any(session.rower for session in sessions)


def test_every_rower_of_the_examples_has_results() -> None:
    rows = (EXAMPLES / "results.csv").read_text().splitlines()
    assert rows[0] == "rower,date,rate,split"
    named = {row.split(",")[0] for row in rows[1:]}
    assert {session.rower for session in map(load_plan, PLANS) if session.rower} <= named
