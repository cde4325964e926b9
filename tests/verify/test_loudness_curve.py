"""The loudness curve of a report, against libebur128 and the tones of EBU Tech 3341."""

from __future__ import annotations

import json
from pathlib import Path

import av
import numpy as np
import pyebur128
import pytest
from numpy.typing import NDArray

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.signal import Signal
from cuegen.mix.render import render
from cuegen.schedule.cuesheet import Sound
from cuegen.verify.levels import Curve, TrackMeters
from cuegen.verify.listening import listen
from cuegen.verify.report import ListeningReport
from tests.mix.beds import music, write
from tests.mix.sheets import talked_through
from tests.pages.samples import good_report
from tests.voice.fake import FakeSpeaker


def curve_of(x: Signal, blocks: int = 1) -> Curve:
    meters = TrackMeters(x.shape[1])
    for block in np.array_split(x, blocks):
        meters.add(block)
    return meters.measured().curve


def tone(seconds: float, dbfs: float) -> NDArray[np.float32]:
    """Return 1 kHz in two channels in phase, its peak so many dBFS."""
    at = np.arange(round(seconds * SAMPLE_RATE)) / SAMPLE_RATE
    wave = 10 ** (dbfs / 20) * np.sin(2 * np.pi * 1_000 * at)
    return np.stack([wave, wave], axis=1).astype(np.float32)


def by_libebur128(path: Path) -> list[float]:
    """Return short-term loudness at 3, 4, 5... s of a file that FFmpeg decodes."""
    with av.open(str(path)) as container:
        resampler = av.AudioResampler(format="flt", rate=SAMPLE_RATE)
        frames = [f for one in container.decode(audio=0) for f in resampler.resample(one)]
    x = np.concatenate([frame.to_ndarray().reshape(-1, 2) for frame in frames])
    state = pyebur128.R128State(2, SAMPLE_RATE, pyebur128.MeasurementMode.MODE_S)
    heard = []
    for start in range(0, len(x) // SAMPLE_RATE * SAMPLE_RATE, SAMPLE_RATE):
        second = np.ascontiguousarray(x[start : start + SAMPLE_RATE])
        state.add_frames(second.reshape(-1), SAMPLE_RATE)
        heard.append(float(pyebur128.get_loudness_shortterm(state)))
    return heard[2:]


@pytest.fixture(scope="module")
def over_music(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, ListeningReport]:
    """A track of 24 s over music, and what is heard of it."""
    folder = tmp_path_factory.mktemp("curve")
    bed = write(folder / "music.flac", music(12))
    sheet = talked_through(24_000, sound=Sound(bed=bed))
    render(sheet, FakeSpeaker(), folder / "track.flac")
    return folder / "track.flac", listen(folder / "track.flac", sheet, FakeSpeaker())


@pytest.mark.slow
def test_the_curve_of_a_rendered_track_is_that_of_libebur128(
    over_music: tuple[Path, ListeningReport],
) -> None:
    """pyebur128 0.1.1 at the same instants, FFmpeg's decoder: within 0.1 LU, rounding included."""
    path, report = over_music
    theirs = by_libebur128(path)
    assert len(report.short_term_lufs) == len(theirs) == 22
    assert max(theirs) - min(theirs) > 2
    assert report.short_term_lufs == pytest.approx(theirs, abs=0.1)


@pytest.mark.slow
def test_a_report_with_a_curve_comes_back_from_json_as_it_was(
    over_music: tuple[Path, ListeningReport],
) -> None:
    _, report = over_music
    assert ListeningReport.model_validate_json(report.model_dump_json()) == report


@pytest.mark.parametrize("dbfs", [-23.0, -33.0])
def test_a_steady_tone_has_its_own_level_at_every_second(dbfs: float) -> None:
    """EBU Tech 3341, signals 1 and 2: a stereo tone of so many dBFS has as many LUFS."""
    assert curve_of(tone(8.5, dbfs)) == (dbfs,) * 6


def test_a_step_is_seen_within_3_seconds() -> None:
    """Of 3 s with 1 or 2 at -33 and the rest at -23 dBFS: 10 log10 of the mean power."""
    curve = curve_of(np.concatenate([tone(4, -33.0), tone(4, -23.0)]))
    assert curve == pytest.approx((-33.0, -33.0, -27.0, -24.5, -23.0, -23.0), abs=0.051)


def test_silence_has_no_value_rather_than_a_low_one() -> None:
    """The absolute gate of ITU-R BS.1770-4 is -70 LUFS."""
    assert curve_of(np.zeros((5 * SAMPLE_RATE, 2), dtype=np.float32)) == (None, None, None)
    assert curve_of(tone(3, -69.0)) == (-69.0,)
    assert curve_of(tone(3, -71.0)) == (None,)


@pytest.mark.parametrize(
    ("seconds", "values"), [(0.0, 0), (2.99, 0), (3.0, 1), (3.9, 1), (12.5, 10)]
)
def test_there_is_a_value_for_each_second_from_the_third(seconds: float, values: int) -> None:
    assert len(curve_of(tone(seconds, -20.0))) == values


def test_how_the_track_comes_in_blocks_changes_nothing() -> None:
    x = music(9.7)
    assert curve_of(x, blocks=1) == curve_of(x, blocks=7)


def test_a_report_from_before_there_was_a_curve_still_loads() -> None:
    old = json.loads(good_report().model_dump_json())
    del old["short_term_lufs"]
    assert ListeningReport.model_validate(old).short_term_lufs == ()
