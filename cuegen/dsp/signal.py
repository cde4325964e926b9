"""What a signal is: float32, full scale 1.0, shape (n,) for one channel or (n, channels)."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Signal = NDArray[np.float32]


def as_columns(x: Signal) -> Signal:
    """Return a (n, channels) view of a signal of shape (n,) or (n, channels)."""
    if x.ndim == 1:
        return x[:, np.newaxis]
    if x.ndim != 2:
        raise ValueError(f"a signal has one or two axes, not {x.ndim}")
    return x


def gain_of(db: float) -> float:
    """Return the amplitude factor of a change in decibels."""
    return float(10.0 ** (db / 20.0))


def db_of(amplitude: float) -> float:
    """Return an amplitude in decibels, -inf for 0."""
    return 20.0 * math.log10(amplitude) if amplitude > 0.0 else -math.inf
