"""What a voice's spectrum needs: less rumble and boom, presence, softer sibilants.

Conventions
    One channel at SAMPLE_RATE. Curves are (Hz, dB) points, straight between them over
    log frequency, level outside. The filter is symmetric and its delay made up for:
    what lies on a sample stays on it, and the length stays. Loudness changes; finished
    clips are levelled afterwards (cuegen.voice.finishing).

Contents
    VoiceSound, CURVES    the table, by voice
    shaped                a sound through a curve

Measured on 47 lines of examples/harbour-build.yaml, levelled and limited as finished clips
are. STOI in a full hall (cuegen.dsp.hall): median, worst line; 0.023 of it is worth 1 LU of
speech over the noise. s: the loudest sibilants (5 to 9 kHz) against the loud moments of
1 to 4 kHz, in dB.

    voice      as it is               softer                 hall
    natural    0.823 0.754 s -0.7     0.828 0.760 s -6.3     0.848 0.789 s -7.3
    piper      0.813 0.755 s -6.4     (as it is)             0.824 0.767 s -7.1
    small      0.834 0.775 s -7.4     (as it is)             0.814 0.745 with natural's curve

So the natural voice hisses 6 dB more than the others; taking that away costs no words.
Beyond it, a curve for halls is worth 1.1 LU to that voice and half of one to piper. The
small voice, whose spectrum is that of a hall already, is left alone. A high-pass by
itself (-12 dB at 60 Hz, 0 at 120) moves STOI by less than 0.003 in any voice. At equal
loudness the curves raise peaks by up to 2.5 dB, which the limiter of finishing takes down.
"""

from __future__ import annotations

from enum import StrEnum
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import firwin2, oaconvolve

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.signal import Signal

Curve = tuple[tuple[float, float], ...]

_HALF = 512
"""Taps on each side, 10.7 ms: no more than what is kept before a clip's first word."""
_GRID = 400


class VoiceSound(StrEnum):
    """What a voice is shaped for."""

    PLAIN = "plain"
    HALL = "hall"


SOFTER: Curve = ((4_500.0, 0.0), (6_000.0, -6.0))
"""Sibilants 6 dB down, nothing else."""

CURVES: dict[tuple[str, VoiceSound], Curve] = {
    ("natural", VoiceSound.PLAIN): SOFTER,
    ("natural", VoiceSound.HALL): (
        (60.0, -12.0),
        (110.0, -2.0),
        (190.0, -3.0),
        (240.0, -3.0),
        (500.0, -1.0),
        (700.0, 0.0),
        (1_500.0, 2.0),
        (4_000.0, 2.0),
        (5_000.0, 0.0),
        (6_500.0, -6.0),
    ),
    ("piper", VoiceSound.HALL): (
        (60.0, -12.0),
        (120.0, 0.0),
        (1_000.0, 0.0),
        (2_000.0, 3.0),
        (4_000.0, 3.0),
        (6_000.0, 0.0),
    ),
}
"""By voice; what is not named is left as it is."""


def shaped(sound: Signal, curve: Curve) -> Signal:
    """Return a sound (n,) through a curve, sample on sample."""
    if len(sound) == 0 or not curve:
        return sound
    whole = oaconvolve(sound, _filter(curve))
    return np.asarray(whole[_HALF : _HALF + len(sound)], dtype=np.float32)


@cache
def _filter(curve: Curve) -> NDArray[np.float32]:
    """Return a symmetric filter of 2 * _HALF + 1 taps whose gain follows a curve."""
    hertz = np.geomspace(10.0, SAMPLE_RATE / 2, _GRID)
    points = np.array(curve, dtype=np.float64)
    db = np.interp(np.log(hertz), np.log(points[:, 0]), points[:, 1])
    places = np.concatenate([[0.0], hertz / (SAMPLE_RATE / 2)])
    taps = firwin2(2 * _HALF + 1, places, 10 ** (np.concatenate([db[:1], db]) / 20))
    return np.asarray(taps, dtype=np.float32)
