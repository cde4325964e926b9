"""Each fault of the sound is named with its figure, and a good take has none."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pyloudnorm import Meter

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import open_audio
from cuegen.dsp.signal import Signal
from cuegen.mix.encode import Tags, encoding
from cuegen.takes.faults import (
    FaultKind,
    Measures,
    clipped_peaks,
    faults_of_sound,
    speech_and_noise,
    too_long,
)
from cuegen.takes.repair import repaired
from tests.takes.coach import Room, Sound, in_room
from tests.takes.test_cuts import speech

GOOD = Measures(peak_dbfs=-6.0, clipped=0, level_lufs=-25.0, snr_db=45.0)


def kinds(measures: Measures) -> list[FaultKind]:
    return [fault.kind for fault in faults_of_sound(measures)]


def sixteen_bit(sound: Sound) -> Signal:
    whole = np.clip(np.rint(sound * 32_768), -32_768, 32_767)
    return np.asarray(whole[:, np.newaxis] / 32_768, dtype=np.float32)


def test_a_good_take_has_no_fault() -> None:
    assert kinds(GOOD) == []
    assert kinds(replace(GOOD, snr_db=None)) == []


@pytest.mark.parametrize(
    ("measures", "kind", "figure"),
    [
        (replace(GOOD, clipped=3), FaultKind.CLIPPED, "3 peaks are cut off"),
        (replace(GOOD, level_lufs=-45.1), FaultKind.TOO_QUIET, "recorded at -45.1 LUFS"),
        (replace(GOOD, snr_db=19.9), FaultKind.NOISY, "noise lies 19.9 dB under the voice"),
        (replace(GOOD, peak_dbfs=-61.0), FaultKind.EMPTY, "nobody speaks (loudest -61 dBFS)"),
        (replace(GOOD, level_lufs=None), FaultKind.EMPTY, "nobody speaks (loudest -6 dBFS)"),
        (Measures(float("-inf"), 0), FaultKind.EMPTY, "nobody speaks (loudest nothing)"),
    ],
)
def test_each_fault_is_named_with_its_figure(
    measures: Measures, kind: FaultKind, figure: str
) -> None:
    (fault,) = faults_of_sound(measures)
    assert fault.kind is kind
    assert fault.problem.startswith(figure)
    assert fault.remedy.startswith("Record it again")


@pytest.mark.parametrize(
    "measures",
    [
        replace(GOOD, clipped=2),
        replace(GOOD, level_lufs=-45.0),
        replace(GOOD, snr_db=20.0),
        replace(GOOD, peak_dbfs=-60.0),
    ],
)
def test_the_limits_themselves_are_borne(measures: Measures) -> None:
    assert kinds(measures) == []


def test_a_take_too_long_for_its_place_is_named_with_both_lengths() -> None:
    fault = too_long(2_471, 2_470)
    assert fault is not None
    assert fault.kind is FaultKind.TOO_LONG
    assert fault.problem == "lasts 2.47 s, its place has 2.47 s"
    assert too_long(2_470, 2_470) is None


@pytest.mark.parametrize("over_db", [3.0, 6.0, 20.0])
def test_clipping_is_counted(over_db: float) -> None:
    sound = speech()
    hot = sixteen_bit(sound / np.abs(sound).max() * 10 ** (over_db / 20))
    assert clipped_peaks(hot, SAMPLE_RATE) > 2


@pytest.mark.parametrize("peak_dbfs", [-0.01, -0.5, -3.0, -20.0])
def test_a_loud_take_that_is_whole_is_not_clipped(peak_dbfs: float) -> None:
    sound = speech()
    loud = sixteen_bit(sound / np.abs(sound).max() * 10 ** (peak_dbfs / 20))
    assert clipped_peaks(loud, SAMPLE_RATE) <= 1


def test_a_loud_deep_tone_is_not_clipped() -> None:
    """Near the top of a wave of 90 Hz neighbours differ by a few steps of 16 bits only."""
    at = np.arange(2 * SAMPLE_RATE) / SAMPLE_RATE
    assert clipped_peaks(sixteen_bit(0.999 * np.sin(2 * np.pi * 90.3 * at)), SAMPLE_RATE) <= 2


def test_one_clipped_side_is_enough() -> None:
    sound = speech() / np.abs(speech()).max()
    sides = np.concatenate([sixteen_bit(0.5 * sound), sixteen_bit(4 * sound)], axis=1)
    assert clipped_peaks(sides, SAMPLE_RATE) > 2


@pytest.mark.parametrize("suffix", [".mp3", ".m4a"])
def test_clipping_is_seen_through_a_codec(tmp_path: Path, suffix: str) -> None:
    sound = speech() / np.abs(speech()).max()
    counts = []
    for gain in (0.7, 8.0):
        path = tmp_path / f"take{gain}{suffix}"
        with encoding(path, 1, Tags("take"), []) as track:
            track.write(sixteen_bit(gain * sound))
        source = open_audio(path)
        native = replace(source, sample_rate=source.file_rate)
        counts.append(clipped_peaks(np.concatenate(list(native.blocks())), source.file_rate))
    assert counts[0] == 0
    assert counts[1] > 2


@pytest.mark.parametrize("below_db", [10.0, 19.0, 21.0, 40.0])
def test_noise_is_measured_against_speech(below_db: float) -> None:
    """White noise so far under the speech, both K-weighted by a meter that is not ours."""
    sound = speech((1_000, 6_000))
    spoken = sound[samples_at(1_000) : samples_at(6_000)]
    noise = np.random.default_rng(2).standard_normal(len(sound))
    meter = Meter(SAMPLE_RATE)
    distance = meter.integrated_loudness(spoken) - meter.integrated_loudness(noise)
    noisy = sound + noise * 10 ** ((distance - below_db) / 20)
    good = repaired(noisy.astype(np.float32))
    _, snr_db = speech_and_noise(good.sound, good.pieces, good.quiet)
    assert snr_db is not None
    # Noise under the speech counts as speech: 0.4 dB at 10 dB of distance.
    assert snr_db == pytest.approx(below_db, abs=0.8)


def test_the_level_is_that_of_what_speaks() -> None:
    """Against pyloudnorm on the spoken stretches alone; long pauses change nothing."""
    sound = in_room(speech((2_000, 5_000), length_ms=12_000), Room(noise_dbfs=-90))
    good = repaired(sound.astype(np.float32))
    level, _ = speech_and_noise(good.sound, good.pieces, good.quiet)
    spoken = sound[samples_at(2_000) : samples_at(5_000)]
    assert level == pytest.approx(float(Meter(SAMPLE_RATE).integrated_loudness(spoken)), abs=0.3)


def test_without_a_pause_noise_is_not_measured() -> None:
    sound = speech((0, 3_000), length_ms=3_000).astype(np.float32)
    good = repaired(sound)
    assert speech_and_noise(good.sound, good.pieces, ())[1] is None
