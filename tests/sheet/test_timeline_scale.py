"""Stretches and rows: one scale for the whole page, and a long session still readable."""

from __future__ import annotations

import pytest

from cuegen.sheet.timeline_scale import (
    MOST_LINES,
    ROW_LENGTHS_MS,
    Stretch,
    row_length_ms,
    row_starts,
    segment_name,
    stretches,
)
from tests.sheet.samples import sample_sheet, segments

MINUTE_MS = 60_000


def session(minutes: int) -> tuple[Stretch, ...]:
    return (Stretch(0, minutes * MINUTE_MS, "Row", 0),)


def test_stretches_are_the_opening_the_segments_and_the_finish_and_touch() -> None:
    parts = stretches(sample_sheet())
    assert [part.name for part in parts] == [
        "Opening",
        "Warm-up",
        "Row 1 of 2",
        "Row 2 of 2",
        "Cool-down",
        "Finish",
    ]
    assert [part.index for part in parts] == [None, 0, 1, 2, 3, None]
    assert [part.start_ms for part in parts[1:]] == [part.end_ms for part in parts[:-1]]
    assert (parts[0].start_ms, parts[-1].end_ms) == (0, 671_000)


def test_without_a_lead_in_there_is_no_opening() -> None:
    first = segments()[0].model_copy(update={"start_ms": 0})
    sheet = sample_sheet(lead_in_ms=0, segments=(first, *segments()[1:]))
    assert stretches(sheet)[0].name == "Warm-up"


def test_a_segment_without_a_label_is_called_by_its_kind() -> None:
    assert segment_name(segments()[3].model_copy(update={"label": " \n"})) == "Cool-down"


@pytest.mark.parametrize(
    ("minutes", "row_ms"), [(5, 15_000), (28, 30_000), (60, 60_000), (90, 60_000), (240, 180_000)]
)
def test_longer_sessions_have_longer_rows(minutes: int, row_ms: int) -> None:
    assert row_length_ms(session(minutes), heads=10) == row_ms


def test_ninety_minutes_in_six_segments_take_rows_of_two_minutes() -> None:
    assert row_length_ms(session(90), heads=6 * 3) == 120_000


def test_a_session_beyond_every_row_takes_the_longest() -> None:
    assert row_length_ms(session(100_000), heads=0) == ROW_LENGTHS_MS[-1]


def test_the_limit_itself_is_kept() -> None:
    rows = MOST_LINES // 2
    parts = (Stretch(0, rows * 30_000, "Row", 0),)
    assert row_length_ms(parts, heads=MOST_LINES - rows) == 30_000
    assert row_length_ms(parts, heads=MOST_LINES - rows + 1) == 60_000


def test_the_last_row_of_a_stretch_may_be_short() -> None:
    assert list(row_starts(Stretch(5_000, 70_000, "Row", 0), 30_000)) == [5_000, 35_000, 65_000]
    assert not row_starts(Stretch(5_000, 5_000, "Finish"), 30_000)
