"""What a plan drops is gone, what it pins stands as the coach says, all else is as it was.

The plan: 30 s of lead-in; warm-up 4:00, piece one 4:00 at 20, paddle 1:30, piece two
4:00 at 22, cool-down 2:00: 15:30 of rowing, and 12 s for the closing words.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from cuegen.errors import PlanError, ScheduleError, Where
from cuegen.plan.model import (
    Break,
    ChangeTo,
    Distance,
    Drop,
    Pin,
    QuietSpan,
    Rate,
    SayLine,
    Session,
)
from cuegen.schedule.place import place
from cuegen.schedule.rules import frame_of
from cuegen.script.candidate import Candidate, Line, Wording
from cuegen.script.edits import OWN_WORDS_WORTH, TRUE_IN_WINDOW, apply_edits
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.targets.outline import Outline
from cuegen.targets.resolve import outline as outline_of
from tests.script.outlines import script_of, session
from tests.targets.plans import COOL_DOWN, PADDLE, ROW, WARM_UP, entry, minutes

LEAD, TAIL = 30_000, 12_000
PLAN = session(
    entry(WARM_UP, 4, 18),
    replace(entry(ROW, 4, 20, 22), rest=Break(PADDLE, minutes(1.5))),
    entry(COOL_DOWN, 2),
    lead_in_ms=LEAD,
)
WHERE = Where(file="plan.yaml", line=9, text="{cue: it}")

Candidates = dict[str, Candidate]


def firm(name: str, kind: CueKind, segment: int, at_ms: int, text: str) -> Candidate:
    on = at_ms + LEAD
    return Candidate(name, kind, segment, (Wording(text, on, on),), firm=True, prefer_ms=on)


def floating(
    name: str, kind: CueKind, segment: int, *said: tuple[str, int, int], theme: str | None = None
) -> Candidate:
    """A cue with wordings, each from an instant of the rowing to another; best at the first."""
    wordings = tuple(Wording(text, first + LEAD, last + LEAD) for text, first, last in said)
    value, best = CUE_KINDS[kind].value, wordings[0].earliest_ms
    return Candidate(name, kind, segment, wordings, value=value, prefer_ms=best, theme=theme)


CUES = (
    floating("welcome", CueKind.WELCOME, 0, ("Good evening.", -29_500, -27_000)),
    floating("s01.settle", CueKind.SETTLE, 0, ("Find the rhythm.", 16_000, 38_000)),
    firm("own.at.60000", CueKind.OWN, 0, 60_000, "Well rowed."),
    firm("s02.beat.3", CueKind.BEAT, 0, 237_000, "Three."),
    firm("s02.beat.go", CueKind.BEAT, 1, 240_000, "Go."),
    floating("s02.settle", CueKind.SETTLE, 1, ("Settle here.", 256_000, 278_000)),
    floating(
        "s02.technique.1",
        CueKind.TECHNIQUE,
        1,
        ("Let the wheel run on.", 278_000, 292_000),
        ("Slow return.", 280_000, 290_000),
        theme="recovery",
    ),
    floating(
        "s02.technique.2", CueKind.TECHNIQUE, 1, ("Sit tall.", 352_000, 367_000), theme="posture"
    ),
    floating(
        "s02.left.60",
        CueKind.TIME_LEFT,
        1,
        ("One minute left.", 419_000, 421_000),
        ("A minute.", 419_000, 421_000),
        ("Just over a minute left.", 408_000, 418_999),
        ("Just under a minute left.", 421_001, 427_500),
    ),
    firm("halfway", CueKind.HALFWAY, 1, 465_000, "Half of it done."),
    floating("s04.goal", CueKind.GOAL, 2, ("Next, rate 22.", 521_000, 529_500)),
    floating("s04.settle", CueKind.SETTLE, 3, ("Settle again.", 586_000, 608_000)),
    floating("s04.last-piece", CueKind.LAST_PIECE, 3, ("The last one.", 579_000, 615_000)),
    firm("finish", CueKind.FINISH, 4, 930_000, "Last stroke."),
    floating("results", CueKind.RESULTS, 4, ("Splits down.", 931_000, 939_000)),
)
BEFORE = {candidate.id: candidate for candidate in CUES}


def laid(plan: Session) -> Outline:
    return replace(outline_of(plan), tail_ms=TAIL)


def edited(*edits: Drop | Pin, plan: Session = PLAN) -> Candidates:
    plan = replace(
        plan,
        drop=tuple(edit for edit in edits if isinstance(edit, Drop)),
        pin=tuple(edit for edit in edits if isinstance(edit, Pin)),
    )
    return {candidate.id: candidate for candidate in apply_edits(CUES, laid(plan))}


def texts(candidate: Candidate) -> list[str]:
    return [wording.text for wording in candidate.wordings]


def windows(candidate: Candidate) -> set[tuple[int, int]]:
    return {(w.earliest_ms, w.latest_ms) for w in candidate.wordings}


def without(*names: str) -> Candidates:
    return {name: candidate for name, candidate in BEFORE.items() if name not in names}


def test_a_plan_without_edits_keeps_its_candidates() -> None:
    assert apply_edits(CUES, laid(PLAN)) is CUES


class TestDrop:
    def test_one_cue_goes_and_the_others_stay_as_they_are(self) -> None:
        assert edited(Drop("s02.technique.2")) == without("s02.technique.2")

    def test_a_kind_goes_whole(self) -> None:
        assert edited(Drop("settle")) == without("s01.settle", "s02.settle", "s04.settle")

    def test_a_floating_kind_that_the_session_has_none_of_may_be_dropped(self) -> None:
        assert edited(Drop("distance-left")) == BEFORE

    @pytest.mark.parametrize(
        ("name", "remedy"),
        [
            ("s02.beat.3", "`count_in` says how many"),
            ("beat", "`count_in` says how many"),
            ("finish", "follow from the session's lengths"),
            ("halfway", "follow from the session's lengths"),
            ("own.at.60000", "Take the line out of `say`"),
            ("own", "Take the line out of `say`"),
        ],
    )
    def test_a_firm_cue_stays(self, name: str, remedy: str) -> None:
        with pytest.raises(PlanError, match=f"'{name}' is firm and cannot be left out") as caught:
            edited(Drop(name, where=WHERE))
        assert caught.value.where is WHERE
        assert remedy in caught.value.remedy

    @pytest.mark.parametrize(
        ("name", "remedy"),
        [
            ("s02.techniqe.2", "Did you mean 's02.technique.2'?"),
            ("setle", "Did you mean 'settle'?"),
            ("qqqq", "Known are: welcome, caution, goal, "),
        ],
    )
    def test_an_unknown_name_is_answered_with_the_nearest(self, name: str, remedy: str) -> None:
        with pytest.raises(PlanError, match=f"no cue '{name}'") as caught:
            edited(Drop(name, where=WHERE))
        assert str(caught.value).startswith("plan.yaml, line 9: ")
        assert remedy in caught.value.remedy


class TestHeld:
    def test_a_floating_cue_is_firm_at_its_instant_and_bears_the_pins_line(self) -> None:
        """Piece two is told of at 8:10, half a minute earlier than the window of our words."""
        held = edited(Pin("s04.goal", at_ms=490_000, where=WHERE))["s04.goal"]
        assert (held.firm, held.prefer_ms, held.where) == (True, 490_000 + LEAD, WHERE)
        assert windows(held) == {(490_000 + LEAD, 490_000 + LEAD)}
        assert texts(held) == ["Next, rate 22."]
        assert (held.kind, held.segment, held.theme) == (CueKind.GOAL, 2, None)

    def test_the_others_stay_and_all_are_in_order(self) -> None:
        cues = edited(Pin("s02.settle", at_ms=400_000))
        assert {name: each for name, each in cues.items() if name != "s02.settle"} == without(
            "s02.settle"
        )
        assert [c.prefer_ms for c in cues.values()] == sorted(c.prefer_ms for c in cues.values())

    def test_a_kind_names_its_only_cue(self) -> None:
        assert edited(Pin("last-piece", at_ms=660_000))["s04.last-piece"].prefer_ms == 690_000

    def test_an_opening_line_is_held_before_the_first_stroke(self) -> None:
        held = edited(Pin("welcome", at_ms=-25_000))["welcome"]
        assert (held.prefer_ms, held.segment) == (5_000, 0)

    def test_a_closing_line_is_held_after_the_last(self) -> None:
        held = edited(Pin("results", at_ms=934_000))["results"]
        assert (held.prefer_ms, held.segment) == (964_000, 4)

    def test_a_time_check_keeps_only_the_words_that_are_true_then(self) -> None:
        """At 6:53 of the rowing, 1:07 is left of piece one."""
        held = edited(Pin("s02.left.60", at_ms=413_000))["s02.left.60"]
        assert texts(held) == ["Just over a minute left."]

    def test_a_cue_that_tells_no_time_keeps_all_its_words(self) -> None:
        held = edited(Pin("s02.technique.1", at_ms=300_000))["s02.technique.1"]
        assert texts(held) == ["Let the wheel run on.", "Slow return."]
        assert (windows(held), held.theme) == ({(330_000, 330_000)}, "recovery")

    def test_a_cue_with_the_coachs_words_may_be_held_anywhere(self) -> None:
        held = edited(Pin("s02.left.60", at_ms=700_000, text="hold 2:04.5"))["s02.left.60"]
        assert texts(held) == ["Hold two oh four point five"]
        assert (held.prefer_ms, held.segment) == (730_000, 3)

    @pytest.mark.parametrize(
        ("pin", "remedy"),
        [
            (Pin("s02.left.60", at_ms=400_000), "It holds from 6:48 to 7:07.5;"),
            (Pin("s02.settle", at_ms=490_000), "It holds from 4:00 to 8:00;"),
            (Pin("welcome", at_ms=1_000), "It holds from -0:30 to 0:00;"),
            (Pin("results", at_ms=900_000), "It holds from 15:30 to 15:42;"),
        ],
    )
    def test_words_that_would_not_be_true_are_not_moved(self, pin: Pin, remedy: str) -> None:
        with pytest.raises(PlanError, match=f"what '{pin.cue}' says would not be true") as caught:
            edited(replace(pin, where=WHERE))
        assert caught.value.where is WHERE
        assert caught.value.remedy.startswith(remedy)

    def test_a_firm_cue_does_not_move(self) -> None:
        with pytest.raises(
            PlanError, match=r"'s02\.beat\.3' is firm and cannot be moved"
        ) as caught:
            edited(Pin("s02.beat.3", at_ms=238_000, where=WHERE))
        assert caught.value.remedy.startswith("It stands at 3:57: leave `at` out")

    def test_an_own_line_moves_in_say(self) -> None:
        with pytest.raises(PlanError, match=r"'own\.at\.60000' is firm") as caught:
            edited(Pin("own.at.60000", at_ms=61_000))
        assert caught.value.remedy == "Give it another instant in `say`."

    def test_a_firm_cue_may_be_named_with_its_own_instant(self) -> None:
        cues = edited(Pin("s02.beat.3", at_ms=237_000, text="Ready."))
        assert (texts(cues["s02.beat.3"]), cues["s02.beat.3"].prefer_ms) == (["Ready."], 267_000)

    @pytest.mark.parametrize("at_ms", [-30_000, 3_000_000])
    def test_an_instant_outside_the_track_is_refused(self, at_ms: int) -> None:
        with pytest.raises(PlanError, match="outside the track") as caught:
            edited(Pin("welcome", at_ms=at_ms, text="Hello"))
        assert caught.value.remedy == "The track runs from -0:30 to 15:42 on the rowing clock."

    def test_every_kind_whose_words_tell_the_time_left_keeps_to_its_windows(self) -> None:
        telling = {k for k, spec in CUE_KINDS.items() if "left" in spec.fields and not spec.firm}
        assert telling
        assert telling <= TRUE_IN_WINDOW


class TestReworded:
    def test_a_floating_cue_floats_on_in_the_coachs_words(self) -> None:
        was = BEFORE["s02.technique.1"]
        now = edited(Pin("s02.technique.1", text="10 long ones", where=WHERE))["s02.technique.1"]
        assert texts(now) == ["Ten long ones"]
        assert (now.firm, now.prefer_ms, now.theme) == (False, was.prefer_ms, was.theme)
        assert windows(now) == {(278_000 + LEAD, 292_000 + LEAD)}
        assert (now.value, now.where) == (was.value + OWN_WORDS_WORTH, WHERE)

    def test_a_time_check_is_said_when_our_first_wording_would_be_true(self) -> None:
        now = edited(Pin("s02.left.60", text="A minute more"))["s02.left.60"]
        assert (texts(now), windows(now)) == (["A minute more"], {(449_000, 451_000)})

    def test_a_firm_cue_keeps_its_instant(self) -> None:
        was = BEFORE["s02.beat.go"]
        now = edited(Pin("s02.beat.go", text="row"))["s02.beat.go"]
        assert (texts(now), now.firm, windows(now)) == (["Row"], True, windows(was))
        assert now.value == was.value

    def test_words_that_cannot_be_spoken_are_refused(self) -> None:
        with pytest.raises(PlanError, match="'&' in a line of `pin` cannot be spoken") as caught:
            edited(Pin("welcome", text="Tea & rowing", where=WHERE))
        assert caught.value.where is WHERE

    def test_words_rank_behind_the_safety_line(self) -> None:
        floating = [
            k for k, spec in CUE_KINDS.items() if not spec.firm and k is not CueKind.CAUTION
        ]
        most = max(CUE_KINDS[kind].value for kind in floating)
        assert most + OWN_WORDS_WORTH < CUE_KINDS[CueKind.CAUTION].value


class TestTogether:
    def test_a_pin_goes_before_a_drop_of_its_kind(self) -> None:
        cues = edited(Drop("technique"), Pin("s02.technique.1", text="Length"))
        left = [name for name, each in cues.items() if each.kind is CueKind.TECHNIQUE]
        assert left == ["s02.technique.1"]

    def test_a_cue_that_is_dropped_and_pinned_by_its_id_is_refused(self) -> None:
        with pytest.raises(PlanError, match=r"'s02\.settle' is dropped and pinned"):
            edited(Drop("s02.settle"), Pin("s02.settle", text="Settle"))

    def test_a_cue_that_is_pinned_by_id_and_by_kind_is_refused(self) -> None:
        with pytest.raises(PlanError, match=r"'s04\.last-piece' is pinned twice"):
            edited(Pin("last-piece", at_ms=660_000), Pin("s04.last-piece", text="Last one"))

    def test_a_kind_of_several_cues_is_too_little_to_pin(self) -> None:
        with pytest.raises(PlanError, match="has 3 cues of the kind 'settle'") as caught:
            edited(Pin("settle", text="Settle", where=WHERE))
        assert caught.value.remedy == "Name one of them: s01.settle, s02.settle, s04.settle."

    def test_a_kind_without_a_cue_is_nothing_to_pin(self) -> None:
        with pytest.raises(PlanError, match="has no cues of the kind 'distance-left'"):
            edited(Pin("distance-left", text="Not far"))

    def test_an_unknown_pin_is_answered_with_the_nearest(self) -> None:
        with pytest.raises(PlanError, match="no cue 'wellcome'") as caught:
            edited(Pin("wellcome", text="Hello"))
        assert caught.value.remedy == "Did you mean 'welcome'?"


class TestPlaced:
    """With a voice of 70 ms a letter, through the placement itself."""

    def placed(self, *edits: Drop | Pin, plan: Session = PLAN) -> dict[str, int]:
        frame = frame_of(laid(plan))
        found = place(edited(*edits, plan=plan).values(), frame, measure).placed
        return {cue.candidate.id: cue.at_ms - LEAD for cue in found}

    def test_a_held_cue_stands_on_its_instant(self) -> None:
        assert self.placed(Pin("s04.goal", at_ms=490_000))["s04.goal"] == 490_000

    def test_a_dropped_cue_is_not_said(self) -> None:
        assert "s02.settle" in self.placed()
        assert "s02.settle" not in self.placed(Drop("s02.settle"))

    def test_a_held_cue_speaks_in_a_quiet_span(self) -> None:
        plan = replace(PLAN, quiet=(QuietSpan(380_000, 420_000),))
        found = self.placed(Pin("s02.technique.2", at_ms=400_000), plan=plan)
        assert found["s02.technique.2"] == 400_000

    def test_a_held_cue_without_room_names_the_plans_line(self) -> None:
        """The count to piece one begins at 3:57."""
        with pytest.raises(ScheduleError) as caught:
            self.placed(Pin("s01.settle", at_ms=236_500, where=WHERE))
        assert caught.value.where is WHERE


def measure(line: Line) -> int:
    return int(70 * len(line.text) / line.speed)


class TestLinesOfOnesOwn:
    """`say` near a change or a piece; the rest of `say` is tested with the firm cues."""

    def own(self, line: SayLine, plan: Session = PLAN) -> tuple[str, int]:
        found = script_of(replace(plan, say=(line,))).candidates
        (cue,) = (each for each in found if each.kind is CueKind.OWN)
        return cue.id, cue.prefer_ms - LEAD

    @pytest.mark.parametrize(
        ("line", "name", "at_ms"),
        [
            (SayLine("A", change=ChangeTo(3), offset_ms=-20_000), "own.to.s03.-20000", 460_000),
            (SayLine("A", change=ChangeTo(1), offset_ms=-15_000), "own.to.s01.-15000", -15_000),
            (SayLine("A", change=ChangeTo(2), offset_ms=8_000), "own.to.s02.8000", 248_000),
            (
                SayLine("A", change=ChangeTo(2, piece=True), offset_ms=-20_000),
                "own.to.p02.-20000",
                550_000,
            ),
            (SayLine("A", piece=2, offset_ms=90_000), "own.p02.90000", 660_000),
            (SayLine("A", piece=1, offset_ms=-50_000), "own.p01.-50000", 430_000),
        ],
    )
    def test_a_line_stands_near_the_change_or_piece_it_names(
        self, line: SayLine, name: str, at_ms: int
    ) -> None:
        assert self.own(line) == (name, at_ms)

    def test_before_a_change_may_reach_into_the_segment_before_that(self) -> None:
        line = SayLine("A", change=ChangeTo(4), offset_ms=-100_000)  # the paddle lasts 1:30
        assert self.own(line)[1] == 470_000

    @pytest.mark.parametrize(
        ("line", "problem", "remedy"),
        [
            (SayLine("A", piece=3), "there is no piece 3", "The session has 2: its segments of"),
            (SayLine("A", change=ChangeTo(6)), "there is no segment 6", "The session has 5; br"),
            (SayLine("A", change=ChangeTo(3, piece=True)), "there is no piece 3", "has 2: its"),
            (SayLine("A", piece=1, offset_ms=240_000), "outside its piece", "It lasts 4:00."),
            (SayLine("A", piece=1, offset_ms=-240_001), "outside its piece", "It lasts 4:00."),
            (
                SayLine("A", change=ChangeTo(1), offset_ms=-30_000),
                "outside the session",
                "Lengthen `lead_in`",
            ),
        ],
    )
    def test_a_line_that_would_stand_nowhere_is_refused(
        self, line: SayLine, problem: str, remedy: str
    ) -> None:
        with pytest.raises(PlanError, match=problem) as caught:
            self.own(replace(line, where=WHERE))
        assert caught.value.where is WHERE
        assert remedy in caught.value.remedy

    def test_the_length_of_metres_is_not_held_against_a_line(self) -> None:
        """500 m at the reckoned pace last far less than nine minutes; the cool-down goes on."""
        row = replace(entry(ROW, Distance(500)), rates=(Rate(20, 20),))
        plan = session(entry(WARM_UP, 4, 18), row, entry(COOL_DOWN, 10))
        name, at_ms = self.own(SayLine("A", piece=1, offset_ms=540_000), plan)
        assert (name, at_ms) == ("own.p01.540000", 780_000)
