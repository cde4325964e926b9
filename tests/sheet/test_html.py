"""The printed sheet shows words as words, asks nothing of the network and runs nothing."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings

from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.cautions import CAUTIONS
from cuegen.sheet.html import to_text
from cuegen.sheet.wording import one_line, script_lines
from tests.sheet.pages import read_page
from tests.sheet.samples import cues, sample_sheet
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
        "from 0:00 rate 18 55 % effort for 2:00 Warm-up",
        "from 2:00 rate 20 2:14.0 /500 m for 4:00 Let the wheel spin down & breathe. "
        "Kit, sit tall on the seat. Row 1 of 2",
        "from 6:00 rate 24\u201326 2:00.0 /500 m for 750 m Hang off the handle. "
        "Row 2 of 2, ends about 9:00 (8:56 to 9:04)",
        "from 9:00 about cool-down 50 % effort for 1:36",
        "10:36 about Finish, about 10:36 (10:33 to 10:40): "
        "it moves with the pace, here by 2 % either way",
    ]


def test_a_session_by_time_alone_promises_no_span() -> None:
    timed = tuple(
        s.model_copy(update={"distance_m": None, "predicted": False})
        for s in sample_sheet().segments
    )
    text = read_page(to_text(sample_sheet(segments=timed))).text
    assert "2 % either way" not in text
    assert "ends about" not in text


def test_the_script_stands_under_the_segment_it_is_heard_in() -> None:
    page = read_page(to_text(sample_sheet()))
    assert page.texts("h3") == [
        "Before the first stroke",
        "Warm-up, rate 18",
        "Row 1 of 2, rate 20",
        "Row 2 of 2, 750 m, rate 24-26",
        "Cool-down",
    ]
    # The goal of the second segment is set while the first is rowed.
    goal = "0:55 Next: twenty, two fourteen."
    assert page.text.index("Warm-up, rate 18") < page.text.index(goal)
    assert page.text.index(goal) < page.text.index("Row 1 of 2, rate 20")


def test_why_a_target_is_what_it_is_stands_with_the_script() -> None:
    whys = read_page(to_text(sample_sheet())).texts("p", "why")
    assert whys == [segment.reason for segment in sample_sheet().segments]


@pytest.mark.parametrize(
    ("pieces", "density"), [(1, "roomy"), (7, "roomy"), (9, "plain"), (16, "dense"), (17, "packed")]
)
def test_more_pieces_are_set_smaller(pieces: int, density: str) -> None:
    step = (661_250 - 25_000) // pieces
    edges = [25_000 + step * n for n in range(pieces)] + [661_250]
    many = tuple(
        sample_sheet().segments[1].model_copy(update={"start_ms": start, "end_ms": end})
        for start, end in pairwise(edges)
    )
    page = read_page(to_text(sample_sheet(segments=many)))
    assert page.having("ol", "pieces")[0].attributes["class"].split()[1] == density
    assert len(page.having("li", "work")) == pieces


def test_the_cautions_are_on_the_page() -> None:
    page = read_page(to_text(sample_sheet()))
    assert all(caution in page.text for caution in CAUTIONS)


def test_the_page_says_its_language() -> None:
    assert '<html lang="en-gb">' in to_text(sample_sheet())
