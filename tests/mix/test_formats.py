"""The one table of formats, and the choice by suffix."""

from __future__ import annotations

from pathlib import Path

import av
import pytest

from cuegen.errors import OutputError
from cuegen.mix.formats import DEFAULT_SUFFIX, FORMATS, PEAK_DBTP, Format, find_format


def test_formats_are_the_five_and_mp3_is_the_default() -> None:
    assert list(FORMATS) == [".mp3", ".m4a", ".opus", ".flac", ".wav"]
    assert DEFAULT_SUFFIX == ".mp3"


@pytest.mark.parametrize("form", FORMATS.values(), ids=lambda form: form.suffix)
def test_the_encoder_is_there_and_takes_what_the_table_says(form: Format) -> None:
    """FFmpeg's own list of what a codec takes."""
    taken = av.Codec(form.codec, "w").audio_formats or []
    assert form.sample_format in [each.name for each in taken]


@pytest.mark.parametrize("form", FORMATS.values(), ids=lambda form: form.suffix)
def test_the_limiter_stops_under_the_peak_of_the_track(form: Format) -> None:
    assert form.ceiling(0.0) < PEAK_DBTP
    assert form.ceiling(6.0) <= form.ceiling(0.0)


def test_a_lossless_format_needs_no_more_room_when_speech_is_lifted() -> None:
    assert FORMATS[".flac"].ceiling(6.0) == FORMATS[".flac"].ceiling(0.0)
    assert FORMATS[".opus"].ceiling(6.0) == pytest.approx(FORMATS[".opus"].ceiling(0.0) - 1.2)


def test_a_suffix_may_be_in_capitals() -> None:
    assert find_format(Path("Thursday.MP3")).codec == "libmp3lame"


def test_an_unknown_suffix_is_refused_with_the_known_ones() -> None:
    with pytest.raises(OutputError, match=r"'\.ogg'") as refused:
        find_format(Path("thursday.ogg"))
    assert refused.value.remedy == "Use one of .mp3, .m4a, .opus, .flac, .wav."


def test_a_name_without_a_suffix_is_refused() -> None:
    with pytest.raises(OutputError, match="needs a suffix that says its format"):
        find_format(Path("thursday"))
