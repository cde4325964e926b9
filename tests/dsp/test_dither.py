"""What 16 bits take away is noise: of the power theory says, flat, and deaf to the signal."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from numpy.typing import NDArray
from scipy import signal

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.dither import FULL_SCALE, quantised
from cuegen.dsp.signal import Signal
from tests.dsp.signals import cuts, silence, sine, speech_like, stereo


def error_of(x: Signal) -> NDArray[np.float64]:
    """Return what was added to one channel, in steps."""
    whole = quantised(x, 0)[:, 0].astype(np.float64)
    return np.asarray(whole - x.astype(np.float64) * FULL_SCALE)


def harmonics_db(x: NDArray[np.float64], hertz: float) -> float:
    """Return the loudest of harmonics 2 to 9 against the tone, from a Blackman-windowed FFT."""
    power = np.abs(np.fft.rfft(x * np.blackman(len(x)))) ** 2
    at = [round(n * hertz * len(x) / SAMPLE_RATE) for n in range(1, 10)]
    peaks = [power[place - 3 : place + 4].max() for place in at]
    return float(10 * np.log10(max(peaks[1:]) / peaks[0]))


def test_the_error_has_a_quarter_of_a_step_squared() -> None:
    """q^2/12 of rounding and q^2/6 of triangular dither."""
    error = error_of(sine(10, -20.0, 997.0))
    assert np.mean(error**2) == pytest.approx(0.25, rel=0.01)
    assert np.mean(error) == pytest.approx(0.0, abs=0.005)
    assert np.abs(error).max() <= 1.5


def test_a_tone_of_a_step_or_less_keeps_no_harmonics() -> None:
    """1 kHz at -90 dBFS peak, one step: rounding alone makes harmonics of -20 dB and more."""
    x = sine(20, -90.0, 1_000.0)
    rounded = np.rint(x.astype(np.float64) * FULL_SCALE)
    dithered = quantised(x, 0)[:, 0].astype(np.float64)
    assert harmonics_db(rounded, 1_000.0) > -20.0
    assert harmonics_db(dithered, 1_000.0) < -35.0


def test_a_tone_under_half_a_step_is_still_there() -> None:
    """-100 dBFS, a third of a step: rounding alone leaves nothing."""
    x = sine(20, -100.0, 1_000.0)
    assert not np.rint(x * FULL_SCALE).any()
    reference = np.sin(2 * np.pi * 1_000.0 * np.arange(len(x)) / SAMPLE_RATE)
    found = 2 * np.mean(quantised(x, 0)[:, 0] * reference) / FULL_SCALE
    assert 20 * np.log10(found) == pytest.approx(-100.0, abs=0.3)


@pytest.mark.parametrize("x", [sine(10, -90.0), sine(10, -3.0, 50.0), speech_like(10, 3) + 1e-5])
def test_the_error_is_flat_and_deaf_to_the_signal(x: Signal) -> None:
    """Welch's spectrum within 0.5 dB of its mean in bands of 2 kHz; no correlation; even power."""
    error = error_of(x)
    _, power = signal.welch(error, SAMPLE_RATE, nperseg=4_096)
    bands = power[4:2_044].reshape(12, -1).mean(axis=1)
    assert np.abs(10 * np.log10(bands / bands.mean())).max() < 0.5
    assert abs(np.corrcoef(error, x)[0, 1]) < 0.01
    loud = np.abs(x) > np.median(np.abs(x))
    assert np.mean(error[loud] ** 2) == pytest.approx(np.mean(error[~loud] ** 2), rel=0.03)


def test_channels_are_dithered_apart() -> None:
    x = stereo(sine(5, -20.0))
    error = quantised(x, 0) - x.astype(np.float64) * FULL_SCALE
    # Their rounding is not apart: both channels hold the same tone.
    assert abs(np.corrcoef(error[:, 0], error[:, 1])[0, 1]) < 0.02


def test_digital_silence_stays_silent() -> None:
    x = np.concatenate([silence(1), sine(1, -20.0, degrees=30), silence(1)])
    whole = quantised(x, 0)
    assert not whole[:SAMPLE_RATE].any()
    assert not whole[2 * SAMPLE_RATE :].any()
    assert whole[SAMPLE_RATE : 2 * SAMPLE_RATE].any()


def test_a_channel_that_rests_beside_one_that_sounds_is_dithered() -> None:
    x = np.stack([sine(1, -20.0, degrees=30), silence(1)], axis=1)
    assert quantised(x, 0)[:, 1].any()


def test_nothing_leaves_sixteen_bits() -> None:
    x = np.array([1.0, 0.99999, -1.0, 1.5, -1.5], dtype=np.float32)
    whole = quantised(x, 0)[:, 0]
    assert (whole[0], whole[3], whole[4]) == (32_767, 32_767, -32_768)


@settings(max_examples=25, deadline=None)
@given(lengths=cuts())
def test_blocks_change_nothing(lengths: list[int]) -> None:
    x = stereo(speech_like(3, 1))
    parts, at, turn = [], 0, 0
    while at < len(x):
        block = x[at : at + lengths[turn % len(lengths)]]
        parts.append(quantised(block, at))
        at, turn = at + len(block), turn + 1
    assert (np.concatenate(parts) == quantised(x, 0)).all()


def test_other_places_have_other_dither() -> None:
    x = sine(1, -20.0)
    assert (quantised(x, 0) != quantised(x, 70_000)).any()
