"""The coach's own edits in a plan: lines near a change or a piece, cues left out, cues pinned."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.errors import PlanError
from cuegen.plan.model import ChangeTo, Drop, Pin, SayLine, Session
from cuegen.plan.notation import parse_notation
from cuegen.plan.reading import read_plan
from cuegen.plan.writing import rewrite_plan, write_plan
from tests.plan.strategies import words

PLAN = "session: |\n  warm-up 6:00 r18\n  2 x 4:00 r20, paddle 1:00\n  cool-down 4:00\n"


def said(line: str) -> SayLine:
    return read_plan(f"{PLAN}say:\n  - {line}\n").say[0]


class TestSay:
    @pytest.mark.parametrize(
        ("line", "change", "offset_ms"),
        [
            ('{change: 3, before: "0:20", text: a}', ChangeTo(3), -20_000),
            ('{change: segment 3, before: "0:20", text: a}', ChangeTo(3), -20_000),
            ('{change: piece 2, before: "0:20", text: a}', ChangeTo(2, piece=True), -20_000),
            ('{change: 2, after: "0:05", text: a}', ChangeTo(2), 5_000),
            ("{change: 2, text: a}", ChangeTo(2), 0),
            ('{change: 1, before: "0:15", text: a}', ChangeTo(1), -15_000),
        ],
    )
    def test_a_line_may_be_near_a_change(self, line: str, change: ChangeTo, offset_ms: int) -> None:
        assert said(line) == SayLine("a", change=change, offset_ms=offset_ms)

    def test_before_a_change_may_be_longer_than_the_segment_that_ends(self) -> None:
        line = '{change: 4, before: "1:30", text: a}'  # the paddle before it lasts 1:00
        assert said(line).offset_ms == -90_000

    @pytest.mark.parametrize(
        ("line", "offset_ms"),
        [
            ('{piece: 2, after: "1:00", text: a}', 60_000),
            ('{piece: 2, before: "0:30", text: a}', -30_000),
            ("{piece: 2, text: a}", 0),
        ],
    )
    def test_a_segment_of_work_may_be_named_as_a_piece(self, line: str, offset_ms: int) -> None:
        assert said(line) == SayLine("a", piece=2, offset_ms=offset_ms)

    def test_pieces_are_the_segments_of_work(self) -> None:
        assert [segment.index for segment in read_plan(PLAN).pieces] == [1, 3]

    @pytest.mark.parametrize(
        ("line", "problem", "remedy"),
        [
            ("{change: soon, text: a}", "a number should stand here", "1 to 1000"),
            ("{change: piece, text: a}", "a number should stand here", "1 to 1000"),
            ("{change: part 2, text: a}", "this names no change", "piece 2"),
            ("{change: piece 0, text: a}", "number is out of range", "1 to 1000"),
            ("{piece: two, text: a}", "a number should stand here", "1 to 1000"),
            ("{piece: 1, segment: 2, text: a}", "no single instant", "{change: 3, before:"),
            ("{piece: 1, change: 2, text: a}", "no single instant", "{change: 3, before:"),
            (
                '{change: 2, before: "0:05", after: "0:05", text: a}',
                "no single instant",
                "{change: 3, before:",
            ),
            ('{at: "1:00", before: "0:05", text: a}', "no single instant", "{change: 3, before:"),
        ],
    )
    def test_a_line_without_one_clear_instant_is_refused(
        self, line: str, problem: str, remedy: str
    ) -> None:
        with pytest.raises(PlanError, match=problem) as caught:
            said(line)
        assert caught.value.where.line == 6
        assert remedy in caught.value.remedy


class TestDrop:
    def test_ids_and_kinds_are_read_in_their_order(self) -> None:
        plan = read_plan(f"{PLAN}drop: [s02.technique.3, settle]\n")
        assert plan.drop == (Drop("s02.technique.3"), Drop("settle"))

    def test_one_alone_needs_no_list(self) -> None:
        assert read_plan(f"{PLAN}drop: settle\n").drop == (Drop("settle"),)

    def test_each_knows_its_line(self) -> None:
        plan = read_plan(f"{PLAN}drop:\n  - settle\n  - offer\n", file="p.yaml")
        assert [str(drop.where) for drop in plan.drop] == [
            "p.yaml, line 6, column 5: 'settle'",
            "p.yaml, line 7, column 5: 'offer'",
        ]

    def test_a_name_that_stands_twice_is_refused(self) -> None:
        with pytest.raises(PlanError, match="line 5, column 16: 'settle': 'settle' is named twice"):
            read_plan(f"{PLAN}drop: [settle, settle]\n")


class TestPin:
    def test_an_instant_words_or_both(self) -> None:
        pins = (
            '{cue: s03.goal, at: "12:30"}',
            "{cue: welcome, text: Good morning.}",
            '{cue: s02.settle, at: "7:10.5", text: Settle.}',
        )
        plan = read_plan(f"{PLAN}pin: [{', '.join(pins)}]\n")
        assert plan.pin == (
            Pin("s03.goal", at_ms=750_000),
            Pin("welcome", text="Good morning."),
            Pin("s02.settle", at_ms=430_500, text="Settle."),
        )

    def test_an_instant_before_the_first_stroke_carries_a_minus(self) -> None:
        assert read_plan(f"{PLAN}pin: [{{cue: welcome, at: -0:20}}]\n").pin[0].at_ms == -20_000

    @pytest.mark.parametrize(
        ("pin", "problem", "remedy"),
        [
            ("{cue: welcome}", "neither an instant nor words", "{cue: s03.goal, at:"),
            ('{at: "1:00"}', "'cue' is missing here", "cue: ..."),
            ("{cue: welcome, at: soon}", "a time should stand here", "m:ss"),
            ("{cue: welcome, at: --0:10}", "a time should stand here", "m:ss"),
            ("{cue: welcome, say: Hello}", "not known here", "Known are: cue, at, text"),
            ("{cue: welcome, text: ''}", "no value stands here", "leave the field out"),
            ("welcome", "names with values should stand here", "{cue: ...}"),
        ],
    )
    def test_a_pin_that_says_nothing_is_refused(self, pin: str, problem: str, remedy: str) -> None:
        with pytest.raises(PlanError, match=problem) as caught:
            read_plan(f"{PLAN}pin:\n  - {pin}\n")
        assert caught.value.where.line == 6
        assert remedy in caught.value.remedy

    def test_a_cue_that_is_pinned_twice_is_refused(self) -> None:
        twice = "pin:\n  - {cue: goal, at: 1:00}\n  - {cue: goal, text: Hold.}\n"
        with pytest.raises(PlanError, match=r"line 7, .*: 'goal' is named twice"):
            read_plan(PLAN + twice)

    def test_pins_are_a_list(self) -> None:
        with pytest.raises(PlanError, match="a list should stand here"):
            read_plan(f"{PLAN}pin: {{cue: welcome, text: Hello.}}\n")


# Written and read back


def test_edits_are_written_as_a_coach_would() -> None:
    plan = Session(
        "Ladder",
        parse_notation("6:00 r18\n6:00 r20"),
        say=(
            SayLine("Ready.", change=ChangeTo(2, piece=True), offset_ms=-20_000),
            SayLine("Up.", change=ChangeTo(2)),
            SayLine("Long.", piece=1, offset_ms=90_000),
        ),
        drop=(Drop("s02.technique.3"), Drop("settle")),
        pin=(Pin("welcome", -20_000), Pin("s02.goal", 310_000, "Rate twenty.")),
    )
    assert write_plan(plan).partition("6:00 r20\n")[2] == (
        "say:\n"
        '  - change: piece 2\n    before: "0:20"\n    text: Ready.\n'
        "  - change: 2\n    text: Up.\n"
        '  - piece: 1\n    after: "1:30"\n    text: Long.\n'
        "drop:\n  - s02.technique.3\n  - settle\n"
        'pin:\n  - cue: welcome\n    at: "-0:20"\n'
        '  - cue: s02.goal\n    at: "5:10"\n    text: Rate twenty.\n'
    )


INSTANTS = st.integers(-600_000, 3_600_000)
PINS = st.one_of(
    st.builds(Pin, words(), INSTANTS),
    st.builds(Pin, words(), st.none(), words()),
    st.builds(Pin, words(), INSTANTS, words()),
)


@given(
    st.lists(words().map(Drop), max_size=3, unique_by=lambda drop: drop.cue),
    st.lists(PINS, max_size=3, unique_by=lambda pin: pin.cue),
)
def test_any_edits_are_written_and_read_back(drops: list[Drop], pins: list[Pin]) -> None:
    plan = replace(read_plan(PLAN), drop=tuple(drops), pin=tuple(pins))
    assert read_plan(write_plan(plan)) == plan
    assert read_plan(rewrite_plan(PLAN, plan)) == plan
