"""A curve is what it says, moves nothing in time, and is worth what its table claims."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.hall import HALLS, hall_noise
from cuegen.dsp.loudness import integrated_lufs
from cuegen.dsp.presence import CURVES, SOFTER, Curve, VoiceSound, shaped
from cuegen.dsp.resample import resample
from cuegen.dsp.signal import Signal
from cuegen.dsp.stoi import STOI_RATE, Reference
from cuegen.script.candidate import Line
from cuegen.voice.booth import open_booth
from tests.dsp.signals import silence, speech_like

EVERY = [*CURVES.values()]
TEXTS = (
    "Rate up, twenty-two, and settle there.",
    "Handle past the knees, then move the seat.",
    "Long strokes for thirty seconds more.",
    "Press together, then send it back.",
    "Two minutes left in this piece. Sit tall.",
    "Half of this one is behind you.",
)


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


def levelled(x: Signal) -> Signal:
    pad = silence(0.4)
    lufs = integrated_lufs(np.concatenate([pad, x, pad]))
    return np.asarray(x * np.float32(10 ** ((-19.0 - lufs) / 20)))


@pytest.fixture(scope="module")
def clips() -> Iterator[list[Signal]]:
    with open_booth("natural") as booth:
        yield [booth.clip(Line(text)).samples for text in TEXTS]


def stoi_in_a_full_hall(clip: Signal, played: Signal) -> float:
    noise = hall_noise(HALLS[-1], -19.0 - HALLS[-1].over_lu, STOI_RATE)
    heard = resample(played, SAMPLE_RATE, STOI_RATE)
    return Reference(resample(clip, SAMPLE_RATE, STOI_RATE)).stoi(heard + noise[: len(heard)])


def sibilance_db(x: Signal) -> float:
    """Return the loudest sibilants against the loud moments of 1 to 4 kHz, in 20 ms."""

    def moments(low: float, high: float) -> NDArray[np.float64]:
        band = signal.butter(4, (low, high), "bandpass", fs=SAMPLE_RATE, output="sos")
        sound = signal.sosfilt(band, x)
        return np.asarray((sound[: len(sound) // 960 * 960].reshape(-1, 960) ** 2).mean(axis=1))

    loudest, usual = np.percentile(moments(5e3, 9e3), 97), np.percentile(moments(1e3, 4e3), 90)
    return float(10 * np.log10(loudest / usual))


@pytest.mark.slow
def test_the_natural_voice_is_clearer_in_a_full_hall_at_equal_loudness(clips: list[Signal]) -> None:
    curve = CURVES["natural", VoiceSound.HALL]
    gains = [
        stoi_in_a_full_hall(clip, levelled(shaped(clip, curve)))
        - stoi_in_a_full_hall(clip, levelled(clip))
        for clip in clips
    ]
    assert min(gains) > 0.0
    assert np.median(gains) > 0.015


@pytest.mark.slow
def test_softer_sibilants_cost_no_words(clips: list[Signal]) -> None:
    gains = []
    for clip in clips:
        softer = levelled(shaped(clip, SOFTER))
        assert sibilance_db(clip) - sibilance_db(softer) > 4.0
        gains.append(stoi_in_a_full_hall(clip, softer) - stoi_in_a_full_hall(clip, levelled(clip)))
    assert np.median(gains) > -0.002
