"""The matched filter: to the fraction of a sample, through beds, codecs' noise and limiters."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from pyloudnorm import Meter
from scipy import signal

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.script.candidate import Line
from cuegen.verify.seek import SEEK_RATE, Found, at_rate, seek
from tests.voice.fake import FakeSpeaker

ROOM = samples_at(350)
CLIP = FakeSpeaker().clip(Line("Rate up, twenty-two, and settle there.")).samples
OTHER = FakeSpeaker().clip(Line("Rate up, twenty-four, and stay there.")).samples
SIGNAL = NDArray[np.float32]


def delayed(sound: SIGNAL, samples: float) -> NDArray[np.float64]:
    """Delay by any part of a sample: a phase ramp over the whole spectrum, in double precision."""
    size = 2 * len(sound)
    turn = np.exp(-2j * np.pi * np.fft.rfftfreq(size) * samples)
    return np.fft.irfft(np.fft.rfft(sound.astype(np.float64), size) * turn, size)


def window(samples: float = 0.0, gain: float = 1.0) -> SIGNAL:
    """Return a window whose planned place is ROOM, with CLIP `samples` later."""
    sound = np.zeros(len(CLIP) + 2 * ROOM)
    sound[ROOM:] = (
        gain
        * delayed(np.concatenate([CLIP, np.zeros(ROOM, np.float32)]), samples)[: len(CLIP) + ROOM]
    )
    return sound.astype(np.float32)


def sought(sound: SIGNAL) -> Found:
    columns = sound[:, np.newaxis] if sound.ndim == 1 else sound
    return seek(columns, CLIP, before=SEEK_RATE * 150 // 1000, after=SEEK_RATE * 300 // 1000)


def offset_ms(found: Found) -> float:
    return found.at * 1000 / SEEK_RATE - ROOM * 1000 / SAMPLE_RATE


def music(seed: int, length: int) -> NDArray[np.float64]:
    """Return chords that decay over a soft noise: a bed of our own."""
    rng = np.random.default_rng(seed)
    at = np.arange(length) / SAMPLE_RATE
    chord = sum(np.sin(2 * np.pi * hertz * at + hertz) for hertz in (110, 220, 277.2, 329.6, 880))
    hiss = signal.sosfilt(
        signal.butter(2, 3000, fs=SAMPLE_RATE, output="sos"), rng.normal(size=length)
    )
    return np.asarray(chord * np.exp(-(at % 0.6)) + hiss)


@settings(max_examples=25, deadline=None)
@given(st.floats(0, 9_000), st.floats(0.05, 2.0))
def test_a_clip_is_placed_within_a_tenth_of_a_microsecond(samples: float, gain: float) -> None:
    found = sought(window(samples, gain))
    assert offset_ms(found) == pytest.approx(samples * 1000 / SAMPLE_RATE, abs=1e-4)
    assert found.likeness > 0.999
    assert found.gain == pytest.approx(gain, rel=0.01)


def test_parts_are_as_long_as_a_short_word() -> None:
    """Of a part half of which is gone sqrt(1/2) is left; of one half as long nothing would be."""
    rng = np.random.default_rng(9)
    clip = (0.05 * rng.normal(size=samples_at(960))).astype(np.float32)
    broken = clip.copy()
    broken[samples_at(400) : samples_at(480)] = 0.0
    silence = np.zeros(ROOM, dtype=np.float32)
    sound = np.concatenate([silence, broken, silence])
    found = seek(sound[:, np.newaxis], clip, before=0, after=0)
    assert found.weakest == pytest.approx(0.71, abs=0.02)
    assert found.weakest_ms in (320, 400)


@pytest.mark.parametrize("seconds", [0.7, 1.75, 2.4, 3.4, 5.2, 8.2, 10.9])
def test_both_sounds_are_had_at_another_rate_however_long_the_window(seconds: float) -> None:
    """A tone keeps its pitch, its phase and its level: sin() knows what it should be."""
    length = samples_at(round(1000 * seconds)) - ROOM
    tone = np.sin(2 * np.pi * 3_000 * np.arange(length) / SAMPLE_RATE).astype(np.float32)
    window = np.concatenate([tone, np.zeros(ROOM, dtype=np.float32)])
    found = seek(window[:, np.newaxis], tone, before=0, after=0)
    wanted = np.sin(2 * np.pi * 3_000 * np.arange(length * 10 // 48) / 10_000)
    inner = slice(500, len(wanted) - 500)
    for spectrum in (found.track, found.planned):
        had = at_rate(spectrum, 10_000)[: len(wanted)]
        assert had[inner] == pytest.approx(wanted[inner], abs=0.01)


@pytest.mark.parametrize("samples", [0.0, 0.75, 1.5, 2.25, 3.0])
def test_a_sibilant_is_not_taken_for_one_a_wave_away(samples: float) -> None:
    """At 1.5 it lies midway between two of the 16,000 places a second, and is like neither."""
    rng = np.random.default_rng(5)
    band = signal.butter(6, (5_500, 7_600), "bandpass", fs=SAMPLE_RATE, output="sos")
    clip = (signal.sosfilt(band, rng.normal(size=samples_at(300)))).astype(np.float32)
    around = np.concatenate([np.zeros(ROOM), clip, np.zeros(ROOM)]).astype(np.float32)
    sound = delayed(around, samples)[: len(around)].astype(np.float32)
    found = seek(sound[:, np.newaxis], clip, before=0, after=0)
    assert offset_ms(found) == pytest.approx(samples * 1000 / SAMPLE_RATE, abs=0.001)
    assert found.likeness > 0.99


@pytest.mark.parametrize("below_db", [20.0, 6.0])
def test_a_bed_does_not_move_it(below_db: float) -> None:
    sound = window(481.0)
    bed = music(1, len(sound))
    scale = 10 ** (-below_db / 20) * np.sqrt(np.mean(CLIP**2) / np.mean(bed**2))
    found = sought((sound + scale * bed).astype(np.float32))
    assert offset_ms(found) == pytest.approx(481 / 48, abs=0.05)
    assert found.likeness > 0.85
    assert found.weakest > 0.5


@pytest.mark.parametrize("below_db", [26.0, 20.0, 12.0])
@pytest.mark.parametrize("channels", [1, 2])
def test_the_bed_is_as_loud_as_pyloudnorm_says(below_db: float, channels: int) -> None:
    """Both levels by pyloudnorm, the bed's over the whole window: within 1 dB.

    tests/verify/test_beds.py compares the same stretch.
    """
    sound = np.repeat(window()[:, np.newaxis], channels, axis=1).astype(np.float64)
    bed = np.stack([music(3 + side, len(sound)) for side in range(channels)], axis=1)
    meter = Meter(SAMPLE_RATE)
    speech_lufs = meter.integrated_loudness(sound)
    bed *= 10 ** ((speech_lufs - below_db - meter.integrated_loudness(bed)) / 20)
    found = sought((sound + bed).astype(np.float32))
    speech = 10 ** ((speech_lufs + 0.691) / 10)
    assert 10 * np.log10(speech / found.rest_power) == pytest.approx(below_db, abs=1.0)


def test_noise_that_follows_the_speech_is_no_bed() -> None:
    """As a codec makes it: noise under the envelope of the speech, 16 dB below."""
    sound = window()
    envelope = np.sqrt(signal.fftconvolve(sound**2, np.ones(480) / 480, mode="same").clip(0))
    noise = np.random.default_rng(2).normal(size=len(sound)) * envelope * 10 ** (-16 / 20)
    plain, noisy = sought(sound), sought((sound + noise).astype(np.float32))
    speech = 10 ** ((-19 + 0.691) / 10)
    assert plain.rest_power < speech / 1e5
    assert plain.coding == pytest.approx(0.0, abs=1e-4)
    bed = noisy.rest_power - noisy.coding * noisy.spoken_power
    assert bed < noisy.rest_power / 10
    assert 10 * np.log10(speech / noisy.rest_power) < 21


def test_a_limiter_that_bends_the_speech_is_no_bed() -> None:
    """Loud moments go down to 0.3, soft ones are left alone, over 24 ms as limiters move.

    Both levels by pyloudnorm, the bed 24 dB under the bent speech: within 1.5 dB.
    """
    hann = np.hanning(samples_at(24))
    loud = np.convolve(np.abs(window()), hann / hann.sum(), mode="same")
    bent = window() * np.maximum(0.3, 1.0 - 0.7 * loud / np.percentile(loud, 90))
    bed, meter = music(3, len(bent)), Meter(SAMPLE_RATE)
    speech_lufs = meter.integrated_loudness(bent)
    bed *= 10 ** ((speech_lufs - 24.0 - meter.integrated_loudness(bed)) / 20)
    found = sought((bent + bed).astype(np.float32))
    speech = 10 ** ((speech_lufs + 0.691) / 10)
    assert 10 * np.log10(speech / found.rest_power) == pytest.approx(24.0, abs=1.5)


def test_another_line_is_unlike() -> None:
    sound = np.zeros(len(CLIP) + 2 * ROOM, dtype=np.float32)
    sound[ROOM : ROOM + len(OTHER)] = OTHER[: len(sound) - ROOM]
    assert sought(sound).likeness < 0.3
    assert sought(np.zeros_like(sound)).likeness < 0.01


def test_a_part_that_was_replaced_is_found_and_placed() -> None:
    sound = window()
    first, last = ROOM + samples_at(1_000), ROOM + samples_at(1_250)
    sound[first:last] = OTHER[: last - first]
    found = sought(sound)
    assert found.likeness > 0.8
    assert found.weakest < 0.3
    assert 840 <= found.weakest_ms <= 1_250
