"""What is put right in a take before anything is cut: hum and rumble.

Conventions
    Sound is mono at SAMPLE_RATE. The high-pass runs forwards and backwards, so no instant
    moves. What is measured of noise is measured after repair, since that is what will
    be heard.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfiltfilt

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.takes.cuts import Piece, loudness_curve, pieces_of, quiet_spans, speaking
from cuegen.takes.hum import Hum, find_hum, without_hum
from cuegen.voice.clip import Samples

RUMBLE_HZ = 75.0
"""Corner of the high-pass, run twice: 3 dB down at 80 Hz, under 0.1 dB from 135 Hz on
(footfall, traffic and a fan lie below; the lowest voices begin at about 85 Hz)."""

_PAD_MS = 200


@dataclass(frozen=True, slots=True, eq=False)
class Repaired:
    """sound: without hum and rumble. pieces: where it speaks. quiet: where it surely does not."""

    sound: Samples
    hum: Hum | None
    pieces: tuple[Piece, ...]
    quiet: tuple[Piece, ...]


def repaired(sound: Samples) -> Repaired:
    """Return a take without its hum and rumble, and where it speaks."""
    flags = speaking(loudness_curve(sound, SAMPLE_RATE))
    hum = find_hum(sound, SAMPLE_RATE, quiet_spans(flags))
    if hum is not None:
        sound = without_hum(sound, SAMPLE_RATE, hum)
    clean = without_rumble(sound, SAMPLE_RATE)
    if hum is not None:
        flags = speaking(loudness_curve(clean, SAMPLE_RATE))
    return Repaired(clean, hum, pieces_of(flags), _inside(quiet_spans(flags), len(clean)))


def without_rumble(sound: Samples, rate: int) -> Samples:
    """Return a sound without what lies under a voice; nothing in it moves."""
    if len(sound) == 0:
        return sound
    pad = min(samples_at(_PAD_MS, rate), len(sound) - 1)
    return np.asarray(sosfiltfilt(_high_pass(rate), sound, padlen=pad), dtype=np.float32)


def for_the_aligner(sound: Samples, rate: int) -> Samples:
    """Return a stretch of a longer recording without its hum and rumble."""
    hum = find_hum(sound, rate, quiet_spans(speaking(loudness_curve(sound, rate))))
    return without_rumble(sound if hum is None else without_hum(sound, rate, hum), rate)


def _inside(spans: Sequence[Piece], samples: int) -> tuple[Piece, ...]:
    """Return spans that end with the sound at the latest; steps may reach beyond it."""
    end_ms = samples * 1000 // SAMPLE_RATE
    cut = (Piece(span.start_ms, min(span.end_ms, end_ms)) for span in spans)
    return tuple(span for span in cut if span.length_ms > 0)


@lru_cache(maxsize=4)
def _high_pass(rate: int) -> NDArray[np.float64]:
    return np.asarray(butter(4, RUMBLE_HZ, "highpass", fs=rate, output="sos"))
