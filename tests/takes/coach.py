"""A coach for tests: the natural voice, recorded as people record, with a truth that is known.

A take is the voice's finished clip, whose first word begins LEAD_MS in, between pauses of
known length; room noise, mains hum, a constant offset and a level are laid over it. So
the onset of its first word is known from how it was built, and nothing of cuegen.takes
is asked.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.io import wavfile

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.schedule.cuesheet import LEAD_MS
from cuegen.voice.clip import Samples

HUM = ((1, 0.020), (2, 0.012), (3, 0.008), (4, 0.004), (5, 0.004), (7, 0.003))
"""Multiples of the mains and their amplitudes: about 16 dB under the speech, clearly heard."""

Sound = NDArray[np.float64]


@dataclass(frozen=True)
class Room:
    """How a take is recorded. hum: scale of HUM; mains: its frequency. gain_db: of everything."""

    mains: float = 50.0
    hum: float = 0.0
    noise_dbfs: float = -75.0
    offset: float = 0.0
    gain_db: float = 0.0
    seed: int = 0


def recorded(clip: Samples, lead_ms: int, tail_ms: int, room: Room = Room()) -> Sound:
    """Return a clip as it comes out of a recorder, in the room, between two pauses."""
    lead, tail = np.zeros(samples_at(lead_ms)), np.zeros(samples_at(tail_ms))
    return in_room(np.concatenate([lead, clip.astype(np.float64), tail]), room)


def in_room(sound: Sound, room: Room) -> Sound:
    rng = np.random.default_rng(room.seed)
    at = np.arange(len(sound)) / SAMPLE_RATE
    hum = sum(
        amplitude * np.sin(2 * np.pi * multiple * room.mains * at + rng.uniform(0, 2 * np.pi))
        for multiple, amplitude in HUM
    )
    noise = 10 ** (room.noise_dbfs / 20) * rng.standard_normal(len(sound))
    return np.asarray((sound + room.hum * hum + noise + room.offset) * 10 ** (room.gain_db / 20))


def onset_ms(lead_ms: int) -> int:
    """Return where the first word of `recorded` begins."""
    return lead_ms + LEAD_MS


def save(path: Path, sound: Sound, rate: int = SAMPLE_RATE) -> Path:
    """Write 16-bit samples, cut off at full scale as a recorder does; not with our writer."""
    whole = np.clip(np.rint(sound * 32_768), -32_768, 32_767).astype("<i2")
    wavfile.write(path, rate, whole)
    return path


def lag_ms(take: Samples, clip: Samples) -> float:
    """Return how much later a finished take says its words than the clean clip (correlation)."""
    size = len(take) + len(clip)
    spectrum = np.fft.rfft(take, size) * np.conj(np.fft.rfft(clip, size))
    best = int(np.argmax(np.fft.irfft(spectrum, size)))
    return (best - size if best > size // 2 else best) * 1000 / SAMPLE_RATE
