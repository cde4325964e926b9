"""A talk share that is not met is explained, by each reason that holds and by no other."""

from __future__ import annotations

from itertools import product

import pytest

from cuegen.schedule.board import Placed
from cuegen.schedule.limits import talk_limit
from cuegen.schedule.place import Placement
from cuegen.schedule.reasons import Refused
from cuegen.schedule.rules import Frame, Stretch
from cuegen.script.candidate import Candidate, Line, Wording
from cuegen.script.kinds import CueKind

OPENING = Stretch(0, 10_000, 0.95, weight=0)
STEADY = Stretch(10_000, 50_000, 0.5)
HARD = Stretch(50_000, 90_000, 0.5)
CLOSE = Stretch(90_000, 100_000, 0.95, weight=0)
SESSION = (OPENING, STEADY, HARD, CLOSE)
CAP_MS = 20_000
"""What STEADY and HARD may be talked each."""

ASKED = 0.7

FACT = "The voice speaks {reached} % of the time; 70 % was asked for"
ELSE = "All else that is worth saying is said where it belongs."
CAPPED = {0: "", 1: "One segment has", 2: "2 segments have"}
UNSAID = {0: "", 1: "no fresh words for one cue.", 3: "no fresh words for 3 cues."}
QUIET = {0: "", 5_000: "Spans of quiet take 5 %."}


def cue(at_ms: int, length_ms: int, *, firm: bool = False) -> Placed:
    return Placed(candidate(at_ms, firm=firm), Line("x"), at_ms, length_ms)


def candidate(at_ms: int, *, firm: bool = False) -> Candidate:
    wording = Wording("x", at_ms, at_ms)
    return Candidate(str(at_ms), CueKind.TECHNIQUE, 0, (wording,), firm=firm, prefer_ms=at_ms)


def left_out(at_ms: int) -> Refused:
    return Refused(candidate(at_ms), "it has room, but the talk share is spent")


def limit(
    *placed: Placed,
    refused: tuple[Refused, ...] = (),
    asked: float = ASKED,
    unsaid: int = 0,
    quiet_ms: int = 0,
) -> str:
    quiet = ((60_000, 60_000 + quiet_ms),) if quiet_ms else ()
    frame = Frame(100_000, SESSION, quiet, int(100_000 * asked))
    return talk_limit(Placement(placed, refused), frame, asked, unsaid)


class TestMet:
    @pytest.mark.parametrize("talk_ms", [67_010, 70_000, 72_990])
    def test_within_three_points_there_is_nothing_to_explain(self, talk_ms: int) -> None:
        assert limit(cue(20_000, talk_ms), refused=(left_out(20_000),), unsaid=4) == ""

    @pytest.mark.parametrize("talk_ms", [66_990, 73_010])
    def test_beyond_three_points_there_is(self, talk_ms: int) -> None:
        assert limit(cue(20_000, talk_ms)) != ""

    def test_the_talk_of_all_cues_is_added(self) -> None:
        assert limit(cue(0, 9_000), cue(20_000, 31_000, firm=True), cue(60_000, 30_000)) == ""


class TestAbove:
    def test_it_says_what_was_asked_for_and_what_the_firm_calls_take(self) -> None:
        placed = (cue(0, 4_000), cue(20_000, 21_000, firm=True), cue(60_000, 15_000, firm=True))
        assert limit(*placed, asked=0.3) == (
            "The voice speaks 40 % of the time; 30 % was asked for. The calls that must be heard "
            "take 36 %; the opening and the close come on top."
        )

    def test_it_names_none_of_the_reasons_for_too_little(self) -> None:
        placed = (cue(20_000, 20_000), cue(60_000, 20_000))
        said = limit(*placed, refused=(left_out(20_000),), asked=0.3, unsaid=3, quiet_ms=5_000)
        assert "fresh words" not in said
        assert "as much talk as one may have" not in said
        assert "quiet" not in said
        assert ELSE not in said


class TestBelow:
    @pytest.mark.parametrize(("unsaid", "capped", "quiet_ms"), list(product(UNSAID, CAPPED, QUIET)))
    def test_each_reason_is_named_exactly_when_it_holds(
        self, unsaid: int, capped: int, quiet_ms: int
    ) -> None:
        placed = (cue(20_000, CAP_MS), cue(60_000, CAP_MS))
        refused = tuple(left_out(at_ms) for at_ms in (30_000, 70_000)[:capped])
        said = limit(*placed, refused=refused, unsaid=unsaid, quiet_ms=quiet_ms)
        sentences = [
            f"The phrase book has {UNSAID[unsaid]}" if unsaid else "",
            f"{CAPPED[capped]} as much talk as one may have." if capped else "",
            QUIET[quiet_ms],
            ELSE,
        ]
        reasons = " ".join(sentence for sentence in sentences if sentence)
        assert said == f"{FACT.format(reached=40)}. {reasons}"

    def test_a_segment_short_of_its_cap_by_less_than_a_line_has_all_it_may(self) -> None:
        short = cue(20_000, CAP_MS - 1_499)
        assert "One segment has" in limit(short, refused=(left_out(30_000),))

    def test_a_segment_with_room_for_a_line_has_not(self) -> None:
        short = cue(20_000, CAP_MS - 1_500)
        assert "segment" not in limit(short, refused=(left_out(30_000),))

    def test_a_full_segment_that_left_nothing_out_is_not_named(self) -> None:
        placed = (cue(20_000, CAP_MS), cue(60_000, 1_000))
        assert "segment" not in limit(*placed, refused=(left_out(70_000),))

    def test_firm_talk_counts_towards_a_segments_cap(self) -> None:
        placed = (cue(20_000, CAP_MS - 9_000), cue(35_000, 9_000, firm=True))
        assert "One segment has" in limit(*placed, refused=(left_out(30_000),))

    def test_a_full_opening_is_no_segment(self) -> None:
        assert "segment" not in limit(cue(0, 9_500), refused=(left_out(5_000),))

    def test_all_spans_of_quiet_are_added(self) -> None:
        frame = Frame(100_000, SESSION, ((20_000, 23_000), (60_000, 64_000)), 70_000)
        assert "Spans of quiet take 7 %." in talk_limit(Placement((), ()), frame, ASKED, 0)
