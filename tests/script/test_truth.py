"""The ear that judges the others hears falsehoods: each planted one is caught."""

from __future__ import annotations

import pytest

from cuegen.plan.model import Distance, SplitTarget
from cuegen.schedule.cuesheet import Cue, CueSheet
from cuegen.script.kinds import CueKind
from cuegen.targets.resolve import outline as outline_of
from tests.script.outlines import all_readings, script_of, session
from tests.script.truth import false_statements, number, split_ms, time_ms
from tests.targets.plans import COOL_DOWN, ROW, WARM_UP, entry


def sheet() -> CueSheet:
    """Work starts at 4:30 (rate 20, 2:05), 8:30 (22, 2:02) and 14:30 (500 m); all at 70 %."""
    plan = session(
        entry(WARM_UP, 4, 18),
        entry(ROW, 4, 20, 22, targets=(SplitTarget(125_000), SplitTarget(122_000)), efforts=(70,)),
        entry(COOL_DOWN, 2),
        entry(ROW, Distance(500), targets=(SplitTarget(120_000),)),
    )
    outline = outline_of(plan)
    return all_readings(outline, script_of(outline))


def heard(kind: CueKind, at_s: float, text: str) -> list[str]:
    at_ms = int(at_s * 1000)
    cue = Cue(
        id="x", kind=kind, firm=kind in (CueKind.HALFWAY, CueKind.BEAT, CueKind.RATE_CHANGE),
        at_ms=at_ms, start_ms=at_ms - 10, end_ms=at_ms + 900, text=text, segment=0,
    )  # fmt: skip
    return false_statements(sheet().model_copy(update={"cues": (cue,)}))


def test_a_true_sheet_passes() -> None:
    assert false_statements(sheet()) == []


@pytest.mark.parametrize(
    ("kind", "at_s", "true", "false"),
    [
        (CueKind.TIME_LEFT, 450, "One minute left.", "Two minutes left."),
        (CueKind.TIME_LEFT, 438, "Just over a minute left.", "One minute left."),
        (CueKind.TIME_LEFT, 452, "Just under a minute.", "Just over a minute."),
        (CueKind.TARGET, 272, "Rate twenty, two oh five.", "Rate twenty, two oh four."),
        (CueKind.TARGET, 272, "Rate twenty.", "Rate twenty-two."),
        (CueKind.GOAL, 440, "Next, two oh two, or seventy percent.", "Next, two oh five."),
        (CueKind.GOAL, 440, "Seventy percent.", "Eighty percent."),
        (CueKind.GOAL, 440, "Next, four minutes.", "Next, three minutes."),
        (CueKind.TARGET, 512, "Three seconds quicker.", "Two seconds quicker."),
        (CueKind.TARGET, 512, "Three seconds quicker.", "Three seconds slower."),
        (CueKind.GET_READY, 490, "Rate twenty-two in twenty seconds.", "Rate twenty in ten."),
        (CueKind.SEGMENT_HALFWAY, 390, "Two minutes of it to go.", "One minute of it to go."),
        (CueKind.TIME_LEFT, 450, "Piece one, one minute.", "Piece two, one minute."),
        (CueKind.BEAT, 507, "Three.", "Two."),
        (CueKind.BEAT, 510, "Go.", "One."),
        (CueKind.RATE_CHANGE, 510, "Rate up, twenty-two.", "Rate up, twenty-four."),
        (
            CueKind.DISTANCE_LEFT,
            930,
            "About two hundred and fifty metres.",
            "About one hundred metres.",
        ),
        (
            CueKind.DISTANCE_LEFT,
            930,
            "About two hundred and fifty metres.",
            "Two hundred and fifty metres.",
        ),
        (
            CueKind.EXPECTED_END,
            990,
            "That should be your five hundred metres.",
            "Your six hundred metres.",
        ),
        (CueKind.TARGET, 512, "About ninety strokes.", "About seventy strokes."),
        (CueKind.WELCOME, 1, "Three pieces, about sixteen minutes.", "Two pieces."),
    ],
)
def test_a_falsehood_is_heard(kind: CueKind, at_s: float, true: str, false: str) -> None:
    assert heard(kind, at_s, true) == []
    assert heard(kind, at_s, false) != []


def test_halfway_of_a_session_with_distance_pieces_is_never_true() -> None:
    assert heard(CueKind.HALFWAY, 510, "Halfway.") != []


def test_halfway_of_a_segment_is_true_to_a_second() -> None:
    assert heard(CueKind.SEGMENT_HALFWAY, 390.9, "Midway.") == []
    assert heard(CueKind.SEGMENT_HALFWAY, 391.2, "Midway.") != []


def test_a_number_that_nobody_understands_is_reported() -> None:
    (fault,) = heard(CueKind.TARGET, 272, "Row to seven.")
    assert "nobody understands ['seven']" in fault


@pytest.mark.parametrize(
    ("words", "value"),
    [("seven hundred and fifty", 750), ("ten thousand", 10_000), ("twenty-two", 22), ("zero", 0)],
)
def test_number(words: str, value: int) -> None:
    assert number(words) == value


def test_split_and_time() -> None:
    assert split_ms("one fifty-nine point nine") == 119_900
    assert split_ms("nonsense") is None
    assert time_ms("just over two minutes") == ("just over", 120_000)
