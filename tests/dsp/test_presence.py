"""A curve is what it says and moves nothing in time."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.presence import shaped
from cuegen.dsp.signal import Signal
from cuegen.voice.characters import CHARACTERS, SOFTER, Curve
from tests.dsp.signals import silence, speech_like

EVERY = [SOFTER, *(each.curve for row in CHARACTERS.values() for each in row if each.curve)]


def click(at: int, length: int = 9_600) -> Signal:
    x = np.zeros(length, dtype=np.float32)
    x[at] = 1.0
    return x


@pytest.mark.parametrize("curve", EVERY)
def test_the_gain_at_each_point_is_that_of_the_curve(curve: Curve) -> None:
    """From 190 Hz on, by SciPy's response of what a click becomes: within 0.5 dB.

    The filter is too short to follow a curve closely under that.
    """
    response = shaped(click(4_800), curve)
    points = np.array([point for point in curve if point[0] >= 190])
    _, gain = signal.freqz(response, worN=points[:, 0], fs=SAMPLE_RATE)
    assert np.abs(20 * np.log10(np.abs(gain)) - points[:, 1]).max() < 0.5


@pytest.mark.parametrize("curve", EVERY)
@pytest.mark.parametrize("at", [0, 1, 4_801, 9_599])
def test_a_click_stays_on_its_sample(curve: Curve, at: int) -> None:
    assert int(np.argmax(np.abs(shaped(click(at), curve)))) == at


@pytest.mark.parametrize("curve", EVERY)
def test_nothing_of_weight_sounds_before_its_instant(curve: Curve) -> None:
    """All that comes more than 2 ms before a click is 30 dB under it in energy."""
    energy = shaped(click(4_800), curve).astype(np.float64) ** 2
    before = energy[: 4_800 - SAMPLE_RATE // 500].sum()
    assert 10 * np.log10(before / energy.sum() + 1e-12) < -30


@pytest.mark.parametrize("curve", EVERY)
def test_speech_is_not_delayed(curve: Curve) -> None:
    """The largest cross-correlation, by FFT, is at no shift."""
    x = speech_like(3, 1)
    products = signal.correlate(shaped(x, curve), x, mode="same")
    assert int(np.argmax(products)) == len(x) // 2


def test_length_and_silence_are_kept() -> None:
    assert len(shaped(speech_like(1.234, 2), SOFTER)) == round(1.234 * SAMPLE_RATE)
    assert not shaped(silence(0.5), SOFTER).any()
    assert len(shaped(silence(0), SOFTER)) == 0


def test_no_curve_changes_nothing() -> None:
    x = speech_like(1, 3)
    assert (shaped(x, ()) == x).all()


@pytest.mark.parametrize("curve", EVERY)
def test_at_an_engine_s_own_rate_the_gain_is_the_same(curve: Curve) -> None:
    """24 kHz, by SciPy's response of what a click becomes: within 0.5 dB of the curve."""
    response = shaped(click(4_800), curve, 24_000)
    points = np.array([point for point in curve if point[0] >= 190])
    _, gain = signal.freqz(response, worN=points[:, 0], fs=24_000)
    assert np.abs(20 * np.log10(np.abs(gain)) - points[:, 1]).max() < 0.5
