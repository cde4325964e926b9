"""The time line in a terminal: to scale, plain, and no wider than asked."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.timeline_parts import Line, line_text
from cuegen.sheet.timeline_strip import ASCII, BLOCKS, Glyphs
from cuegen.sheet.timeline_text import timeline_lines
from cuegen.sheet.wording import script_lines
from tests.sheet.samples import sample_sheet, segments
from tests.sheet.strategies import sheets


def texts(sheet: CueSheet, width: int = 80, glyphs: Glyphs = BLOCKS) -> list[str]:
    return [line_text(line) for line in timeline_lines(sheet, width, glyphs)]


def test_a_segment_has_a_head_with_figures_and_rows_to_scale() -> None:
    lines = texts(sample_sheet(), 100)
    start = next(n for n, line in enumerate(lines) if line.startswith("  2:00"))
    assert lines[start : start + 8] == [
        "  2:00 ┏ Row 1 of 2, 4:00                ▎──┼──────   3 %  "
        "▀▀█ █▀█               ▀▀█ ▄ ▀█  █ █   █▀█",
        "       ┃ r20 2:14.0 75 %                                   "
        "█▀▀ █ █               █▀▀ ▄  █  ▀▀█   █ █",
        "       ┃ 2:14.0 given in the plan                          "
        "▀▀▀ ▀▀▀               ▀▀▀   ▀▀▀   ▀ ▀ ▀▀▀",
        "       ┃█▄▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁  :00 █ Rate up, twenty.",
        "  2:15 ┃▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁",
        "  2:30 ┃▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁",
        "  2:45 ┃▁▁▁▁▁▁▁▁▁▁▁▁▁▄▄▄▄▄▁▁  :55 ▄ Let the wheel spin down & breathe.",
        "  3:00 ┃▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁",
    ]


def test_equal_times_take_equal_strips() -> None:
    """25 s, 2:00, 4:00, 3:00, 1:36.25 and 9.75 s in cells of 0.75 s."""
    walls = {"┊": 0, "│": 0, "┃": 0, "╏": 0}
    for line in texts(sample_sheet()):
        wall = line[7:8]
        if wall in walls:
            walls[wall] += sum(line[8:28].count(mark) for mark in "█▄▁·")
    # Rows end at whole cells: half a cell more or less for each of the six stretches.
    assert walls == {"┊": 20 + 13 + 13, "│": 160 + 128, "┃": 320, "╏": 240}


def test_quiet_is_seen_and_said() -> None:
    lines = texts(sample_sheet())
    assert "  6:45 ╏▁▁▁▁▁▁▁▁▁▁▁▁▁·······  :55 · quiet to 7:15" in lines
    assert "  7:00 ╏····················" in lines


def test_what_moves_with_the_pace_is_marked() -> None:
    """750 m at 2:00.0 is 180 s; 2 % of it is 3.6 s (time = distance x pace)."""
    lines = texts(sample_sheet(), 120)
    piece = next(n for n, line in enumerate(lines) if "Row 2 of 2" in line)
    assert lines[piece].startswith("  6:00 ┏ Row 2 of 2, 750 m ~3:00 ")
    assert "r24-26 2:00.0 85 %, ends 8:56 to 9:04" in lines[piece + 1]
    assert any(line.startswith("  8:45 ╏") and "~" in line[9:] for line in lines)
    assert any(line.startswith(" ~9:00 ┌ Cool-down") for line in lines)
    assert any(line.startswith("~10:36 ┌ Finish, 10:33 to 10:40") for line in lines)
    assert "~ moves with the pace" in " ".join(lines)


def test_a_session_by_time_alone_promises_no_span() -> None:
    timed = tuple(s.model_copy(update={"distance_m": None, "predicted": False}) for s in segments())
    assert "~" not in " ".join(texts(sample_sheet(segments=timed)))


def test_the_key_names_only_the_marks_that_are_there() -> None:
    assert "quiet by plan" in " ".join(texts(sample_sheet()))
    assert "quiet" not in " ".join(texts(sample_sheet(quiet=())))


def test_the_sum_and_the_notes_close_it() -> None:
    assert texts(sample_sheet())[-2:] == [
        "17 lines, 5 % talk, 1 left out.",
        "The cool-down is short.",
    ]
    assert texts(sample_sheet(left_out=()))[-2] == "17 lines, 5 % talk, none left out."


def test_why_the_talk_share_was_not_met_is_said() -> None:
    sheet = sample_sheet(talk_limit="The voice speaks 5 % of the time; 35 % was asked for.")
    assert texts(sheet)[-2] == sheet.talk_limit


def test_a_long_session_has_a_readable_number_of_lines() -> None:
    """90 minutes in six segments."""
    step = 15 * 60_000
    base = segments()[1]
    many = tuple(
        base.model_copy(update={"start_ms": 25_000 + n * step, "end_ms": 25_000 + (n + 1) * step})
        for n in range(6)
    )
    end = many[-1].end_ms
    lines = texts(sample_sheet(segments=many, row_end_ms=end, duration_ms=end + 9_000))
    assert "one row is 2:00" in " ".join(lines)
    assert len(lines) < 85


def test_every_line_is_in_the_script_whole_and_what_was_left_out() -> None:
    with_it = [line_text(line) for line in timeline_lines(sample_sheet(), 80, script=True)]
    whole = " ".join(" ".join(with_it[len(texts(sample_sheet())) - 2 :]).split())
    for line in script_lines(sample_sheet()):
        assert line.text in whole
    assert whole.startswith("-0:25 Opening -0:25 ▄ Welcome to the Alder ladder.")
    assert "-0:03 █ Three, two, one." in whole
    assert "6:55 · quiet to 7:15" in whole
    assert "Left out Settle. (no room before it)" in whole


def test_without_block_characters_the_figures_stand_in_the_heads() -> None:
    lines = texts(sample_sheet(), 80, ASCII)
    assert all(line.isascii() for line in lines)
    assert any(line.startswith("  2:00 + Row 1 of 2, 4:00, r20 2:14.0 75 %") for line in lines)


@pytest.mark.parametrize("rate", ["\x1b[2J", "1" * 99, "eighteen"])
def test_an_odd_rate_does_no_harm(rate: str) -> None:
    odd = tuple(segment.model_copy(update={"rate": rate}) for segment in segments())
    for line in texts(sample_sheet(segments=odd)):
        assert "\x1b" not in line
        assert cell_len(line) <= 80


@settings(max_examples=60)
@given(sheets(), st.integers(20, 200), st.sampled_from((BLOCKS, ASCII)), st.booleans())
def test_no_line_is_too_wide_or_can_drive_a_terminal(
    sheet: CueSheet, width: int, glyphs: Glyphs, script: bool
) -> None:
    lines: tuple[Line, ...] = timeline_lines(sheet, width, glyphs, script=script)
    for line in map(line_text, lines):
        assert cell_len(line) <= max(60, min(width, 140))
        assert not any(ord(ch) < 32 or 127 <= ord(ch) < 160 for ch in line)
        assert line == line.rstrip()
