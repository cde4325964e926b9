"""A sound through a curve of gain over frequency: presence up, boom and sibilants down.

Conventions
    One channel. Curves are points (Hz, dB), straight between them over log frequency,
    level outside. The filter is symmetric and its delay made up for: what lies on a
    sample stays on it, and the length stays. Loudness changes; finished clips are
    levelled afterwards (cuegen.voice.finishing). Which curves there are and what they
    were measured to be worth: cuegen.voice.characters.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import firwin2, oaconvolve

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.signal import Signal

_HALF_MS = 10.7
"""Taps on each side: no longer than what is kept before a clip's first word."""
_GRID = 400


def shaped(
    sound: Signal, curve: tuple[tuple[float, float], ...], sample_rate: int = SAMPLE_RATE
) -> Signal:
    """Return a sound (n,) through a curve, sample on sample."""
    if len(sound) == 0 or not curve:
        return sound
    taps = _filter(curve, sample_rate)
    half = len(taps) // 2
    whole = oaconvolve(sound, taps)
    return np.asarray(whole[half : half + len(sound)], dtype=np.float32)


@cache
def _filter(curve: tuple[tuple[float, float], ...], sample_rate: int) -> NDArray[np.float32]:
    """Return a symmetric filter of an odd number of taps whose gain follows a curve."""
    hertz = np.geomspace(10.0, sample_rate / 2, _GRID)
    points = np.array(curve, dtype=np.float64)
    db = np.interp(np.log(hertz), np.log(points[:, 0]), points[:, 1])
    places = np.concatenate([[0.0], hertz / (sample_rate / 2)])
    half = round(_HALF_MS * sample_rate / 1000)
    taps = firwin2(2 * half + 1, places, 10 ** (np.concatenate([db[:1], db]) / 20))
    return np.asarray(taps, dtype=np.float32)
