"""From float samples to 16 bits with dither, so that what is lost is hiss and no distortion.

Conventions
    Full scale 1.0 is 32768 steps. The dither is the sum of two even random numbers, each
    one step wide (triangular): the error is then noise whose mean and power do not
    depend on the signal, 1/12 step^2 of rounding and 1/6 of dither, 1/4 in all: -93.3 dBFS.
    Digital silence stays silence: a sample that is 0 in every channel is not dithered.
    The same samples at the same place of a track give the same 16 bits, however the
    track is cut into blocks.

Sources: Lipshitz, Wannamaker, Vanderkooy, "Quantization and dither: a theoretical
survey", J. Audio Eng. Soc. 40(5), 1992 (from memory).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from cuegen.dsp.signal import Signal, as_columns

FULL_SCALE = 32_768
"""Steps in full scale."""

_SEED = 16
_GRID = 1 << 16
"""Dither is drawn for so many samples at a time, at fixed places of the track."""


def quantised(block: Signal, at: int) -> NDArray[np.int16]:
    """Return a block (n, channels) in 16 bits; `at` is the place of its first sample."""
    columns = as_columns(block)
    steps = columns * np.float32(FULL_SCALE)
    still = ~columns.any(axis=1)
    if not still.all():
        steps += _dither(at, len(columns), columns.shape[1])
    whole = np.clip(np.rint(steps), -FULL_SCALE, FULL_SCALE - 1)
    whole[still] = 0.0
    return np.asarray(whole, dtype=np.int16)


def _dither(at: int, length: int, channels: int) -> Signal:
    """Return the dither of a stretch of a track, in steps."""
    first, last = at // _GRID, (at + length - 1) // _GRID
    parts = [_drawn(number, channels) for number in range(first, last + 1)]
    drawn = parts[0] if len(parts) == 1 else np.concatenate(parts)
    start = at - first * _GRID
    return np.asarray(drawn[start : start + length])


@lru_cache(maxsize=4)
def _drawn(number: int, channels: int) -> Signal:
    rng = np.random.default_rng([_SEED, number])
    one, other = rng.random((2, _GRID, channels), dtype=np.float32)
    drawn: Signal = np.asarray(one - other)
    drawn.flags.writeable = False
    return drawn
