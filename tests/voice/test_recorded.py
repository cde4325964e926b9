"""Recordings: any format in, whole and untouched, or refused with the reason."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.io import wavfile

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError
from cuegen.mix.encode import Tags, encoding
from cuegen.mix.formats import FORMATS
from cuegen.voice.recorded import bring_in, cut, mono_of, write_wav


def spoken(before_ms: int, sound_ms: int, after_ms: int) -> Signal:
    """Return two channels of a tone between two silences that are not quite silent."""
    rng = np.random.default_rng(3)
    length = samples_at(before_ms + sound_ms + after_ms)
    x = rng.standard_normal((length, 2)) * 1e-4
    at = np.arange(samples_at(sound_ms)) / SAMPLE_RATE
    x[samples_at(before_ms) :][: len(at)] += 0.3 * np.sin(2 * np.pi * 220 * at)[:, np.newaxis]
    return x.astype(np.float32)


def write(path: Path, x: Signal) -> Path:
    with encoding(path, x.shape[1], Tags("take"), []) as track:
        track.write(x)
    return path


@pytest.mark.parametrize("suffix", FORMATS)
def test_a_take_of_any_format_is_brought_in_where_it_lay(tmp_path: Path, suffix: str) -> None:
    """The tone begins 800 ms in, in every format; nothing is trimmed or levelled."""
    take = bring_in(write(tmp_path / f"take{suffix}", spoken(800, 1_500, 600))).sound
    assert take.dtype == np.float32
    assert take.ndim == 1
    assert len(take) == pytest.approx(samples_at(2_900), abs=samples_at(60))
    loud = np.flatnonzero(np.abs(take) > 0.15)
    assert loud[0] == pytest.approx(samples_at(800), abs=samples_at(3))
    assert loud[-1] == pytest.approx(samples_at(2_300), abs=samples_at(3))
    assert np.abs(take).max() == pytest.approx(0.3, abs=0.03)


def test_the_samples_as_recorded_stand_beside_it(tmp_path: Path) -> None:
    """At the file's own rate, with its channels, each value as it was written."""
    whole = np.random.default_rng(1).integers(-32_768, 32_767, (22_050, 2), dtype=np.int16)
    wavfile.write(tmp_path / "take.wav", 22_050, whole)
    take = bring_in(tmp_path / "take.wav")
    assert take.file_rate == 22_050
    assert np.array_equal(take.recorded, whole.astype(np.float32) / 32_768)
    assert len(take.sound) == SAMPLE_RATE


def test_a_constant_offset_is_gone() -> None:
    x = spoken(100, 800, 100) + np.float32(0.2)
    assert abs(float(mono_of(x).mean())) < 1e-4


@pytest.mark.parametrize("gain", [0.0, 0.01, -1.0])
def test_a_side_that_is_dead_or_turned_over_is_left_out(gain: float) -> None:
    """The mean of both would be 6 dB softer, or nothing."""
    one = spoken(100, 800, 100)[:, :1]
    sound = mono_of(np.concatenate([one * np.float32(gain), one], axis=1))
    assert np.abs(sound).max() == pytest.approx(0.3, abs=0.01)


def test_two_like_sides_become_their_mean() -> None:
    one = spoken(100, 800, 100)[:, :1]
    sound = mono_of(np.concatenate([one, one * np.float32(0.5)], axis=1))
    assert np.abs(sound).max() == pytest.approx(0.225, abs=0.005)


def test_louder_than_full_scale_stays_whole() -> None:
    """A decoded codec may pass full scale a little."""
    one = 4.5 * spoken(100, 800, 100)[:, :1]
    assert np.abs(mono_of(one)).max() == pytest.approx(1.35, abs=0.01)
    piece = cut(one[:, 0], 200, 400, fade_in_ms=2, fade_out_ms=2)
    assert np.abs(piece).max() == pytest.approx(1.35, abs=0.01)


def test_a_cut_is_made_on_the_millisecond_and_its_ends_are_faded() -> None:
    x = spoken(0, 1_000, 0)[:, 0]
    piece = cut(x, 200, 700, fade_in_ms=10, fade_out_ms=20)
    assert len(piece) == samples_at(500)
    inner = slice(samples_at(10), -samples_at(20))
    assert np.abs(piece - x[samples_at(200) : samples_at(700)])[inner].max() < 1e-6
    assert np.abs(piece[: samples_at(1)]).max() < 0.05
    assert np.abs(piece[-samples_at(1) :]).max() < 0.05


def test_a_cut_beyond_the_sound_ends_with_it() -> None:
    x = spoken(0, 1_000, 0)[:, 0]
    assert len(cut(x, -50, 100, fade_in_ms=2, fade_out_ms=2)) == samples_at(100)
    assert len(cut(x, 900, 2_000, fade_in_ms=2, fade_out_ms=2)) == samples_at(100)


def test_a_wav_file_holds_what_was_written(tmp_path: Path) -> None:
    x = spoken(10, 50, 10)
    write_wav(tmp_path / "take.wav", x, 44_100)
    rate, whole = wavfile.read(tmp_path / "take.wav")
    assert rate == 44_100
    assert np.abs(whole / 2**31 - x).max() < 1e-7


def test_a_take_of_minutes_is_refused(tmp_path: Path) -> None:
    long = write(tmp_path / "long.flac", np.tile(spoken(0, 1_000, 0), (61, 1)))
    with pytest.raises(AudioError, match=r"long\.flac: lasts more than 60 s, too long for one"):
        bring_in(long)


def test_a_take_that_is_no_audio_is_refused(tmp_path: Path) -> None:
    (tmp_path / "take.wav").write_text("three, two, one, row" * 30)
    with pytest.raises(AudioError, match=r"take\.wav: this is no audio file"):
        bring_in(tmp_path / "take.wav")


def test_importing_warns_of_nothing() -> None:
    """pydub warns of a missing ffmpeg program that nothing here needs."""
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", "import cuegen.voice.recorded"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
