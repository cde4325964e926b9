"""Captions as SubRip: read back by FFmpeg, which did not write them."""

from __future__ import annotations

from pathlib import Path

import av
from hypothesis import HealthCheck, given, settings

from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.subrip import to_text
from cuegen.sheet.wording import one_line
from tests.sheet.samples import sample_sheet
from tests.sheet.strategies import sheets


def as_ffmpeg_reads(text: str, path: Path) -> list[tuple[int, int, str]]:
    """Return start, end and words of each caption, as FFmpeg's demuxer finds them."""
    path.write_text(text, encoding="utf-8", newline="\n")
    with av.open(str(path)) as container:
        return [
            (packet.pts, packet.pts + packet.duration, bytes(packet).decode().strip())
            for packet in container.demux(container.streams.subtitles[0])
            if packet.pts is not None and packet.duration is not None
        ]


def test_every_line_stands_for_as_long_as_its_clip(tmp_path: Path) -> None:
    sheet = sample_sheet()
    found = as_ffmpeg_reads(to_text(sheet), tmp_path / "a.srt")
    assert [(start, end) for start, end, _ in found] == [(c.start_ms, c.end_ms) for c in sheet.cues]
    assert found[0][2] == "Welcome to the Alder ladder."


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(sheets())
def test_any_sheet_comes_back_line_by_line(tmp_path: Path, sheet: CueSheet) -> None:
    if not sheet.cues:  # FFmpeg takes an empty file for none
        assert to_text(sheet) == ""
        return
    found = as_ffmpeg_reads(to_text(sheet), tmp_path / "a.srt")
    assert len(found) == len(sheet.cues)
    for (start, _, words), cue in zip(found, sheet.cues, strict=True):
        assert start == cue.start_ms
        plain = not set("<{") & set(cue.text) and "-->" not in cue.text
        assert not plain or words == one_line(cue.text)


def test_words_that_look_like_a_tag_or_a_timing_are_none() -> None:
    cues = (sample_sheet().cues[0].model_copy(update={"text": "<i>Row</i> {\\an8} --> on"}),)
    text = to_text(sample_sheet().model_copy(update={"cues": cues}))
    assert text.count("-->") == 1
    assert not set("<{") & set(text)
