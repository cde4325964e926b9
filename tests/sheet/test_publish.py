"""Publish notes: chapters that a host can read, what each part asks, and cautions."""

from __future__ import annotations

import re
from itertools import pairwise

import webvtt
from hypothesis import given

from cuegen.schedule.cuesheet import CueSheet, SheetBlock
from cuegen.sheet.cautions import CAUTIONS
from cuegen.sheet.publish import WIDTH, to_text
from cuegen.sheet.webvtt import chapters_text
from tests.sheet.samples import sample_sheet
from tests.sheet.strategies import sheets

_AT = re.compile(r"(?:(\d+):)?(\d+):(\d\d) ")


def chapter_seconds(text: str) -> list[int]:
    """Return the seconds of the chapter list, as a host reads them."""
    rows = text.split("\n\nChapters\n")[1].split("\n\n", maxsplit=1)[0].splitlines()
    found = [_AT.match(row) for row in rows]
    assert all(found)
    return [
        int(one[1] or 0) * 3_600 + int(one[2]) * 60 + int(one[3]) for one in filter(None, found)
    ]


def test_the_notes_of_a_session_are_these() -> None:
    assert to_text(sample_sheet()).split("\n\nBefore you row\n")[0] == (
        "Alder ladder <thirteen>\n"
        "A guided rowing session: 10:36 of rowing, 2 pieces.\n"
        "\n"
        "Chapters\n"
        "0:00 Opening\n"
        "0:25 Warm-up, rate 18\n"
        "2:25 Row 1 of 2, rate 20\n"
        "6:25 Row 2 of 2, 750 m, rate 24-26\n"
        "9:25 Cool-down\n"
        "11:01 Closing\n"
        "\n"
        "What each part asks\n"
        "1. warm-up, 2:00, rate 18, 55 % effort\n"
        "2. row, 4:00, rate 20, 2:14.0\n"
        "3. row, 750 m, rate 24-26, 2:00.0\n"
        "4. cool-down, 1:36, 50 % effort"
    )


def test_every_caution_stands_under_them() -> None:
    text = " ".join(to_text(sample_sheet()).split())
    for caution in CAUTIONS:
        assert caution.replace("this sheet", "this track") in text


def test_a_block_is_named() -> None:
    sheet = sample_sheet().model_copy(update={"block": SheetBlock(name="Alder spring", week=3)})
    assert "Alder spring, week 3.\n" in to_text(sheet)


def test_one_rower_s_own_splits_and_name_are_not_published() -> None:
    sheet = sample_sheet().model_copy(update={"rower": "Edda Kolm", "audience": "solo"})
    text = to_text(sheet)
    assert "Edda" not in text
    assert "2:14.0" not in text
    assert "2. row, 4:00, rate 20, 75 % effort" in text


def test_chapters_are_those_of_the_webvtt_file() -> None:
    """webvtt-py 0.6.0 reads the file; notes have whole seconds."""
    theirs = webvtt.from_string(chapters_text(sample_sheet()))
    rows = to_text(sample_sheet()).split("\n\nChapters\n")[1].split("\n\n", maxsplit=1)[0]
    assert [row.partition(" ")[2] for row in rows.splitlines()] == [
        one.text for one in theirs.captions
    ]
    assert chapter_seconds(to_text(sample_sheet())) == [
        round(one.start_in_seconds) for one in theirs.captions
    ]


@given(sheets())
def test_chapters_begin_at_nought_and_go_on_rising(sheet: CueSheet) -> None:
    seconds = chapter_seconds(to_text(sheet))
    assert seconds[0] == 0
    assert all(after > before for before, after in pairwise(seconds))


def test_lines_of_prose_are_short_enough_to_paste() -> None:
    prose = to_text(sample_sheet()).split("Before you row\n")[1]
    assert max(map(len, prose.splitlines())) <= WIDTH
