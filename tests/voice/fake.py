"""A voice that never speaks: finished clips of known length, made from the text alone.

Conventions
    A line's clip lasts exactly `fake_length_ms(line)` and keeps every promise of
    cuegen.voice.clip: first sound LEAD_MS after sample 0, CLIP_LUFS, true peak
    below -2 dBTP. Its samples are band-limited noise under a syllable-like
    envelope, drawn from a generator seeded by the line, so that two different
    lines never correlate and the same line is the same in every process. The
    level is measured by pyloudnorm, not by the package's own meter.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from pyloudnorm import Meter
from scipy import signal

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.schedule.cuesheet import LEAD_MS
from cuegen.script.candidate import Line
from cuegen.voice.clip import CLIP_LUFS, Clip, Samples

FAKE_BASE_MS = 250
FAKE_MS_PER_CHARACTER = 55

_PAD = samples_at(400)
_FADE = samples_at(5)
_SYLLABLE_MS = 180
_BAND_HZ = (150.0, 6000.0)


def fake_length_ms(line: Line) -> int:
    """Return (250 ms + 55 ms a character) / speed, rounded half up."""
    return int((FAKE_BASE_MS + FAKE_MS_PER_CHARACTER * len(line.text)) / line.speed + 0.5)


class FakeSpeaker:
    """A Speaker in memory. `asked` counts the clips handed out, for tests of laziness."""

    def __init__(self) -> None:
        self.asked = 0

    def length_ms(self, line: Line) -> int:
        return fake_length_ms(line)

    def clip(self, line: Line) -> Clip:
        self.asked += 1
        return Clip(line, _fake_samples(line))


@lru_cache(maxsize=512)
def _fake_samples(line: Line) -> Samples:
    """Return the finished samples of a line; read-only, since every caller shares them."""
    seed = hashlib.sha256(f"{line.text}\0{line.speed:.6f}".encode()).digest()
    rng = np.random.default_rng(list(seed))
    lead = samples_at(LEAD_MS)
    sounding = samples_at(fake_length_ms(line)) - lead
    band = signal.butter(4, _BAND_HZ, "bandpass", fs=SAMPLE_RATE, output="sos")
    noise = signal.sosfilt(band, rng.standard_normal(sounding + SAMPLE_RATE // 10))[-sounding:]
    voice = np.concatenate([np.zeros(lead), noise * _envelope(sounding, rng)])
    samples = _levelled(voice).astype(np.float32)
    samples.flags.writeable = False
    return samples


def _envelope(length: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Return a syllable rhythm between 0.3 and 1, loud at its first sample, faded at its end."""
    syllables = max(2, round(length / samples_at(_SYLLABLE_MS)) + 1)
    heights = np.where(np.arange(syllables) % 2, 0.3, 1.0) * rng.uniform(0.8, 1.0, syllables)
    envelope = np.interp(np.linspace(0, syllables - 1, length), np.arange(syllables), heights)
    envelope[-_FADE:] *= np.linspace(1, 0, _FADE)
    return envelope


def _levelled(voice: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the voice at CLIP_LUFS, heard with the silence that stands around a line."""
    meter = Meter(SAMPLE_RATE)
    limit = 3.2 * np.sqrt(np.mean(voice**2))
    voice = limit * np.tanh(voice / limit)
    around = np.zeros(_PAD)
    heard = float(meter.integrated_loudness(np.concatenate([around, voice, around])))
    return voice * float(10 ** ((CLIP_LUFS - heard) / 20))
