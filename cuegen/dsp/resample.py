"""A change of sample rate by polyphase filtering, linear phase and without delay.

The low-pass is a Kaiser-windowed sinc: 96 dB of stop band from the lower of the
two Nyquist frequencies on, pass band to 0.91 of it. Instants stay where they
were: an event at sample k of the input lies at k * to_rate / from_rate.
"""

from __future__ import annotations

from functools import lru_cache
from math import gcd

import numpy as np
from numpy.typing import NDArray
from scipy.signal import firwin, resample_poly

from cuegen.dsp.signal import Signal

_ZEROS = 36
"""Zero crossings of the sinc on each side."""

_BETA = 9.6
"""Kaiser shape for 96 dB (Kaiser 1974: 0.1102 (A - 8.7))."""

_PASS = 0.957
"""Middle of the transition band, as part of the lower Nyquist frequency."""


def resample(x: Signal, from_rate: int, to_rate: int) -> Signal:
    """Return `x` (n,) or (n, channels) at `to_rate`; ceil(n * to_rate / from_rate) samples."""
    if from_rate <= 0 or to_rate <= 0:
        raise ValueError(f"sample rates are positive, not {from_rate} and {to_rate}")
    samples = np.asarray(x, dtype=np.float32)
    if from_rate == to_rate or len(samples) == 0:
        return samples
    shared = gcd(from_rate, to_rate)
    up, down = to_rate // shared, from_rate // shared
    changed = resample_poly(samples, up, down, axis=0, window=_low_pass(up, down))
    return np.asarray(changed, dtype=np.float32)


@lru_cache(maxsize=8)
def _low_pass(up: int, down: int) -> NDArray[np.float32]:
    widest = max(up, down)
    taps = firwin(2 * _ZEROS * widest + 1, _PASS / widest, window=("kaiser", _BETA))
    return np.asarray(taps, dtype=np.float32)
