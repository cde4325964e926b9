"""A change of rate keeps tones, instants and lengths; SciPy's Fourier resampling is the oracle."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal

from cuegen.dsp.resample import resample
from cuegen.dsp.signal import Signal
from tests.dsp.signals import sine, stereo

RATES = [16_000, 22_050, 24_000, 44_100, 48_000, 96_000]


def click(at: int, length: int) -> Signal:
    x = np.zeros(length, dtype=np.float32)
    x[at] = 1.0
    return x


@pytest.mark.parametrize("rate", RATES)
def test_a_tone_stays_the_same_tone(rate: int) -> None:
    """Error under -80 dB away from the ends."""
    y = resample(sine(1, 0.0, 997.0, rate), rate, 48_000)
    inner = slice(4_800, 43_200)
    assert np.abs(y - sine(1, 0.0, 997.0))[inner].max() < 1e-4


def test_noise_agrees_with_fourier_resampling() -> None:
    """scipy.signal.resample, whole periods, noise up to 8 kHz: error under -70 dB."""
    band = signal.butter(8, 8_000, fs=24_000, output="sos")
    noise = signal.sosfiltfilt(band, np.random.default_rng(1).standard_normal(24_000) * 0.2)
    noise *= np.hanning(24_000)
    exact = signal.resample(noise, 48_000)
    assert np.abs(resample(noise.astype(np.float32), 24_000, 48_000) - exact).max() < 3e-4


@pytest.mark.parametrize("rate", [22_050, 44_100])
def test_what_the_lower_rate_cannot_hold_is_gone(rate: int) -> None:
    """A tone right above the new Nyquist frequency leaves less than -96 dB."""
    y = resample(sine(1, 0.0, rate / 2 + 5), 48_000, rate)
    assert np.abs(y[2_000:-2_000]).max() < 1.6e-5


@pytest.mark.parametrize(("from_rate", "to_rate"), [(22_050, 48_000), (48_000, 22_050)])
def test_what_the_lower_rate_holds_is_kept(from_rate: int, to_rate: int) -> None:
    """A tone at 0.91 of its Nyquist frequency comes out with an error under -80 dB."""
    hertz = 0.91 * 22_050 / 2
    y = resample(sine(1, 0.0, hertz, from_rate), from_rate, to_rate)
    away = slice(to_rate // 10, -to_rate // 10)
    assert np.abs(y - sine(1, 0.0, hertz, to_rate))[away].max() < 1e-4


def test_blocks_leave_no_seam() -> None:
    """A click near every edge between blocks comes out as it does in the middle of one."""
    expected = resample(click(1_000, 4_000), 24_000, 48_000)[1_600:2_400]
    for at in range(15_000, 50_000, 61):
        heard = resample(click(at, 60_000), 24_000, 48_000)[2 * at - 400 : 2 * at + 400]
        assert np.abs(heard - expected).max() < 1e-6


@given(rate=st.sampled_from(RATES), length=st.integers(0, 3_000))
@settings(deadline=None)
def test_length_is_that_of_the_time(rate: int, length: int) -> None:
    y = resample(np.zeros(length, dtype=np.float32), rate, 48_000)
    assert len(y) == -(-length * 48_000 // rate)


@pytest.mark.parametrize("rate", [16_000, 24_000, 96_000])
def test_an_instant_stays_where_it_was(rate: int) -> None:
    x = np.zeros(rate, dtype=np.float32)
    x[rate // 3] = 1.0
    assert np.argmax(np.abs(resample(x, rate, 48_000))) == round(rate // 3 * 48_000 / rate)


def test_the_same_rate_changes_nothing() -> None:
    x = sine(1, -6.0)
    assert (resample(x, 48_000, 48_000) == x).all()


def test_channels_are_changed_each_for_itself() -> None:
    x = stereo(sine(1, -6.0, rate=24_000))
    x[:, 1] = 0.0
    y = resample(x, 24_000, 48_000)
    assert y.shape == (48_000, 2)
    assert y.dtype == np.float32
    assert (y[:, 1] == 0).all()
    assert (y[:, 0] == resample(x[:, 0], 24_000, 48_000)).all()


def test_a_rate_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="positive, not 0"):
        resample(sine(1, 0.0), 0, 48_000)
