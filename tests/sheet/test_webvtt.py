"""Captions and chapters conform to WebVTT, by a strict checker and by webvtt-py."""

from __future__ import annotations

import io

import pytest
import webvtt
from hypothesis import given

from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.webvtt import captions_text, chapters_of, chapters_text
from cuegen.sheet.wording import one_line
from tests.sheet.samples import cues, sample_sheet, segments
from tests.sheet.strategies import sheets
from tests.sheet.strict_webvtt import NotWebVTT, StrictCue, check_captions, check_chapters


@given(sheets())
def test_any_sheet_gives_conforming_captions_with_every_word(sheet: CueSheet) -> None:
    found = check_captions(captions_text(sheet).encode())
    assert [(c.start_ms, c.end_ms, c.text) for c in found] == [
        (c.start_ms, c.end_ms, one_line(c.text)) for c in sheet.cues
    ]


@given(sheets())
def test_any_sheet_gives_conforming_chapters(sheet: CueSheet) -> None:
    check_chapters(chapters_text(sheet).encode())


def test_captions_carry_the_id_and_the_span_of_the_clip() -> None:
    first = check_captions(captions_text(sample_sheet()).encode())[0]
    assert first == StrictCue("welcome", 490, 4_811, "Welcome to the Alder ladder.")


def test_chapters_are_the_opening_the_segments_and_the_closing() -> None:
    found = check_chapters(chapters_text(sample_sheet()).encode())
    assert [(c.start_ms, c.end_ms, c.text) for c in found] == [
        (0, 25_000, "Opening"),
        (25_000, 145_000, "Warm-up, rate 18"),
        (145_000, 385_000, "Row 1 of 2, rate 20"),
        (385_000, 565_000, "Row 2 of 2, 750 m, rate 24-26"),
        (565_000, 661_250, "Cool-down"),
        (661_250, 671_000, "Closing"),
    ]


def test_chapters_have_no_opening_or_closing_of_no_length() -> None:
    first = segments()[0].model_copy(update={"start_ms": 0})
    sheet = sample_sheet(
        lead_in_ms=0, duration_ms=661_250, segments=(first, *segments()[1:]), cues=()
    )
    assert [c.start_ms for c in chapters_of(sheet)] == [0, 145_000, 385_000, 565_000]


def test_a_segment_without_a_label_is_called_by_its_kind() -> None:
    nameless = tuple(s.model_copy(update={"label": " "}) for s in segments())
    titles = [c.title for c in chapters_of(sample_sheet(segments=nameless))]
    assert titles == ["Opening", "warm-up", "row", "row", "cool-down", "Closing"]


def test_ids_that_become_equal_on_one_line_are_kept_apart() -> None:
    twins = tuple(
        c.model_copy(update={"id": name})
        for c, name in zip(cues(), ("a b", "a\nb", "a --> b", "a → b"), strict=False)
    )
    found = check_captions(captions_text(sample_sheet(cues=twins)).encode())
    assert [c.identifier for c in found] == ["a b", "a b (2)", "a → b", "a → b (2)"]


def test_webvtt_py_reads_the_same_times_and_words() -> None:
    """webvtt-py 0.6.0 decodes no character references, so the sample's & stays escaped there."""
    read = webvtt.from_buffer(io.StringIO(captions_text(sample_sheet()))).captions
    assert [(c.identifier, c.start, c.end) for c in read[:2]] == [
        ("welcome", "00:00:00.490", "00:00:04.811"),
        ("caution", "00:00:06.000", "00:00:11.432"),
    ]
    assert [c.text.replace("&amp;", "&") for c in read] == [c.text for c in cues()]


GOOD = "WEBVTT\n\na\n00:00:01.000 --> 00:00:02.000\nwords\n"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("WEBVTTX\n\n", "first line"),
        ("WEBVTT\na\n", "two line terminators"),
        (GOOD.rstrip("\n"), "line terminator"),
        (GOOD.replace("01.000", "01.00"), "cue timings"),
        (GOOD.replace("01.000", "01,000"), "cue timings"),
        (GOOD.replace("00:00:01", "0:00:01"), "cue timings"),
        (GOOD.replace("00:00:01", "00:60:01"), "cue timings"),
        (GOOD.replace("02.000", "01.000"), "greater than the start"),
        (GOOD + "\na\n00:00:03.000 --> 00:00:04.000\nx\n", "unique"),
        (GOOD + "\nb\n00:00:00.500 --> 00:00:04.000\nx\n", "not decrease"),
        (GOOD.replace("words", "a --> b"), "arrow"),
        (GOOD.replace("words", "a < b"), "less-than"),
        (GOOD.replace("words", "a & b"), "ampersand"),
        (GOOD.replace("words", "a\0b"), "U\\+0000"),
    ],
)
def test_the_checker_itself_refuses(text: str, why: str) -> None:
    """A checker that passes everything proves nothing: one broken rule each."""
    assert len(check_captions(GOOD.encode())) == 1
    with pytest.raises(NotWebVTT, match=why):
        check_captions(text.encode())


def test_the_checker_refuses_chapters_that_cross() -> None:
    crossing = GOOD + "\nb\n00:00:01.500 --> 00:00:03.000\nx\n"
    with pytest.raises(NotWebVTT, match="nested"):
        check_chapters(crossing.encode())
