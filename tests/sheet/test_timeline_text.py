"""Rows for a terminal: plain, and no wider than 80 columns."""

from __future__ import annotations

from hypothesis import given

from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.timeline_text import Row, ScriptRow, outline_rows, script_rows
from tests.sheet.samples import sample_sheet, segments
from tests.sheet.strategies import sheets


def test_the_outline_is_opening_segments_and_finish() -> None:
    assert outline_rows(sample_sheet()) == (
        Row("-0:25", "opening", "", "Welcome to the Alder ladder."),
        Row("0:00", "warm-up 2:00", "r18 55 % effort", ""),
        Row("2:00", "row 4:00", "r20 2:14.0", "Kit, sit tall on the seat."),
        Row("6:00", "row 750 m", "r24-26 2:00.0", "Hang off the handle."),
        Row("9:00", "cool-down 1:36", "50 % effort", ""),
        Row("10:36", "finish", "", "about 10:36 (10:33 to 10:40)"),
    )


def test_without_a_lead_in_there_is_no_opening() -> None:
    first = segments()[0].model_copy(update={"start_ms": 0})
    sheet = sample_sheet(lead_in_ms=0, segments=(first, *segments()[1:]), cues=())
    assert outline_rows(sheet)[0].what == "warm-up 2:25"


def test_the_script_is_whole() -> None:
    rows = script_rows(sample_sheet())
    assert rows[2] == ScriptRow("-0:03", True, "Three, two, one.")
    assert len(rows) == 15


@given(sheets())
def test_rows_fit_80_columns_and_cannot_drive_a_terminal(sheet: CueSheet) -> None:
    for row in outline_rows(sheet):
        cells = (row.time, row.what, row.target, row.words)
        assert len("  ".join(cells)) <= 80
        assert all(ch.isprintable() or not ch.isascii() for ch in "".join(cells))
    for line in script_rows(sheet):
        assert "\x1b" not in line.words
        assert "\n" not in line.words
