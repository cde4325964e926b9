"""True peak against EBU Tech 3341, an exact interpolation and libebur128."""

from __future__ import annotations

import math

import numpy as np
import pyebur128
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import signal

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.signal import Signal
from cuegen.dsp.truepeak import REACH, TruePeakMeter, curve_peaks, true_peak_dbtp
from tests.dsp.signals import cuts, in_blocks, silence, sine, speech_like, stereo


def faded(x: Signal, samples: int = 2_400) -> Signal:
    """Return a tone eased in and out: its cut ends would ring above it."""
    x = x.copy()
    x[:samples] *= np.linspace(0, 1, samples, dtype=np.float32)
    x[-samples:] *= np.linspace(1, 0, samples, dtype=np.float32)
    return x


@pytest.mark.parametrize(
    ("amplitude", "part", "degrees", "expected"),
    [
        (0.50, 4, 0.0, -6.0),
        (0.50, 4, 45.0, -6.0),
        (0.50, 6, 60.0, -6.0),
        (0.50, 8, 67.5, -6.0),
        (1.41, 4, 45.0, 3.0),
    ],
    ids=["signal 15", "signal 16", "signal 17", "signal 18", "signal 19"],
)
def test_tones_whose_samples_miss_the_peak(
    amplitude: float, part: int, degrees: float, expected: float
) -> None:
    """EBU Tech 3341, signals 15 to 19: +0.2/-0.4 dB."""
    x = faded(sine(1, 20 * math.log10(amplitude), SAMPLE_RATE / part, degrees=degrees))
    heard = true_peak_dbtp(stereo(x))
    assert expected - 0.4 <= heard <= expected + 0.2


@pytest.mark.parametrize("seed", range(4))
def test_agrees_with_an_exact_interpolation(seed: int) -> None:
    """SciPy's Fourier resampling, 16-fold, of noise up to 16 kHz: within -0.4/+0.1 dB."""
    low = signal.butter(8, 16_000, fs=SAMPLE_RATE, output="sos")
    noise = signal.sosfilt(low, np.random.default_rng(seed).standard_normal(SAMPLE_RATE // 4))
    x = faded(np.asarray(noise * 0.2, dtype=np.float32))
    exact = 20 * math.log10(np.abs(signal.resample(x.astype(np.float64), 16 * len(x))).max())
    assert exact - 0.4 <= true_peak_dbtp(x) <= exact + 0.1


@pytest.mark.parametrize("seed", range(4))
def test_agrees_with_libebur128(seed: int) -> None:
    """pyebur128 0.1.1, on speech-like noise: within 0.1 dB."""
    x = speech_like(5, seed)
    state = pyebur128.R128State(1, SAMPLE_RATE, pyebur128.MeasurementMode.MODE_TRUE_PEAK)
    state.add_frames(x, len(x))
    heard = 20 * math.log10(pyebur128.get_true_peak(state, 0))
    assert true_peak_dbtp(x) == pytest.approx(heard, abs=0.1)


@settings(max_examples=25, deadline=None)
@given(lengths=cuts(), loudest=st.integers(0, 239_000))
def test_blocks_change_nothing_wherever_the_peak_lies(lengths: list[int], loudest: int) -> None:
    """A click that ends before, on or after any edge is found to the last bit."""
    x = speech_like(5, 1)
    x[loudest : loudest + 3] = (0.7, 0.9, 0.6)
    whole, cut = TruePeakMeter(1), TruePeakMeter(1)
    whole.add(x)
    in_blocks(x, lengths, cut.add)
    assert cut.dbtp() == whole.dbtp()


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10_000), quiet=st.floats(0.0, 1.0))
def test_passing_over_quiet_stretches_loses_nothing(seed: int, quiet: float) -> None:
    """The meter, which looks only where it must, finds the peak of the whole curve."""
    rng = np.random.default_rng(seed)
    x = rng.uniform(-1, 1, 20_000).astype(np.float32)
    x *= (rng.uniform(0, 1, 20) > quiet).repeat(1_000) * rng.uniform(0, 1, 20).repeat(1_000)
    x = x.astype(np.float32)
    padded = np.concatenate([np.zeros(20, np.float32), x, np.zeros(20, np.float32)])
    peak = float(curve_peaks(padded).max())
    expected = 20 * math.log10(peak) if peak > 0 else -math.inf
    assert true_peak_dbtp(x) == pytest.approx(expected, abs=1e-4)


@settings(max_examples=100)
@example(hertz=12_000.0, degrees=45.0, noise=0.0, share=0.999)
@given(
    hertz=st.floats(50.0, 23_900.0),
    degrees=st.floats(0.0, 90.0),
    noise=st.sampled_from([0.0, 0.01, 0.3, 1.0]),
    share=st.floats(0.1, 1.1) | st.just(0.999),
)
def test_only_what_lies_under_what_was_asked_for_is_passed_over(
    hertz: float, degrees: float, noise: float, share: float
) -> None:
    """Every |curve| above `least` is told as if all were drawn, to the rounding of 32 bits."""
    x = sine(0.05, 0.0, hertz, degrees=degrees)
    x += (noise * np.random.default_rng(7).standard_normal(len(x))).astype(np.float32)
    drawn = curve_peaks(x)
    least = share * float(drawn.max())
    assert np.abs(np.maximum(curve_peaks(x, least), least) - np.maximum(drawn, least)).max() < 1e-6


@pytest.mark.parametrize("at", range(16))
def test_the_sharpest_bends_are_drawn_wherever_they_begin(at: int) -> None:
    """The worst samples but for the two in the middle, at each place within a frame."""
    x = silence(0.01)
    x[at + 100 : at + 124] = np.sign(np.sinc(np.arange(-11, 13) - 0.5))
    x[at + 111 : at + 113] = 0.1
    peak = float(curve_peaks(x).max())
    assert peak > 1.05
    assert float(curve_peaks(x, 0.999 * peak).max()) == pytest.approx(peak, abs=1e-6)


def test_no_curve_rises_further_than_reach() -> None:
    """The worst samples there are, signs as the weights', rise by REACH and no more."""
    worst = np.sign(np.sinc(np.arange(-11, 13) - 0.5)).astype(np.float32)
    assert curve_peaks(worst).max() == pytest.approx(REACH, abs=1e-5)


def test_samples_themselves_count() -> None:
    x = silence(0.1)
    x[100] = -0.5
    assert true_peak_dbtp(x) == pytest.approx(-6.0206, abs=1e-3)


def test_the_louder_channel_counts() -> None:
    x = np.stack([sine(1, -20.0), sine(1, -8.0)], axis=1)
    assert true_peak_dbtp(x) == pytest.approx(-8.0, abs=0.05)


def test_silence_has_no_peak() -> None:
    assert true_peak_dbtp(silence(1)) == -math.inf
    assert true_peak_dbtp(silence(0)) == -math.inf


def test_a_block_of_other_channels_is_refused() -> None:
    with pytest.raises(ValueError, match="1 channels given to a meter of 2"):
        TruePeakMeter(2).add(silence(1))
