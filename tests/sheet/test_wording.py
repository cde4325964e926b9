"""How facts are worded: the rowing clock, spans for distance pieces, counts as one line."""

from __future__ import annotations

import pytest

from cuegen.sheet.wording import (
    end_spreads,
    end_words,
    length_words,
    one_line,
    rowing_clock,
    script_lines,
    target_words,
)
from tests.sheet.samples import sample_sheet, segments


@pytest.mark.parametrize(
    ("track_ms", "clock"),
    [
        (0, "-0:25"),
        (24_499, "-0:01"),
        (24_501, "0:00"),
        (25_000, "0:00"),
        (3_625_000, "1:00:00"),
        (84_600, "1:00"),
    ],
)
def test_the_rowing_clock_starts_at_the_first_stroke(track_ms: int, clock: str) -> None:
    assert rowing_clock(sample_sheet(), track_ms) == clock


def test_only_metres_stretch_with_the_pace_and_what_follows_moves_along() -> None:
    """750 m at 2:00.0 is 180 s; 2 % of it is 3.6 s (time = distance x pace)."""
    assert end_spreads(sample_sheet()) == (0, 0, 3_600, 3_600)
    assert end_words(sample_sheet(), 1) == "6:00"
    assert end_words(sample_sheet(), 3) == "about 10:36 (10:33 to 10:40)"


def test_the_last_spread_is_what_the_sheet_says() -> None:
    sheet = sample_sheet()
    assert end_spreads(sheet)[-1] == sheet.early_ms == sheet.late_ms


def test_lengths_are_metres_where_the_plan_gave_metres() -> None:
    assert [length_words(s) for s in segments()] == ["2:00", "4:00", "750 m", "1:36"]


def test_targets_are_splits_before_efforts_and_a_rest_has_none() -> None:
    assert [target_words(s) for s in segments()[:2]] == ["55 % effort", "2:14.0"]
    assert target_words(segments()[0].model_copy(update={"effort_pct": 0})) == ""


def test_a_count_is_one_line_at_its_first_beat() -> None:
    lines = script_lines(sample_sheet())
    assert [(line.at_ms, line.text) for line in lines[2:4]] == [
        (22_000, "Three, two, one."),
        (25_000, "Go, rate eighteen."),
    ]
    assert len(lines) == len(sample_sheet().cues) - 2


def test_one_line_takes_breaks_and_control_characters_out() -> None:
    assert one_line(" a\r\nb\tc\x1b[31m\x00 \x85 d ") == "a b c [31m d"


def test_one_line_takes_out_what_turns_the_order_of_reading() -> None:
    assert one_line("a \u202etxt.exe\u202c \u2067b\u2069 \u200fc") == "a txt.exe b c"
    assert one_line("\u05e9\u05dc\u05d5\u05dd") == "\u05e9\u05dc\u05d5\u05dd"
