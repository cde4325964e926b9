"""Takes: any format in, trimmed and faded, or refused with the reason."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError
from cuegen.mix.encode import Tags, encoding
from cuegen.mix.formats import FORMATS
from cuegen.voice.recorded import FADE_MS, KEEP_MS, bring_in


def spoken(before_ms: int, sound_ms: int, after_ms: int) -> Signal:
    """Return two channels of hum between two silences that are not quite silent."""
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
def test_a_take_of_any_format_is_trimmed_to_its_sound(tmp_path: Path, suffix: str) -> None:
    """30 ms are kept on each side; a codec smears an end by up to 50 ms."""
    take = bring_in(write(tmp_path / f"take{suffix}", spoken(800, 1_500, 600)))
    assert take.dtype == np.float32
    assert take.ndim == 1
    assert len(take) == pytest.approx(samples_at(1_500 + 2 * KEEP_MS), abs=samples_at(55))
    assert np.abs(take).max() == pytest.approx(0.3, abs=0.02)


def test_cuts_are_faded(tmp_path: Path) -> None:
    """A sound without silence around it begins and ends at nothing, and is whole within."""
    take = bring_in(write(tmp_path / "tight.wav", spoken(0, 1_000, 0)))
    assert len(take) == samples_at(1_000)
    edge = samples_at(1)
    assert np.abs(take[:edge]).max() < 0.05
    assert np.abs(take[-edge:]).max() < 0.05
    inner = slice(samples_at(FADE_MS), -samples_at(FADE_MS))
    assert np.abs(take - spoken(0, 1_000, 0).mean(axis=1))[inner].max() < 1e-4


def test_a_pause_within_a_line_stays(tmp_path: Path) -> None:
    x = np.concatenate([spoken(300, 500, 700), spoken(0, 500, 300)])
    take = bring_in(write(tmp_path / "pause.flac", x))
    assert len(take) == pytest.approx(samples_at(1_700 + 2 * KEEP_MS), abs=samples_at(10))


def test_a_silent_take_is_refused(tmp_path: Path) -> None:
    quiet = write(tmp_path / "quiet.wav", np.full((SAMPLE_RATE, 1), 1e-4, dtype=np.float32))
    with pytest.raises(AudioError, match=r"quiet\.wav: this take is silent"):
        bring_in(quiet)


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
