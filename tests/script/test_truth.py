"""The ear that judges the others hears falsehoods: each planted one is caught.

How it fares with every line of our books: test_truth_of_books.py.
"""

from __future__ import annotations

import pytest

from cuegen.plan.model import Audience, Distance, LastAtRate, SplitTarget
from cuegen.schedule.cuesheet import Cue, CueSheet, Span
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.targets.resolve import outline as outline_of
from tests.script.outlines import all_readings, script_of, session
from tests.script.truth import false_statements, number, split_ms, time_ms
from tests.targets.plans import COOL_DOWN, ROW, WARM_UP, entry


def sheet() -> CueSheet:
    """Work starts at 4:30 (rate 20, 2:05), 8:30 (22, 2:02) and 14:30 (500 m); all at 70 %.

    Between the second and the third piece lie two minutes of easy rowing, from 12:30.
    """
    plan = session(
        entry(WARM_UP, 4, 18),
        entry(ROW, 4, 20, 22, targets=(SplitTarget(125_000), SplitTarget(122_000)), efforts=(70,)),
        entry(COOL_DOWN, 2),
        entry(ROW, Distance(500), targets=(SplitTarget(120_000),)),
    )
    outline = outline_of(plan)
    return all_readings(outline, script_of(outline))


SHEET = sheet()


def cue(kind: CueKind, at_s: float, text: str, name: str = "x") -> Cue:
    at_ms = int(at_s * 1000)
    return Cue(
        id=name, kind=kind, firm=CUE_KINDS[kind].firm, at_ms=at_ms, start_ms=at_ms - 10,
        end_ms=at_ms + 990, text=text, segment=0,
    )  # fmt: skip


def heard(kind: CueKind, at_s: float, text: str) -> list[str]:
    return false_statements(SHEET.model_copy(update={"cues": (cue(kind, at_s, text),)}))


def test_a_true_sheet_passes() -> None:
    assert false_statements(SHEET, silence=False) == []


@pytest.mark.parametrize(
    ("kind", "at_s", "true", "false"),
    [
        (CueKind.TIME_LEFT, 450, "One minute left.", "Two minutes left."),
        (CueKind.TIME_LEFT, 438, "Just over a minute left.", "One minute left."),
        (CueKind.TIME_LEFT, 452, "Just under a minute.", "Just over a minute."),
        (CueKind.TIME_LEFT, 450, "Piece one, one minute.", "Piece two, one minute."),
        (CueKind.TIME_LEFT, 450, "About twenty strokes left.", "About twenty-two strokes left."),
        (CueKind.TIME_LEFT, 390, "About forty strokes left.", "About eighty strokes left."),
        (CueKind.TIME_LEFT, 840, "Piece three in thirty seconds.", "Piece two in thirty seconds."),
        (CueKind.TARGET, 272, "Rate twenty, two oh five.", "Rate twenty, two oh four."),
        (CueKind.TARGET, 272, "Rate twenty.", "Rate twenty-two."),
        (CueKind.TARGET, 512, "Three seconds quicker.", "Two seconds quicker."),
        (CueKind.TARGET, 512, "Three seconds quicker.", "Three seconds slower."),
        (CueKind.TARGET, 512, "About ninety strokes.", "About seventy strokes."),
        (CueKind.GOAL, 440, "Next, two oh two, or seventy percent.", "Next, two oh five."),
        (CueKind.GOAL, 440, "Seventy percent.", "Eighty percent."),
        (CueKind.GOAL, 440, "Next, four minutes.", "Next, three minutes."),
        (
            CueKind.GOAL,
            440,
            "Carry it from rate twenty to rate twenty-two.",
            "Carry it from rate eighteen to rate twenty-two.",
        ),
        (CueKind.GET_READY, 490, "Rate twenty-two in twenty seconds.", "Rate twenty in ten."),
        (CueKind.GET_READY, 490, "Off at twenty-two.", "Off at twenty."),
        (CueKind.HOLD, 560, "Hold two oh two.", "Hold two oh five."),
        (CueKind.HOLD, 560, "Look for seventy percent.", "Look for seventy-five percent."),
        (CueKind.HOLD, 560, "Rate twenty-two carries it.", "Rate twenty carries it."),
        (CueKind.HOLD, 560, "Still three seconds quicker.", "Still four seconds quicker."),
        (
            CueKind.HOLD,
            350,
            "Hold one hundred and seventy-nine watts.",
            "Hold two hundred and ten watts.",
        ),
        (CueKind.EFFORT_CHECK, 560, "Is it seventy percent?", "Is it sixty percent?"),
        (CueKind.TECHNIQUE, 350, "At rate twenty, let it run.", "At rate eighteen, let it run."),
        (CueKind.TECHNIQUE, 350, "Make about eighty strokes.", "Make about ninety strokes."),
        (CueKind.SETTLE, 350, "A stroke for four minutes.", "A stroke for five minutes."),
        (CueKind.ENCOURAGE, 600, "Piece two is yours.", "Piece one is yours."),
        (CueKind.COOL_DOWN, 760, "Two minutes, spent slowly.", "Three minutes, spent slowly."),
        (CueKind.SEGMENT_HALFWAY, 390, "Two minutes of it to go.", "One minute of it to go."),
        (CueKind.PROGRESS, 600, "One done, and one ahead.", "Two done, and one ahead."),
        (CueKind.PROGRESS, 600, "Piece two, one to come.", "Piece two, two to come."),
        (CueKind.PROGRESS, 600, "Piece two of three.", "Piece two of four."),
        (CueKind.PROGRESS, 800, "Two done, one ahead.", "One done, two ahead."),
        (CueKind.PROGRESS, 800, "So far, two of three.", "So far, one of three."),
        (CueKind.SEGMENT_END, 750, "Cool down. Two done.", "Cool down. Three done."),
        (CueKind.START, 510, "Now piece two.", "Now piece three."),
        (CueKind.RATE_CHANGE, 510, "Rate up, twenty-two.", "Rate up, twenty-four."),
        (CueKind.RATE_CHANGE, 510, "Higher, twenty-two.", "Lower, twenty-two."),
        (CueKind.RATE_CHANGE, 510, "Piece two, rate twenty-two.", "Piece two, rate two."),
        (CueKind.BEAT, 507, "Three.", "Two."),
        (CueKind.BEAT, 510, "Go.", "One."),
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
        (CueKind.WELCOME, 1, "Three pieces, about sixteen minutes.", "Two pieces."),
    ],
)
def test_a_false_number_is_heard(kind: CueKind, at_s: float, true: str, false: str) -> None:
    assert heard(kind, at_s, true) == []
    assert heard(kind, at_s, false) != []


@pytest.mark.parametrize(
    ("kind", "text", "true_at_s", "false_at_s"),
    [
        (CueKind.SEGMENT_HALFWAY, "Turn for home.", 390.9, 391.2),
        (CueKind.ENCOURAGE, "Halfway in this piece.", 390, 400),
        (CueKind.ENCOURAGE, "The second half of the piece is yours.", 390, 420),
        (CueKind.ENCOURAGE, "Nothing like the last piece.", 900, 600),
        (CueKind.GOAL, "Think of the final piece.", 800, 440),
        (CueKind.PROGRESS, "This one, and no more pieces.", 900, 600),
        (CueKind.GOAL, "Patient in the first piece.", 200, 440),
        (CueKind.SETTLE, "The first of three pieces sets the tone.", 300, 600),
        (CueKind.LAST_PIECE, "Row it as you like it.", 900, 600),
        (CueKind.OFFER, "A little more, if you have it.", 900, 600),
        (CueKind.START, "Next piece.", 510, 511),
        (CueKind.RATE_CHANGE, "Rate twenty-two.", 510, 509),
        (CueKind.SEGMENT_END, "Cool down.", 750, 751),
        (CueKind.FINISH, "And done.", 990, 989),
        (CueKind.EXPECTED_END, "That should be it.", 992, 997),
        (CueKind.BEAT, "Go.", 510, 512),
    ],
)
def test_what_is_said_in_the_wrong_place_is_heard(
    kind: CueKind, text: str, true_at_s: float, false_at_s: float
) -> None:
    assert heard(kind, true_at_s, text) == []
    assert heard(kind, false_at_s, text) != []


def test_halfway_of_a_session_with_distance_pieces_is_never_true() -> None:
    assert heard(CueKind.HALFWAY, 510, "Halfway.") == ["x at 510000 ms, 'Halfway.': " + UNKNOWN]
    assert heard(CueKind.RATE_CHANGE, 510, "Rate twenty-two. Half gone.") != []


UNKNOWN = "the session's half is not known"


class TestHalfway:
    """Four minutes, then four minutes."""

    def heard(self, kind: CueKind, at_s: float, text: str) -> list[str]:
        outline = outline_of(session(entry(ROW, 4), entry(COOL_DOWN, 4)))
        bare = all_readings(outline, script_of(outline))
        return false_statements(bare.model_copy(update={"cues": (cue(kind, at_s, text),)}))

    def test_the_session_has_one_instant(self) -> None:
        assert self.heard(CueKind.HALFWAY, 270, "Halfway.") == []
        assert self.heard(CueKind.HALFWAY, 270.002, "Halfway.") != []

    def test_a_call_that_tells_it_is_held_to_it(self) -> None:
        assert self.heard(CueKind.SEGMENT_END, 270, "Cool down. Half gone.") == []
        assert self.heard(CueKind.START, 30, "Next piece. Half gone.") != []


def test_the_rate_of_a_split_held_last_time_is_compared_with_the_targets_reason() -> None:
    plan = session(entry(ROW, 4, 20, targets=(LastAtRate(18),)), audience=Audience.GROUP)
    outline = outline_of(plan)
    bare = all_readings(outline, script_of(outline))

    def said(text: str) -> list[str]:
        held = cue(CueKind.HOLD, 90, text)
        return false_statements(bare.model_copy(update={"cues": (held,)}))

    assert said("Hold what you held at eighteen.") == []
    assert said("Hold what you held at twenty.") != []


class TestQuiet:
    """Thirty seconds from 6:00; an announcement ends as they begin."""

    def heard(self, text: str, *later: Cue, silence: bool = True) -> list[str]:
        told = cue(CueKind.QUIET, 359.01, text)
        quiet = (Span(start_ms=360_000, end_ms=390_000),)
        cues = (told, *later)
        shown = SHEET.model_copy(update={"cues": cues, "quiet": quiet})
        return false_statements(shown, silence=silence)

    def coach(self, at_s: float) -> Cue:
        return cue(CueKind.SETTLE, at_s, "Settle.", "coach")

    def call(self, at_s: float) -> Cue:
        return cue(CueKind.OWN, at_s, "Well rowed.", "call")

    def test_is_true_where_it_is_kept(self) -> None:
        assert self.heard("Thirty seconds of quiet.", self.coach(390.1)) == []

    def test_has_the_length_that_is_said(self) -> None:
        assert self.heard("Forty seconds of quiet.") != []

    def test_is_broken_by_a_cue_in_it(self) -> None:
        (fault,) = self.heard("Thirty seconds of quiet.", self.coach(380))
        assert fault.endswith("coach speaks 19990 ms after x")

    def test_without_a_length_it_lasts_as_long_as_its_span(self) -> None:
        assert self.heard("No words now.", self.coach(380)) != []
        assert self.heard("No words now.", self.coach(390.1)) == []

    def test_is_broken_by_a_call_unless_calls_are_allowed_for(self) -> None:
        assert self.heard("No words now.", self.call(380)) != []
        assert self.heard("Only the calls now.", self.call(380)) == []

    def test_calls_alone_are_no_leave_to_coach(self) -> None:
        assert self.heard("Only the calls now.", self.coach(380)) != []

    def test_needs_a_span_that_follows(self) -> None:
        assert heard(CueKind.QUIET, 359, "No words now.") != []

    def test_who_says_when_he_is_back_is_back(self) -> None:
        text = "I come back in thirty seconds."
        assert self.heard(text, self.coach(400)) == []
        assert self.heard(text, self.coach(420)) != []

    def test_silence_is_not_judged_where_all_readings_stand_at_once(self) -> None:
        text = "Thirty seconds of quiet."
        assert self.heard(text, self.coach(380), silence=False) == []


@pytest.mark.parametrize("kind", [k for k in CueKind if k not in (CueKind.OWN, CueKind.BEAT)])
def test_a_number_that_nobody_understands_is_reported_in_every_kind(kind: CueKind) -> None:
    faults = heard(kind, 272, "Row, seven, gently.")
    counted = kind in (CueKind.RATE_CHANGE, CueKind.GET_READY)  # where it must be a rate
    assert any("rate 7 is said" if counted else "['seven']" in fault for fault in faults)


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        (CueKind.TECHNIQUE, "One long note, in one line, each like the one before."),
        (CueKind.TECHNIQUE, "When the two agree, seat and handle move as one."),
        (CueKind.SETTLE, "Count ten strokes, and make them all alike."),
        (CueKind.SETTLE, "Count four slow breaths."),
        (CueKind.ENCOURAGE, "Make the next one good."),
        (CueKind.PROGRESS, "Row the one you are in."),
        (CueKind.OWN, "Seven of nine."),
    ],
)
def test_number_words_that_say_nothing_of_the_session_are_left_alone(
    kind: CueKind, text: str
) -> None:
    assert heard(kind, 350, text) == []


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
