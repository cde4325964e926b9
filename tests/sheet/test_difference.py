"""What differs between two sheets is found line by line, and what does not differ is not shown.

The sample: rowing begins at 0:25 of the track; 25 s of opening, 17 cues, 4 segments.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given

from cuegen.plan.model import SegmentKind
from cuegen.schedule.cuesheet import Cue, CueSheet, LeftOut, SheetBed, SheetSegment, Sound, Span
from cuegen.script.kinds import CueKind
from cuegen.sheet.difference import (
    Change,
    CueChange,
    FactChange,
    SegmentChange,
    difference,
)
from cuegen.sheet.difference_text import Row, difference_rows, summary
from tests.sheet.samples import cue, cues, sample_sheet, segments
from tests.sheet.strategies import sheets

OLD = sample_sheet()


def with_cue(name: str, **changes: object) -> CueSheet:
    """Return the sample with a cue changed; `at_ms` takes its clip along."""
    return sample_sheet(
        cues=tuple(_changed(each, changes) if each.id == name else each for each in cues())
    )


def _changed(each: Cue, changes: dict[str, object]) -> Cue:
    at_ms = changes.get("at_ms", each.at_ms)
    assert isinstance(at_ms, int)
    moved_ms = at_ms - each.at_ms
    clip = {"start_ms": each.start_ms + moved_ms, "end_ms": each.end_ms + moved_ms}
    return each.model_copy(update=clip | changes)


def without(*names: str, **changes: object) -> CueSheet:
    return sample_sheet(cues=tuple(c for c in cues() if c.id not in names), **changes)


def shifted(name: str, by_ms: int) -> CueSheet:
    """Return the sample with a cue and all that follow it later."""
    names = [each.id for each in cues()]
    late = names[names.index(name) :]
    return sample_sheet(
        cues=tuple(
            _changed(each, {"at_ms": each.at_ms + by_ms}) if each.id in late else each
            for each in cues()
        ),
        duration_ms=OLD.duration_ms + by_ms,
    )


def rows(new: CueSheet, old: CueSheet = OLD) -> list[tuple[str, str, str]]:
    return [(row.time, row.what, row.how) for row in difference_rows(difference(old, new))]


class TestCues:
    def test_the_same_sheet_does_not_differ(self) -> None:
        found = difference(OLD, sample_sheet())
        assert found.is_none
        assert (found.same, found.cues, found.segments, found.sheet) == (17, (), (), ())

    def test_new_words_are_told_with_the_old_ones(self) -> None:
        found = difference(OLD, with_cue("cool.3", text="Long and easy."))
        assert found.cues == (
            CueChange(
                Change.CHANGED,
                "cool.3",
                CueKind.COOL_DOWN,
                575_450,
                "Long and easy.",
                was="Long and light.",
            ),
        )
        assert found.same == 16
        assert not found.is_none

    def test_a_line_that_moved_is_told_by_how_much(self) -> None:
        (change,) = difference(OLD, with_cue("cool.3", at_ms=598_000)).cues
        assert (change.clock_ms, change.moved_ms, change.was) == (573_000, -2_450, None)

    def test_a_new_line_stands_at_its_new_instant(self) -> None:
        added = cue("own.2", CueKind.OWN, 610_000, 900, "Breathe.", segment=3)
        (change,) = difference(OLD, sample_sheet(cues=(*cues(), added))).cues
        assert change == CueChange(Change.NEW, "own.2", CueKind.OWN, 585_000, "Breathe.")

    def test_a_line_that_is_gone_stands_at_its_old_instant(self) -> None:
        (change,) = difference(OLD, without("cool.3")).cues
        assert change == CueChange(
            Change.GONE, "cool.3", CueKind.COOL_DOWN, 575_450, "Long and light."
        )

    def test_a_line_that_found_no_room_says_why(self) -> None:
        left = LeftOut(id="cool.3", kind=CueKind.COOL_DOWN, text="Long.", why="no room left")
        (change,) = difference(OLD, without("cool.3", left_out=(left,))).cues
        assert change.why == "no room left"

    def test_changes_come_in_order_of_time_whatever_they_are(self) -> None:
        new = without("goal.1", "results")
        later = [
            _changed(c, {"at_ms": 205_000}) if c.id == "technique.1.1" else c for c in new.cues
        ]
        found = difference(OLD, sample_sheet(cues=tuple(later)))
        assert [c.id for c in found.cues] == ["goal.1", "technique.1.1", "results"]

    @pytest.mark.parametrize(
        ("change", "fact"),
        [
            ({"firm": True}, FactChange("held", "floating", "firm")),
            ({"speed": 1.12}, FactChange("pace", "1", "1.12")),
            ({"theme": "legs"}, FactChange("theme", "", "legs")),
            ({"segment": 2}, FactChange("segment", "4", "3")),
            ({"kind": CueKind.SETTLE}, FactChange("kind", "cool-down", "settle")),
        ],
    )
    def test_whatever_else_changes_is_told_too(
        self, change: dict[str, object], fact: FactChange
    ) -> None:
        (found,) = difference(OLD, with_cue("cool.3", **change)).cues
        assert found.facts == (fact,)

    def test_a_clip_of_another_length_is_counted_and_not_listed(self) -> None:
        found = difference(OLD, with_cue("cool.3", end_ms=602_000))
        assert (found.cues, found.same, found.relengthened) == ((), 16, 1)
        assert not found.is_none

    def test_a_longer_opening_moves_no_line_of_the_rowing(self) -> None:
        """Everything from the first segment on is 5 s later on the track, not on the clock."""
        by = 5_000
        new = sample_sheet(
            lead_in_ms=OLD.lead_in_ms + by,
            row_end_ms=OLD.row_end_ms + by,
            duration_ms=OLD.duration_ms + by,
            segments=tuple(
                s.model_copy(update={"start_ms": s.start_ms + by, "end_ms": s.end_ms + by})
                for s in segments()
            ),
            cues=tuple(_changed(c, {"at_ms": c.at_ms + by}) for c in cues()),
            quiet=(Span(start_ms=445_000, end_ms=465_000),),
        )
        found = difference(OLD, new)
        assert found.sheet == (FactChange("opening", "25 s", "30 s"),)
        assert (found.segments, found.cues) == ((), ())

    @given(sheets())
    def test_no_sheet_differs_from_itself(self, sheet: CueSheet) -> None:
        assert difference(sheet, sheet.model_copy(deep=True)).is_none

    @given(sheets(), sheets())
    def test_every_line_is_accounted_for_once(self, old: CueSheet, new: CueSheet) -> None:
        found = difference(old, new)
        gone = [change for change in found.cues if change.change is Change.GONE]
        told = len(found.cues) - len(gone) + found.same + found.relengthened
        assert told == len(new.cues)
        assert len(gone) == len({c.id for c in old.cues} - {c.id for c in new.cues})


class TestSegments:
    def test_a_target_that_changes_is_told_with_both_values(self) -> None:
        changed = list(segments())
        changed[1] = changed[1].model_copy(update={"split_ms": 132_000})
        (found,) = difference(OLD, sample_sheet(segments=tuple(changed))).segments
        assert found == SegmentChange(
            Change.CHANGED,
            2,
            120_000,
            "row 4:00 r20 2:12.0",
            (FactChange("target", "2:14.0", "2:12.0"),),
        )

    @pytest.mark.parametrize(
        ("change", "fact"),
        [
            ({"kind": SegmentKind.PADDLE}, FactChange("kind", "row", "paddle")),
            ({"rate": None}, FactChange("rate", "20", "")),
            ({"effort_pct": 80}, FactChange("effort", "75 %", "80 %")),
            ({"distance_m": 900}, FactChange("length", "4:00", "900 m")),
            ({"end_ms": 384_500}, FactChange("length", "4:00", "239.5 s")),
        ],
    )
    def test_each_fact_of_a_segment_counts(
        self, change: dict[str, object], fact: FactChange
    ) -> None:
        changed = list(segments())
        changed[1] = changed[1].model_copy(update=change)
        (found,) = difference(OLD, sample_sheet(segments=tuple(changed))).segments
        assert found.facts == (fact,)

    def test_a_segment_put_in_between_is_new_and_the_others_are_as_they_were(self) -> None:
        first, second, *rest = segments()
        paddle = paddle_of(second.end_ms, 90_000)
        later = [
            s.model_copy(update={"start_ms": s.start_ms + 90_000, "end_ms": s.end_ms + 90_000})
            for s in rest
        ]
        found = difference(OLD, sample_sheet(segments=(first, second, paddle, *later))).segments
        assert found == (SegmentChange(Change.NEW, 3, 360_000, "paddle 1:30 50 % effort"),)

    def test_a_segment_that_is_gone_bears_its_old_number(self) -> None:
        first, second, _, last = segments()
        found = difference(OLD, sample_sheet(segments=(first, second, last))).segments
        assert found == (SegmentChange(Change.GONE, 3, 360_000, "row 750 m r24-26 2:00.0"),)

    def test_a_cue_stays_in_its_segment_when_one_is_put_before_it(self) -> None:
        first, *rest = segments()
        new = sample_sheet(
            segments=(first, paddle_of(first.end_ms, 60_000), *rest),
            cues=tuple(
                c.model_copy(update={"segment": c.segment + (c.segment > 0)}) for c in cues()
            ),
        )
        assert difference(OLD, new).cues == ()


def paddle_of(start_ms: int, length_ms: int) -> SheetSegment:
    return segments()[3].model_copy(
        update={
            "start_ms": start_ms,
            "end_ms": start_ms + length_ms,
            "kind": SegmentKind.PADDLE,
            "effort_pct": 50,
        }
    )


SHEET_FACTS: list[tuple[dict[str, object], FactChange]] = [
    (
        {"title": "Alder steps"},
        FactChange("title", "Alder ladder <thirteen>", "Alder steps"),
    ),
    ({"audience": "solo"}, FactChange("audience", "a group", "one rower")),
    ({"talk_share": 0.4}, FactChange("talk share", "35 %", "40 %")),
    ({"quiet": ()}, FactChange("quiet", "6:55-7:15", "")),
    ({"duration_ms": 672_000}, FactChange("closing", "9.75 s", "10.75 s")),
]

SOUND_FACTS: list[tuple[dict[str, object], FactChange]] = [
    ({"voice": "natural"}, FactChange("voice", "small", "natural")),
    ({"language": "en"}, FactChange("language", "en-gb", "en")),
    ({"loudness_lufs": None}, FactChange("loudness", "-17.5 LUFS", "")),
    (
        {"bed": SheetBed(file="music.opus", below_db=20)},
        FactChange("bed", "music.opus, 22.5 dB below", "music.opus, 20 dB below"),
    ),
    ({"stroke_tones": "none"}, FactChange("stroke tones", "first-minute", "none")),
]


class TestSheet:
    @pytest.mark.parametrize(("change", "fact"), SHEET_FACTS)
    def test_what_holds_for_the_whole_sheet(
        self, change: dict[str, object], fact: FactChange
    ) -> None:
        assert difference(OLD, sample_sheet(**change)).sheet == (fact,)

    @pytest.mark.parametrize(("change", "fact"), SOUND_FACTS)
    def test_how_it_is_to_sound(self, change: dict[str, object], fact: FactChange) -> None:
        sound = Sound(**(OLD.sound.model_dump() | change))
        assert difference(OLD, sample_sheet(sound=sound)).sheet == (fact,)

    def test_notes_are_not_compared(self) -> None:
        assert difference(OLD, sample_sheet(notes=("Another.",))).is_none


class TestRows:
    """As they are read: few rows where little changed."""

    def test_nothing_is_no_row(self) -> None:
        assert rows(OLD) == []
        assert summary(difference(OLD, OLD)) == "The sheets are the same: 17 lines."

    CASES: tuple[tuple[Callable[[], CueSheet], tuple[str, str, str]], ...] = (
        (
            lambda: with_cue("cool.3", text="Long and easy."),
            ("9:35", "cool.3", "reworded\n  was: Long and light.\n  now: Long and easy."),
        ),
        (
            lambda: with_cue("cool.3", at_ms=598_000),
            ("9:33", "cool.3", "2.45 s earlier: Long and light."),
        ),
        (
            lambda: with_cue("cool.3", at_ms=600_450 - 75_000),
            ("8:20", "cool.3", "1:15 earlier: Long and light."),
        ),
        (
            lambda: with_cue("cool.3", at_ms=601_450, text="Light."),
            ("9:36", "cool.3", "reworded; 1 s later\n  was: Long and light.\n  now: Light."),
        ),
        (
            lambda: with_cue("cool.3", firm=True),
            ("9:35", "cool.3", "held floating -> firm: Long and light."),
        ),
        (lambda: without("welcome"), ("-0:25", "welcome", "gone: Welcome to the Alder ladder.")),
        (
            lambda: without(
                "cool.3",
                left_out=(LeftOut(id="cool.3", kind=CueKind.COOL_DOWN, text="x", why="too long"),),
            ),
            ("9:35", "cool.3", "gone: Long and light.\n(too long)"),
        ),
        (lambda: sample_sheet(quiet=()), ("", "quiet", "6:55-7:15 -> none")),
    )

    @pytest.mark.parametrize(("new", "row"), CASES)
    def test_one_change_is_one_row(
        self, new: Callable[[], CueSheet], row: tuple[str, str, str]
    ) -> None:
        assert rows(new()) == [row]

    def test_lines_that_moved_alike_are_one_row(self) -> None:
        assert rows(shifted("change.2", 30_000)) == [
            ("", "closing", "9.75 s -> 39.75 s"),
            ("6:30", "6 lines", "6:30 to 11:09: 30 s later"),
        ]

    def test_two_that_moved_alike_keep_their_rows(self) -> None:
        found = rows(shifted("finish", 1_000))
        assert [what for _, what, _ in found] == ["closing", "finish", "results"]

    def test_the_beats_of_a_count_are_one_row(self) -> None:
        beats = ("count.0.3", "count.0.2", "count.0.1")
        assert rows(without(*beats)) == [("-0:03", "count.0", "gone: Three. Two. One.")]

    def test_segments_and_lines_stand_in_order_of_time(self) -> None:
        changed = list(segments())
        changed[1] = changed[1].model_copy(update={"split_ms": 132_000})
        new = without("goal.1", "left.1.60", segments=tuple(changed))
        assert rows(new) == [
            ("0:55", "goal.1", "gone: Next: twenty, two fourteen."),
            ("2:00", "segment 2", "row 4:00 r20 2:12.0: target 2:14.0 -> 2:12.0"),
            ("5:00", "left.1.60", "gone: One minute left."),
        ]

    def test_a_segment_that_is_gone_is_told_whole(self) -> None:
        assert rows(sample_sheet(segments=segments()[:3])) == [
            ("9:00", "segment 4", "gone: cool-down 96.25 s 50 % effort")
        ]

    @pytest.mark.parametrize(
        ("new", "line"),
        [
            (with_cue("cool.3", text="Light."), "1 line differs; 16 lines the same."),
            (without("cool.3", "goal.1"), "2 lines differ; 15 lines the same."),
            (sample_sheet(title="x"), "1 setting differs; 17 lines the same."),
            (
                sample_sheet(segments=segments()[:3]),
                "1 segment differs; 17 lines the same.",
            ),
            (
                with_cue("cool.3", end_ms=602_000),
                "1 line is only longer or shorter; 16 lines the same.",
            ),
        ],
    )
    def test_the_last_line_counts(self, new: CueSheet, line: str) -> None:
        assert summary(difference(OLD, new)) == line

    def test_no_cell_can_drive_the_terminal(self) -> None:
        new = with_cue("cool.3", text="a\x1b[2Jb\rc")
        assert rows(new)[0][2] == "reworded\n  was: Long and light.\n  now: a [2Jb c"

    @given(sheets(), sheets())
    def test_there_are_no_more_rows_than_changes(self, old: CueSheet, new: CueSheet) -> None:
        found = difference(old, new)
        made: tuple[Row, ...] = difference_rows(found)
        assert len(made) <= len(found.sheet) + len(found.segments) + len(found.cues)
