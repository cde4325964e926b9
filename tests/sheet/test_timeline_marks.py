"""Strips on paper: the rectangles of a segment, in tenths of a second."""

from __future__ import annotations

from cuegen.schedule.cuesheet import Span
from cuegen.sheet.timeline_marks import Mark, marks, scale
from tests.sheet.samples import cues, sample_sheet, segments


def test_all_strips_share_the_scale_of_the_longest() -> None:
    assert scale(sample_sheet()) == 2_400


def test_a_segment_has_ground_voice_and_firm_lines_at_their_times() -> None:
    """The warm-up, 25.00 to 145.00 s: a firm line at 25.00 s, a goal from 79.997 s."""
    assert marks(sample_sheet(), segments()[0]) == (
        Mark(0, 8, 1_200, 2),
        Mark(0, 5, 12, 5),  # to 26.224 s
        Mark(550, 5, 32, 5),
        Mark(0, 0, 11, 10),  # 1/220 of 2,400
    )


def test_in_planned_quiet_the_ground_line_is_dotted() -> None:
    quiet = (Span(start_ms=151_000, end_ms=161_000),)
    row = segments()[1]
    drawn = marks(sample_sheet(quiet=quiet, cues=()), row)
    assert drawn[0] == Mark(0, 8, 60, 2)
    assert drawn[-1] == Mark(160, 8, 2_240, 2)
    dots = drawn[1:-1]
    assert [dot.width for dot in dots] == [6] * len(dots) == [6] * 4
    assert all(dot.x > 60 and dot.x + dot.width < 160 for dot in dots)


def test_what_is_said_in_other_segments_is_not_drawn() -> None:
    lines = marks(sample_sheet(cues=cues()[:6], quiet=()), segments()[1])
    assert lines == (Mark(0, 8, 2_400, 2),)
