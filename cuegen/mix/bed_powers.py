"""How loud a bed is from moment to moment: one number for every 20 ms of it.

Conventions
    A power is the mean K-weighted square of STEP samples, both channels added up;
    0 LUFS is UNIT_POWER. From these numbers alone the loudness of any stretch of a
    bed is told, however its parts are laid out along a track, without hearing it
    again. An hour takes 720 kB.

Source: ITU-R BS.1770-4 annex 1 (weighting, 400 ms blocks each 100 ms, both gates).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.signal import sosfilt

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.loudness import K_WEIGHTING
from cuegen.dsp.signal import Signal

STEP = samples_at(20)
CHANNELS = 2
UNIT_POWER = 10.0**0.0691
"""The power of 0 LUFS: BS.1770 takes 0.691 dB off."""

Powers = NDArray[np.float32]

_BLOCK_STEPS = 20
_HOP_STEPS = 5
_ABSOLUTE_GATE = 1e-7 * UNIT_POWER
_RELATIVE_GATE = 0.1
_UNIT = SAMPLE_RATE


class PowerMeter:
    """Takes the blocks of a signal (n, 2) and keeps its powers."""

    def __init__(self) -> None:
        self._state = np.zeros((len(K_WEIGHTING), CHANNELS, 2))
        self._rest = np.zeros((0, CHANNELS), dtype=np.float32)
        self._powers: list[Powers] = []
        self.length = 0

    def add(self, block: Signal) -> None:
        """Take the next samples."""
        self.length += len(block)
        waiting = np.concatenate([self._rest, block])
        whole = len(waiting) // STEP * STEP
        for start in range(0, whole, _UNIT):
            unit = waiting[start : min(start + _UNIT, whole)].T.astype(np.float64)
            weighted, self._state = sosfilt(K_WEIGHTING, unit, zi=self._state)
            squares = np.square(weighted, out=weighted).reshape(CHANNELS, -1, STEP)
            self._powers.append((squares.sum(axis=(0, 2)) / STEP).astype(np.float32))
        self._rest = waiting[whole:]

    def powers(self) -> Powers:
        """Return the power of every whole step so far."""
        return np.concatenate([*self._powers, np.zeros(0, dtype=np.float32)])


def gated_lufs(powers: Powers) -> float:
    """Return the gated loudness of a stretch, -inf where it is silent or under 400 ms."""
    blocks = _blocks(powers)[::_HOP_STEPS]
    blocks = blocks[blocks > _ABSOLUTE_GATE]
    if len(blocks) == 0:
        return -math.inf
    return _lufs(float(blocks[blocks > _RELATIVE_GATE * blocks.mean()].mean()))


def loudest_lufs(powers: Powers) -> float:
    """Return the loudest 400 ms of a stretch; a shorter one counts whole."""
    if len(powers) == 0:
        return -math.inf
    blocks = _blocks(powers)
    return _lufs(float(blocks.max() if len(blocks) else powers.mean()))


def _blocks(powers: Powers) -> NDArray[np.float64]:
    """Return the mean power of every 400 ms in a row."""
    if len(powers) < _BLOCK_STEPS:
        return np.zeros(0)
    sums = np.concatenate([[0.0], np.cumsum(powers, dtype=np.float64)])
    return np.asarray((sums[_BLOCK_STEPS:] - sums[:-_BLOCK_STEPS]) / _BLOCK_STEPS)


def _lufs(power: float) -> float:
    return 10.0 * math.log10(power / UNIT_POWER) if power > 0.0 else -math.inf
