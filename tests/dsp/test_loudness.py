"""Loudness against EBU Tech 3341 and 3342 and against two other implementations of BS.1770."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pyebur128
import pyloudnorm
import pytest
from hypothesis import given, settings

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.loudness import LoudnessMeter, integrated_lufs
from cuegen.dsp.signal import Signal
from tests.dsp.signals import cuts, in_blocks, silence, sine, speech_like, stereo


def metered(x: Signal) -> LoudnessMeter:
    meter = LoudnessMeter(1 if x.ndim == 1 else x.shape[1])
    meter.add(x)
    return meter


def tones(*parts: tuple[float, float]) -> Signal:
    """Return 1 kHz in two channels: (seconds, dBFS) one after the other."""
    return stereo(*(sine(seconds, dbfs) for seconds, dbfs in parts))


def test_sine_of_997_hz_at_full_scale_reads_minus_3_01() -> None:
    """ITU-R BS.1770-4: one channel, -3.01 LKFS."""
    assert integrated_lufs(sine(20, 0.0, 997.0)) == pytest.approx(-3.01, abs=0.005)


@pytest.mark.parametrize("dbfs", [-23.0, -33.0])
def test_steady_tone_is_itself_in_every_window(dbfs: float) -> None:
    """EBU Tech 3341, signals 1 and 2: M, S and I within 0.1 LU."""
    meter = metered(tones((20, dbfs)))
    assert meter.integrated() == pytest.approx(dbfs, abs=0.1)
    assert meter.momentary_max() == pytest.approx(dbfs, abs=0.1)
    assert meter.short_term_max() == pytest.approx(dbfs, abs=0.1)


@pytest.mark.parametrize(
    "parts",
    [
        [(10, -36), (60, -23), (10, -36)],
        [(10, -72), (10, -36), (60, -23), (10, -36), (10, -72)],
        [(20, -26), (20.1, -20), (20, -26)],
    ],
    ids=["signal 3", "signal 4", "signal 5"],
)
def test_gates(parts: list[tuple[float, float]]) -> None:
    """EBU Tech 3341, signals 3 to 5: I -23.0 within 0.1 LU."""
    assert metered(tones(*parts)).integrated() == pytest.approx(-23.0, abs=0.1)


def test_short_term_holds_through_an_alternating_tone() -> None:
    """EBU Tech 3341, signal 9: S -23.0 within 0.1 LU from 3 s on."""
    series = metered(tones(*([(1.34, -20.0), (1.66, -30.0)] * 5))).short_term_series()
    assert np.abs(series + 23.0).max() <= 0.1


@pytest.mark.parametrize("number", range(20))
def test_short_term_max_finds_a_tone_wherever_it_begins(number: int) -> None:
    """EBU Tech 3341, signal 10: max S -23.0 within 0.1 LU."""
    x = stereo(silence(0.15 * number), sine(3, -23.0), silence(1))
    assert metered(x).short_term_max() == pytest.approx(-23.0, abs=0.1)


def test_momentary_holds_through_an_alternating_tone() -> None:
    """EBU Tech 3341, signal 12: M -23.0 within 0.1 LU; the loudest stands for all."""
    meter = metered(tones(*([(0.18, -20.0), (0.22, -30.0)] * 25)))
    assert meter.momentary_max() == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize("number", range(20))
def test_momentary_max_finds_a_short_tone_wherever_it_begins(number: int) -> None:
    """EBU Tech 3341, signal 13 (its layout from memory): max M -23.0 within 0.1 LU."""
    x = stereo(silence(0.02 * number), sine(0.4, -23.0), silence(1))
    assert metered(x).momentary_max() == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize(
    ("levels", "expected"),
    [
        ([-20, -30], 10),
        ([-20, -15], 5),
        ([-40, -20], 20),
        ([-50, -35, -20, -35, -50], 15),
    ],
)
def test_range(levels: list[float], expected: float) -> None:
    """EBU Tech 3342, signals 1 to 4, parts of 20 s: within 1 LU."""
    assert metered(tones(*((20, level) for level in levels))).range_lu() == pytest.approx(
        expected, abs=1.0
    )


@pytest.mark.parametrize("seed", range(4))
def test_integrated_agrees_with_pyloudnorm(seed: int) -> None:
    """pyloudnorm 0.2.0; its filters are designed, not the printed ones: within 0.1 LU."""
    x = speech_like(20, seed)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        heard = pyloudnorm.Meter(SAMPLE_RATE).integrated_loudness(x.astype(np.float64))
    assert integrated_lufs(x) == pytest.approx(heard, abs=0.1)


@pytest.mark.parametrize("seed", range(4))
def test_all_measures_agree_with_libebur128(seed: int) -> None:
    """pyebur128 0.1.1, polled every 100 ms; two channels that differ."""
    x = np.stack([speech_like(20, seed), speech_like(20, seed + 100, -26.0)], axis=1)
    modes = pyebur128.MeasurementMode
    state = pyebur128.R128State(2, SAMPLE_RATE, modes.MODE_I | modes.MODE_S)
    momentary, short_term = [], []
    for start in range(0, len(x), 4800):
        state.add_frames(np.ascontiguousarray(x[start : start + 4800]).reshape(-1), 4800)
        momentary.append(pyebur128.get_loudness_momentary(state))
        short_term.append(pyebur128.get_loudness_shortterm(state))
    meter = metered(x)
    assert meter.integrated() == pytest.approx(pyebur128.get_loudness_global(state), abs=0.01)
    # Ours looks five times as often, so it may find a little more.
    assert -0.01 <= meter.momentary_max() - max(momentary[3:]) <= 0.6
    assert -0.01 <= meter.short_term_max() - max(short_term[29:]) <= 0.1
    assert np.abs(meter.short_term_series() - short_term[29:]).max() < 0.01


@pytest.mark.parametrize("seed", range(2))
def test_range_agrees_with_libebur128(seed: int) -> None:
    """pyebur128 takes its values a second apart, ours 100 ms: within the 1 LU of Tech 3342."""
    x = np.concatenate([speech_like(30, seed, dbfs) for dbfs in (-20.0, -32.0, -26.0)])
    state = pyebur128.R128State(1, SAMPLE_RATE, pyebur128.MeasurementMode.MODE_LRA)
    state.add_frames(x, len(x))
    assert metered(x).range_lu() == pytest.approx(pyebur128.get_loudness_range(state), abs=1.0)


@settings(max_examples=25, deadline=None)
@given(lengths=cuts())
def test_blocks_change_nothing(lengths: list[int]) -> None:
    """However a signal is cut, every value is the same to the last bit."""
    whole, cut = LoudnessMeter(1), LoudnessMeter(1)
    whole.add(_SPEECH)
    in_blocks(_SPEECH, lengths, cut.add)
    assert cut.integrated() == whole.integrated()
    assert cut.momentary_max() == whole.momentary_max()
    assert cut.range_lu() == whole.range_lu()
    assert (cut.short_term_series() == whole.short_term_series()).all()


_SPEECH = speech_like(7.3, seed=1)


def test_reading_a_meter_on_the_way_does_not_disturb_it() -> None:
    read = LoudnessMeter(1)
    for start in range(0, len(_SPEECH), 7_000):
        read.add(_SPEECH[start : start + 7_000])
        read.integrated()
    assert read.integrated() == integrated_lufs(_SPEECH)


def test_silence_between_words_is_passed_over_without_error() -> None:
    """pyebur128 as oracle for speech with seconds of digital silence, which we do not filter."""
    x = np.concatenate([speech_like(3, 2), silence(20), speech_like(3, 3), silence(9)])
    state = pyebur128.R128State(1, SAMPLE_RATE, pyebur128.MeasurementMode.MODE_I)
    state.add_frames(x, len(x))
    assert integrated_lufs(x) == pytest.approx(pyebur128.get_loudness_global(state), abs=0.01)


@pytest.mark.parametrize("x", [silence(5), sine(0.39, -10.0), sine(5, -75.0), silence(0)])
def test_nothing_to_measure_is_minus_infinity(x: Signal) -> None:
    """Silence, less than one gating block, and what lies under the absolute gate."""
    assert integrated_lufs(x) == -math.inf


def test_nothing_to_measure_has_no_range_and_no_peaks() -> None:
    meter = metered(silence(10))
    assert (meter.range_lu(), meter.momentary_max()) == (0.0, -math.inf)
    assert metered(silence(1)).short_term_max() == -math.inf


def test_two_equal_channels_are_3_01_louder_than_one() -> None:
    """BS.1770: powers of channels add."""
    x = speech_like(5, 4)
    assert integrated_lufs(stereo(x)) - integrated_lufs(x) == pytest.approx(3.0103, abs=1e-3)


def test_another_rate_is_refused() -> None:
    with pytest.raises(ValueError, match="at 48000 Hz, not 44100"):
        LoudnessMeter(1, 44_100)


def test_more_than_two_channels_are_refused() -> None:
    with pytest.raises(ValueError, match="one or two channels, not 6"):
        LoudnessMeter(6)


def test_a_block_of_other_channels_is_refused() -> None:
    with pytest.raises(ValueError, match="2 channels given to a meter of 1"):
        LoudnessMeter(1).add(stereo(silence(1)))
