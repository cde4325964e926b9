"""The printed sheet shows words as words, asks nothing of the network and runs nothing."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given, settings

from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.kinds import CueKind
from cuegen.sheet.cautions import CAUTIONS
from cuegen.sheet.html import to_text
from cuegen.sheet.wording import one_line, script_lines
from tests.sheet.pages import read_page
from tests.sheet.samples import cue, cues, sample_sheet
from tests.sheet.strategies import sheets


@settings(max_examples=40)
@given(sheets())
def test_any_sheet_gives_a_page_that_runs_nothing_and_shows_every_line(sheet: CueSheet) -> None:
    page = read_page(to_text(sheet))
    page.check_self_contained()
    assert page.texts("h1") == [one_line(sheet.title)]
    shown = " ".join(page.text.split())
    for line in script_lines(sheet):
        assert " ".join(line.text.split()) in shown


def test_a_name_like_a_tag_is_shown_not_run() -> None:
    bad = "<script>alert(1)</script><img src=x onerror=alert(2)>"
    spoken = cues()[0].model_copy(update={"text": bad})
    page = read_page(to_text(sample_sheet(title=bad, cues=(spoken,), notes=(bad,))))
    page.check_self_contained()
    assert page.texts("h1") == [bad]
    assert page.text.count(bad) == 4  # title, h1, note, script


def test_a_piece_shows_clock_rate_target_length_and_words() -> None:
    pieces = read_page(to_text(sample_sheet())).texts("li", "piece")
    assert pieces == [
        "from 0:00 rate 18 55 % effort for 2:00 Warm-up. Go, rate eighteen.",
        "from 2:00 rate 20 2:14.0 /500 m for 4:00 75 % effort Row 1 of 2. Rate up, twenty. "
        "2:55 Let the wheel spin down & breathe. 3:25 Kit, sit tall on the seat.",
        "from 6:00 rate 24\u201326 2:00.0 /500 m for 750 m 85 % effort "
        "Row 2 of 2, ends 8:56 to 9:04. Rate up, twenty-four. "
        "6:35 Hang off the handle. 6:55 quiet to 7:15",
        "from ~9:00 cool-down 50 % effort for 1:36",
        "~10:36 finish 10:33 to 10:40: it moves with the pace, here by 2 % either way",
    ]


def test_what_is_said_at_a_change_stands_first_and_the_target_after_it() -> None:
    target = cue("target.1", CueKind.TARGET, 147_000, 2_000, "Find two fourteen.", segment=1)
    spoken = tuple(sorted((*cues(), target), key=lambda c: c.start_ms))
    page = read_page(to_text(sample_sheet(cues=spoken)))
    assert page.texts("span", "first")[1] == "Row 1 of 2. Rate up, twenty. Find two fourteen."
    assert page.texts("strong")[1] == "Rate up, twenty."


def test_the_coachs_own_line_keeps_its_place_before_technique() -> None:
    """Fifteen lines of technique and one of the coach's own, in one row."""
    tips = tuple(
        cue(f"t.{n}", CueKind.TECHNIQUE, 150_000 + 5_000 * n, 900, f"Tip {n}.", segment=1)
        for n in range(15)
    )
    spoken = tuple(sorted((*cues(), *tips), key=lambda c: c.start_ms))
    shown = read_page(to_text(sample_sheet(cues=spoken))).texts("span", "say")
    assert "3:25 Kit, sit tall on the seat." in shown
    assert "2:05 Tip 0." in shown
    assert "3:15 Tip 14." not in shown


def test_words_that_have_no_room_on_page_one_are_in_the_script() -> None:
    sheet = many(25)
    page = read_page(to_text(sheet))
    assert not page.having("span", "say")
    assert all(line.text in page.text for line in script_lines(sheet))


def test_a_strip_for_every_segment_is_there_and_not_read_out() -> None:
    strips = read_page(to_text(sample_sheet())).having("svg", "strip")
    assert len(strips) == 4
    # 4:00 is the longest: 2,400 tenths of a second across.
    assert {s.attributes["viewbox"] for s in strips} == {"0 0 2400 10"}
    assert {s.attributes["aria-hidden"] for s in strips} == {"true"}


def test_quiet_is_on_page_one_and_in_the_script() -> None:
    page = read_page(to_text(sample_sheet()))
    assert page.texts("span", "quiet") == page.texts("li", "quiet") == ["6:55 quiet to 7:15"]
    assert "planned quiet" in page.texts("p", "key")[0]
    assert "quiet" not in read_page(to_text(sample_sheet(quiet=()))).text


def test_a_session_by_time_alone_promises_no_span() -> None:
    timed = tuple(
        s.model_copy(update={"distance_m": None, "predicted": False})
        for s in sample_sheet().segments
    )
    text = read_page(to_text(sample_sheet(segments=timed))).text
    assert "2 % either way" not in text
    assert "~" not in text


def test_the_script_stands_under_the_segment_it_is_heard_in() -> None:
    page = read_page(to_text(sample_sheet()))
    assert page.texts("h3") == [
        "-0:25 Before the first stroke",
        "0:00 Warm-up, rate 18",
        "2:00 Row 1 of 2, rate 20",
        "6:00 Row 2 of 2, 750 m, rate 24-26",
        "~9:00 Cool-down",
        "~10:36 Finish",
        "Notes",
    ]
    # The goal of the second segment is set while the first is rowed.
    goal = "0:55 Next: twenty, two fourteen."
    assert page.text.index("0:00 Warm-up, rate 18") < page.text.index(goal)
    assert page.text.index(goal) < page.text.index("2:00 Row 1 of 2, rate 20")


def test_why_a_target_is_what_it_is_stands_with_the_script() -> None:
    whys = read_page(to_text(sample_sheet())).texts("p", "why")
    assert whys == [segment.reason for segment in sample_sheet().segments]


def many(pieces: int) -> CueSheet:
    """Return the sheet with its rowing time cut into so many rows of work."""
    edges = [25_000 + (661_250 - 25_000) * n // pieces for n in range(pieces + 1)]
    work = sample_sheet().segments[1]
    rows = (work.model_copy(update={"start_ms": a, "end_ms": b}) for a, b in pairwise(edges))
    return sample_sheet(segments=tuple(rows))


@pytest.mark.parametrize(("few", "more"), [(14, 16), (16, 20), (20, 25)])
def test_more_pieces_are_set_smaller(few: int, more: int) -> None:
    assert figure_mm(many(few)) > figure_mm(many(more))


def figure_mm(sheet: CueSheet) -> float:
    """Return the size of work's figures on paper; what a small screen has stands before it."""
    return float(re.findall(r"--figure-work: ([\d.]+)mm", to_text(sheet))[-1])


def test_the_cautions_are_on_the_page() -> None:
    page = read_page(to_text(sample_sheet()))
    assert page.having("footer")[0].text.endswith(" ".join(CAUTIONS))


def test_the_page_says_its_language() -> None:
    assert '<html lang="en-gb">' in to_text(sample_sheet())
