"""The sounds that a bed of our own is made from: held chords and soft strokes of a mallet.

Conventions
    Chords are loops of LOOP samples (n, 2) without a seam: drawn as spectra whose
    every line is a whole number of periods long. Struck sounds are (n,), for both
    channels. Both are levelled by their K-weighted power: a chord has 0 LUFS, a
    struck sound 0 LUFS over its loudest 400 ms' worth of energy. Nothing of weight
    sounds above 3 kHz. The same samples in every process.

Pitches are in whole ratios over A (110 Hz). ROOM_HZ, the pitches of the stroke
tones (cuegen.mix.tones), are left free in chords, so that the tones are heard.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import sosfreqz

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.loudness import K_WEIGHTING
from cuegen.dsp.signal import Signal
from cuegen.mix.bed_powers import CHANNELS, STEP, UNIT_POWER, Powers
from cuegen.voice.clip import Samples

LOOP = 4 * SAMPLE_RATE
ROOM_HZ = ((330.0, 45.0), (660.0, 60.0))
"""Pitches that are left free, and how far around them."""

STRIKE_S = 0.4
"""The energy of a struck sound is that of 0 LUFS over so long."""

_HARMONICS = 12
_WIDE_DB = -12.0
"""The share of a pitch's power that wavers beside it: as of several players."""

Notes = tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Struck:
    """A struck sound. powers: what it adds to each 20 ms from its start on, both channels."""

    samples: Samples
    powers: Powers


@cache
def chord(notes: Notes, cutoff_hz: float, quarters: int) -> Signal:
    """Return a held chord as a seamless loop (LOOP, 2), 0 LUFS; darker for a lower cutoff.

    quarters: by how many quarters of a period each pitch is turned. Chords that are a
    quarter apart add up in power, whatever pitches they share.
    """
    spectrum = np.zeros((CHANNELS, LOOP // 2 + 1), dtype=np.complex128)
    for note in notes:
        for harmonic in range(1, _HARMONICS + 1):
            hertz = note * harmonic
            level = harmonic**-1.3 / (1.0 + (hertz / cutoff_hz) ** 4) * _free(hertz)
            if level > 1e-4:
                _add_pitch(spectrum, hertz, level)
    spectrum *= 1j**quarters
    weighted = np.abs(spectrum * _k_response()) ** 2
    power = 2.0 * float(weighted.sum())  # a line of height h is a wave of peak 2 h
    loop = np.fft.irfft(spectrum * LOOP, axis=1) * np.sqrt(UNIT_POWER / power)
    return np.ascontiguousarray(loop.T, dtype=np.float32)


def _add_pitch(spectrum: NDArray[np.complex128], hertz: float, level: float) -> None:
    """Add one pitch: a line in the middle, the same on both sides, and a haze that is not."""
    middle = round(hertz * LOOP / SAMPLE_RATE)
    width = max(2, round((0.4 + 0.004 * hertz) * LOOP / SAMPLE_RATE))
    chance = np.random.default_rng(middle)  # a pitch keeps its phase from chord to chord
    spectrum[:, middle] += level * np.exp(2j * np.pi * chance.random())
    beside = np.array([step for step in range(-2 * width, 2 * width + 1) if step])
    heights = np.exp(-0.5 * (beside / width) ** 2)
    heights *= level * np.sqrt(10.0 ** (_WIDE_DB / 10.0) / np.square(heights).sum())
    turns = chance.random((CHANNELS, len(beside)))
    spectrum[:, middle + beside] += heights * np.exp(2j * np.pi * turns)


def _free(hertz: float) -> float:
    """Return how much of a pitch may sound beside those that are left free."""
    return float(
        np.prod([1.0 - np.exp(-(((hertz - room) / width) ** 2)) for room, width in ROOM_HZ])
    )


@cache
def _k_response() -> NDArray[np.float64]:
    hertz = np.arange(LOOP // 2 + 1) * (SAMPLE_RATE / LOOP)
    return np.asarray(np.abs(sosfreqz(K_WEIGHTING, hertz, fs=SAMPLE_RATE)[1]))


@cache
def mallet(hertz: float) -> Struck:
    """Return a pitch struck softly: it swells within 10 ms and is gone after 0.6 s."""
    at = np.arange(samples_at(600)) / SAMPLE_RATE
    tone = np.sin(2 * np.pi * hertz * at) * np.exp(-at / 0.16)
    tone += 0.22 * np.sin(4 * np.pi * hertz * at) * np.exp(-at / 0.06)
    return _struck(tone, rise_ms=10)


@cache
def thump() -> Struck:
    """Return a low, felted stroke that falls from 190 to 95 Hz, gone after 0.45 s."""
    at = np.arange(samples_at(450)) / SAMPLE_RATE
    turns = 95.0 * at + 95.0 * 0.03 * (1.0 - np.exp(-at / 0.03))
    return _struck(np.sin(2 * np.pi * turns) * np.exp(-at / 0.10), rise_ms=12)


def _struck(tone: NDArray[np.float64], rise_ms: int) -> Struck:
    length = len(tone)
    rise = np.minimum(1.0, np.arange(1, length + 1) / samples_at(rise_ms))
    shaped = tone * np.sin(np.pi / 2 * rise) ** 2 * np.cos(np.pi / 2 * np.arange(length) / length)
    squares = CHANNELS * _weighted_squares(shaped)
    scale = UNIT_POWER * STRIKE_S * SAMPLE_RATE / float(squares.sum())
    powers = squares[: length // STEP * STEP].reshape(-1, STEP).mean(axis=1) * scale
    samples = np.asarray(shaped * np.sqrt(scale), dtype=np.float32)
    return Struck(samples, powers.astype(np.float32))


def _weighted_squares(tone: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the squares of a K-weighted sound, without what the filter adds after its end."""
    size = 2 * len(tone)
    hertz = np.arange(size // 2 + 1) * (SAMPLE_RATE / size)
    response = sosfreqz(K_WEIGHTING, hertz, fs=SAMPLE_RATE)[1]
    weighted = np.fft.irfft(np.fft.rfft(tone, size) * response, size)[: len(tone)]
    return np.asarray(np.square(weighted))
