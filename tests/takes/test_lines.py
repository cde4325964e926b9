"""Lines to record: each once, with the room that is left for it."""

from __future__ import annotations

from cuegen.script.kinds import CueKind
from cuegen.takes.lines import lines_to_record
from tests.takes.sheets import cue, sheet


def test_the_same_words_are_one_line_with_all_its_places() -> None:
    first, again = cue("a", "Sit tall.", 20_000, 900), cue("b", "Sit tall!", 40_000, 950)
    (line,) = lines_to_record(sheet(first, again))
    assert (line.number, line.text, line.cues) == (1, "Sit tall.", ("a", "b"))
    assert line.at == ("0:10", "0:30")
    assert line.about_ms == 950


def test_room_ends_a_gap_before_the_next_line() -> None:
    lines = lines_to_record(sheet(cue("a", "One.", 20_000, 900), cue("b", "Two.", 23_000, 900)))
    assert lines[0].longest_ms == 3_000 - 400
    assert lines[1].longest_ms == 120_000 - 23_000


def test_a_line_said_twice_must_fit_its_narrowest_place() -> None:
    cues = (
        cue("a", "Sit tall.", 20_000, 900),
        cue("b", "Long.", 30_000, 900),
        cue("c", "Sit tall.", 33_000, 900),
        cue("d", "Easy.", 35_000, 900),
    )
    assert lines_to_record(sheet(*cues))[0].longest_ms == 2_000 - 400


def test_beats_of_one_count_may_touch() -> None:
    beats = (
        cue("a", "Three.", 20_000, 400, CueKind.BEAT, firm=True),
        cue("b", "Two.", 21_000, 400, CueKind.BEAT, firm=True),
        cue("c", "Go.", 22_000, 400, CueKind.START, firm=True),
        cue("d", "Steady.", 24_000, 400),
    )
    lines = lines_to_record(sheet(*beats))
    assert [line.longest_ms for line in lines[:3]] == [1_000, 1_000, 2_000 - 400]


def test_a_firm_line_has_room_until_the_next_firm_one_whatever_floats_between() -> None:
    cues = (
        cue("a", "Rate up.", 20_000, 900, CueKind.RATE_CHANGE, firm=True),
        cue("b", "Two ten.", 22_000, 900),
        cue("c", "Halfway.", 30_000, 900, CueKind.HALFWAY, firm=True),
    )
    lines = lines_to_record(sheet(*cues))
    assert [line.firm_ms for line in lines] == [10_000 - 400, None, 90_000]
    assert lines[0].longest_ms == 2_000 - 400


def test_a_floating_line_ends_before_a_quiet_begins() -> None:
    floating, firm = (
        cue("a", "Sit tall.", 20_000, 900),
        cue("b", "Halfway.", 24_000, 900, CueKind.HALFWAY, firm=True),
    )
    quiet = ((22_000, 23_000), (26_000, 40_000))
    lines = lines_to_record(sheet(floating, firm, quiet=quiet))
    assert lines[0].longest_ms == 2_000
    assert lines[1].longest_ms == 96_000


def test_where_a_hand_edited_sheet_leaves_less_its_own_length_is_the_room() -> None:
    lines = lines_to_record(sheet(cue("a", "One.", 20_000, 900), cue("b", "Two.", 21_000, 900)))
    assert lines[0].longest_ms == 900


def test_numbers_given_before_are_kept_and_new_lines_go_on_after_them() -> None:
    cues = (cue("a", "New.", 20_000, 900), cue("b", "Old.", 30_000, 900))
    lines = lines_to_record(sheet(*cues), {"old": 3, "gone": 7})
    assert [(line.text, line.number) for line in lines] == [("New.", 8), ("Old.", 3)]


def test_a_cue_without_a_word_is_no_line() -> None:
    assert lines_to_record(sheet(cue("a", "...", 20_000, 900))) == ()
