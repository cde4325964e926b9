"""STOI against pystoi, an implementation of its own, and against how the measure behaves."""

from __future__ import annotations

import numpy as np
import pytest
from pystoi import stoi as by_pystoi

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.resample import resample
from cuegen.dsp.signal import Signal
from cuegen.dsp.stoi import STOI_RATE, Reference, words_share
from tests.dsp.signals import speech_like


def clean(seconds: float, seed: int) -> Signal:
    return resample(speech_like(seconds, seed), SAMPLE_RATE, STOI_RATE)


def noise_for(speech: Signal, snr_db: float, seed: int = 9) -> Signal:
    noise = np.random.default_rng(seed).standard_normal(len(speech))
    noise *= 10 ** (-snr_db / 20) * np.sqrt(np.mean(speech**2) / np.mean(noise**2))
    return noise.astype(np.float32)


@pytest.mark.parametrize("snr_db", [30.0, 10.0, 0.0, -10.0])
@pytest.mark.parametrize(("seconds", "seed"), [(3.0, 1), (7.3, 2), (1.1, 6)])
def test_agrees_with_pystoi(seconds: float, seed: int, snr_db: float) -> None:
    """pystoi 0.4.1, double precision, itself held to the authors' program: within 1e-5."""
    speech = clean(seconds, seed)
    heard = speech + noise_for(speech, snr_db)
    theirs = by_pystoi(speech.astype(np.float64), heard.astype(np.float64), STOI_RATE)
    assert Reference(speech).stoi(heard) == pytest.approx(theirs, abs=1e-5)


def test_agrees_with_pystoi_where_another_filter_was_at_work() -> None:
    """What is heard need not be the speech and noise: here it is an echo of it, clipped."""
    speech = clean(4.0, 3)
    heard = np.clip(speech + 0.7 * np.roll(speech, 1_200), -0.05, 0.05)
    theirs = by_pystoi(speech.astype(np.float64), heard.astype(np.float64), STOI_RATE)
    assert Reference(speech).stoi(heard) == pytest.approx(theirs, abs=1e-5)


def test_nothing_lost_is_one() -> None:
    speech = clean(3.0, 4)
    assert Reference(speech).stoi(speech) == pytest.approx(1.0, abs=1e-5)


def test_falls_with_noise() -> None:
    speech = clean(5.0, 5)
    reference = Reference(speech)
    values = [reference.stoi(speech + noise_for(speech, snr)) for snr in range(30, -21, -5)]
    assert values == sorted(values, reverse=True)
    assert values[0] - values[-1] > 0.4


def test_level_does_not_count() -> None:
    speech = clean(3.0, 6)
    heard = speech + noise_for(speech, 3.0)
    reference = Reference(speech)
    assert reference.stoi(heard * np.float32(0.1)) == pytest.approx(reference.stoi(heard), abs=1e-5)
    louder = Reference(speech * np.float32(8.0))
    assert louder.stoi(heard) == pytest.approx(reference.stoi(heard), abs=1e-5)


def test_pauses_do_not_count() -> None:
    """Noise in a long silence around the speech changes the figure by its borders alone."""
    speech = clean(4.0, 8)
    noise = noise_for(speech, 5.0)
    around = np.zeros(3 * STOI_RATE, dtype=np.float32)
    padded = np.concatenate([around, speech, around])
    loud = np.concatenate([noise[: len(around)], speech + noise, noise[: len(around)]])
    assert Reference(padded).stoi(loud) == pytest.approx(
        Reference(speech).stoi(speech + noise), abs=0.02
    )


@pytest.mark.parametrize(("stoi", "percent"), [(0.554, 50), (0.72, 95), (0.85, 99.4), (0.4, 6.3)])
def test_the_curve_to_words_is_that_of_taal_and_others(stoi: float, percent: float) -> None:
    """Worked by hand from 100 / (1 + exp(-17.4906 d + 9.6921))."""
    assert 100 * words_share(stoi) == pytest.approx(percent, abs=0.6)


@pytest.mark.parametrize("samples", [0, 100, 256, 257, 3_900])
def test_too_little_speech_is_said_and_refused(samples: int) -> None:
    reference = Reference(clean(1.0, 1)[:samples])
    assert not reference.long_enough
    with pytest.raises(ValueError, match="30 frames"):
        reference.stoi(np.zeros(samples, dtype=np.float32))


def test_another_length_is_refused() -> None:
    speech = clean(2.0, 1)
    with pytest.raises(ValueError, match="19999 samples are heard, 20000 were spoken"):
        Reference(speech).stoi(speech[:-1])
