"""Strips and gauges: every cue at its time, firm and floating apart without colour."""

from __future__ import annotations

import pytest

from cuegen.schedule.cuesheet import Cue, Span
from cuegen.script.kinds import CueKind
from cuegen.sheet.timeline_strip import ASCII, BLOCKS, gauge, strip, talk_share
from tests.sheet.samples import cue, sample_sheet

MINUTE_MS = 60_000


def drawn(*cues: Cue, quiet: tuple[Span, ...] = (), row: range = range(MINUTE_MS)) -> str:
    """Return the strip of a row of one minute, three seconds to a cell."""
    sheet = sample_sheet(cues=cues, quiet=quiet)
    return strip(sheet, row, BLOCKS, cells=20, row_ms=MINUTE_MS)


def floating(at_ms: int, length_ms: int) -> Cue:
    return cue("a", CueKind.SETTLE, at_ms, length_ms, "Settle.", segment=0)


def firm(at_ms: int, length_ms: int = 400) -> Cue:
    return cue("b", CueKind.START, at_ms, length_ms, "Go.", segment=0)


def test_a_cue_stands_in_the_cell_in_which_it_begins() -> None:
    assert drawn(floating(6_000, 500)) == "▁▁▄" + "▁" * 17
    assert drawn(floating(8_999, 500)) == "▁▁▄" + "▁" * 17
    assert drawn(floating(9_000, 500)) == "▁▁▁▄" + "▁" * 16


def test_a_long_line_fills_the_cells_of_which_it_takes_half() -> None:
    assert drawn(floating(6_010, 4_500)) == "▁▁▄▄" + "▁" * 16
    assert drawn(floating(6_010, 4_499)) == "▁▁▄▁" + "▁" * 16


def test_a_firm_line_is_full_where_it_lands_and_half_where_it_goes_on() -> None:
    assert drawn(firm(30_000, 6_000)) == "▁" * 10 + "█▄" + "▁" * 8


def test_a_firm_line_is_seen_beside_a_floating_one() -> None:
    assert drawn(floating(30_000, 300), firm(31_000)) == "▁" * 10 + "█" + "▁" * 9


def test_quiet_has_no_ground_and_a_firm_line_in_it_is_still_seen() -> None:
    quiet = (Span(start_ms=15_000, end_ms=30_000),)
    assert drawn(firm(21_000), quiet=quiet) == "▁▁▁▁▁··█··" + "▁" * 10


def test_a_row_ends_where_its_time_ends() -> None:
    assert drawn(row=range(30_000)) == "▁" * 10
    assert drawn(row=range(100)) == "▁"


def test_a_line_begun_in_the_row_before_goes_on() -> None:
    line = floating(58_000, 6_000)
    assert drawn(line, row=range(MINUTE_MS, 2 * MINUTE_MS)) == "▄" + "▁" * 19


@pytest.mark.parametrize(
    ("share", "bar"),
    [
        (0.0, "───┼──────"),
        (0.15, "█▌─┼──────"),
        (0.1625, "█▋─┼──────"),
        (0.35, "███▌──────"),
        (1.0, "██████████"),
        (1.2, "██████████"),
    ],
)
def test_a_gauge_is_filled_to_its_share_and_marks_the_limit(share: float, bar: str) -> None:
    assert gauge(share, 0.35, 10, BLOCKS) == bar


def test_a_gauge_in_ascii_has_whole_cells() -> None:
    assert gauge(0.26, 0.5, 10, ASCII) == "###--+----"


def test_talk_share_counts_what_lies_inside_the_stretch() -> None:
    sheet = sample_sheet(cues=(floating(9_010, 2_000),))
    assert talk_share(sheet, 10_000, 20_000) == 0.1
    assert talk_share(sheet, 0, 10_000) == 0.1
    assert talk_share(sheet, 5_000, 5_000) == 0.0


def test_glyphs_know_which_encodings_hold_them() -> None:
    assert BLOCKS.are_in("utf-8")
    assert not BLOCKS.are_in("cp1252")
    assert not BLOCKS.are_in("no such encoding")
    assert ASCII.are_in("ascii")
