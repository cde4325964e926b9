"""Finished tracks by other meters: FFmpeg's ebur128 and pyloudnorm hear what the report says."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
import pytest
from pyloudnorm import Meter

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.decode import open_audio, read_audio
from cuegen.mix.formats import FORMATS, PEAK_DBTP
from cuegen.mix.render import render
from cuegen.plan.loudness import LOUDNESS
from cuegen.plan.model import Loudness, ToneSpan
from cuegen.schedule.cuesheet import CueSheet, Sound
from cuegen.verify.levels import Measured, TrackMeters
from tests.mix.sheets import talked_through
from tests.voice.fake import FakeSpeaker

LENGTH_MS = 30_000


@dataclass(frozen=True)
class Theirs:
    lufs: float
    range_lu: float
    peak_dbtp: float


def by_ffmpeg(path: Path) -> Theirs:
    """Return what FFmpeg's own decoder and its filter ebur128 say at the end of a file."""
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        graph = av.filter.Graph()
        source = graph.add_abuffer(template=stream)
        meter = graph.add("ebur128", "metadata=1:peak=true")
        sink = graph.add("abuffersink")
        source.link_to(meter)
        meter.link_to(sink)
        graph.configure()
        found: dict[str, str] = {}
        for frame in container.decode(stream):
            graph.push(frame)
            found |= drained(graph)
        graph.push(None)
        found |= drained(graph)
    peaks = [float(value) for name, value in found.items() if "true_peaks_ch" in name]
    return Theirs(
        lufs=float(found["lavfi.r128.I"]),
        range_lu=float(found["lavfi.r128.LRA"]),
        peak_dbtp=20 * np.log10(max(peaks)),
    )


def drained(graph: av.filter.Graph) -> dict[str, str]:
    found: dict[str, str] = {}
    while True:
        try:
            found |= graph.pull().metadata
        except (av.BlockingIOError, av.EOFError):
            return found


def by_us(path: Path) -> Measured:
    """Return what verification measures of a file."""
    source = open_audio(path)
    meters = TrackMeters(source.channels)
    for block in source.blocks():
        meters.add(block)
    return meters.measured()


def sheets() -> dict[str, CueSheet]:
    tones = Sound(stroke_tones=ToneSpan.ALL)
    return {
        "voice": talked_through(LENGTH_MS),
        "tones": talked_through(LENGTH_MS, sound=tones),
        "loud": talked_through(LENGTH_MS, sound=Sound(loudness_lufs=-14.0)),
    }


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["voice", "tones", "loud"])
@pytest.mark.parametrize("suffix", FORMATS)
def test_loudness_and_true_peak_are_those_of_other_meters(
    tmp_path: Path, suffix: str, kind: str
) -> None:
    """FFmpeg's ebur128 and pyloudnorm 0.2.0 within 0.1 LU, FFmpeg's true peak within 0.2 dB."""
    path = tmp_path / f"track{suffix}"
    render(sheets()[kind], FakeSpeaker(), path)
    ours, theirs = by_us(path), by_ffmpeg(path)
    assert ours.lufs is not None
    assert ours.peak_dbtp is not None
    assert ours.lufs == pytest.approx(theirs.lufs, abs=0.1)
    assert ours.peak_dbtp == pytest.approx(theirs.peak_dbtp, abs=0.2)
    assert ours.range_lu == pytest.approx(theirs.range_lu, abs=1.0)
    heard = read_audio(path).astype(np.float64)
    assert ours.lufs == pytest.approx(Meter(SAMPLE_RATE).integrated_loudness(heard), abs=0.1)


@pytest.mark.slow
@pytest.mark.parametrize("tones", [ToneSpan.NONE, ToneSpan.ALL])
@pytest.mark.parametrize("name", Loudness)
def test_a_named_target_is_met_by_ffmpegs_meter(
    tmp_path: Path, name: Loudness, tones: ToneSpan
) -> None:
    """Within 0.5 LU on the decoded mp3, with a true peak of -1 dBTP at most."""
    target = LOUDNESS[name]
    lufs = target.mono_lufs if tones is ToneSpan.NONE else target.stereo_lufs
    sheet = talked_through(LENGTH_MS, sound=Sound(loudness_lufs=lufs, stroke_tones=tones))
    render(sheet, FakeSpeaker(), tmp_path / "track.mp3")
    theirs = by_ffmpeg(tmp_path / "track.mp3")
    assert theirs.lufs == pytest.approx(lufs, abs=0.5)
    assert theirs.peak_dbtp <= PEAK_DBTP
