"""Loudness as ITU-R BS.1770-4 and EBU R 128 define it, measured while a signal streams by.

Conventions
    Loudness in LUFS, ranges in LU; full scale is 1.0; 48 kHz only, the rate for
    which BS.1770 prints its filter. One or two channels, each of weight 1.
    A meter keeps one number for every 20 ms, so its memory is small, and works
    on a fixed grid of the signal's own samples, so the way in which a signal is
    cut into blocks changes nothing, not even the last bit.

Contents
    LoudnessMeter     integrated, momentary, short-term, range (EBU Tech 3341, 3342)
    integrated_lufs   gated loudness of a whole signal

Sources: ITU-R BS.1770-4 annex 1 (filters, gates); EBU Tech 3341 (400 ms and 3 s
windows); EBU Tech 3342 (range: gates -70 LUFS and -20 LU, 10th to 95th percentile).
"""

from __future__ import annotations

import math
from array import array

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter, sos2tf

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.signal import Signal, as_columns

K_WEIGHTING = np.array(
    [
        [
            1.53512485958697,
            -2.69169618940638,
            1.19839281085285,
            1.0,
            -1.69065929318241,
            0.73248077421585,
        ],
        [1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621],
    ]
)
"""Head and high-pass filters at 48 kHz: BS.1770-4 annex 1, tables 1 and 2."""

_TAPS, _FEEDBACK = sos2tf(K_WEIGHTING)
"""Both as one filter of four poles, a quarter faster: samples differ by a part in 10^10 at most."""

_STEP = 960
"""Samples of one kept energy, 20 ms; momentary and short-term values follow in that step."""
_UNIT = 50 * _STEP
"""Samples filtered at a time."""
_STEPS_PER_HOP = 5
"""Gating blocks and the range move on by 100 ms."""
_MOMENTARY_STEPS = 20
_SHORT_TERM_STEPS = 150

_ABSOLUTE_GATE = -70.0
_RELATIVE_GATE = -10.0
_RANGE_GATE = -20.0
_STILL = 1e-15
"""Filter memory below which silence stays silence: its energy is far under the absolute gate."""

_Energies = NDArray[np.float64]


class LoudnessMeter:
    """Measures a signal that comes in blocks of shape (n,) or (n, channels)."""

    def __init__(self, channels: int, sample_rate: int = SAMPLE_RATE) -> None:
        if sample_rate != SAMPLE_RATE:
            raise ValueError(f"loudness is measured at {SAMPLE_RATE} Hz, not {sample_rate}")
        if channels not in (1, 2):
            raise ValueError(f"loudness is measured of one or two channels, not {channels}")
        self._channels = channels
        self._state = np.zeros((channels, len(_FEEDBACK) - 1))
        self._energies = array("d")
        self._pending: list[Signal] = []
        self._pending_length = 0

    def add(self, block: Signal) -> None:
        """Take the next samples of the signal."""
        columns = as_columns(block)
        if columns.shape[1] != self._channels:
            raise ValueError(f"{columns.shape[1]} channels given to a meter of {self._channels}")
        if len(columns) == 0:
            return
        self._pending.append(columns)
        self._pending_length += len(columns)
        if self._pending_length >= _UNIT:
            self._drain()

    def integrated(self) -> float:
        """Return the gated loudness of all so far, -inf where no block passes the gates."""
        powers = _windows(self._steps(), _MOMENTARY_STEPS, _STEPS_PER_HOP)
        powers = powers[_lufs(powers) > _ABSOLUTE_GATE]
        if len(powers) == 0:
            return -math.inf
        gate = _lufs(np.array([powers.mean()]))[0] + _RELATIVE_GATE
        return float(_lufs(np.array([powers[_lufs(powers) > gate].mean()]))[0])

    def momentary_max(self) -> float:
        """Return the loudest 400 ms, -inf before the first 400 ms and for silence."""
        return _loudest(_windows(self._steps(), _MOMENTARY_STEPS))

    def short_term_max(self) -> float:
        """Return the loudest 3 s, -inf before the first 3 s and for silence."""
        return _loudest(_windows(self._steps(), _SHORT_TERM_STEPS))

    def short_term_series(self) -> NDArray[np.float64]:
        """Return the loudness of the 3 s that start at 0, 100, 200... ms."""
        return _lufs(_windows(self._steps(), _SHORT_TERM_STEPS, _STEPS_PER_HOP))

    def range_lu(self) -> float:
        """Return the loudness range, 0 where no 3 s pass the gate."""
        powers = _windows(self._steps(), _SHORT_TERM_STEPS, _STEPS_PER_HOP)
        powers = powers[_lufs(powers) > _ABSOLUTE_GATE]
        if len(powers) == 0:
            return 0.0
        gate = _lufs(np.array([powers.mean()]))[0] + _RANGE_GATE
        passed = _lufs(powers[_lufs(powers) > gate])
        low, high = np.percentile(passed, [10, 95])
        return float(high - low)

    def _drain(self) -> None:
        """Filter the whole units among the samples that wait."""
        waiting = np.concatenate(self._pending)
        whole = len(waiting) // _UNIT * _UNIT
        for start in range(0, whole, _UNIT):
            energies, self._state = _weigh(waiting[start : start + _UNIT], self._state)
            self._energies.extend(energies)
        self._pending = [waiting[whole:].copy()]
        self._pending_length = len(waiting) - whole

    def _steps(self) -> _Energies:
        """Return the energy of every whole step so far, the waiting samples included."""
        steps = np.array(self._energies, dtype=np.float64)
        whole = self._pending_length // _STEP * _STEP
        if whole == 0:
            return steps
        energies, _ = _weigh(np.concatenate(self._pending)[:whole], self._state)
        return np.concatenate([steps, energies])


def integrated_lufs(x: Signal) -> float:
    """Return the gated loudness of a signal at 48 kHz; -inf under 400 ms, as for silence."""
    columns = as_columns(x)
    meter = LoudnessMeter(columns.shape[1])
    meter.add(columns)
    return meter.integrated()


def _weigh(unit: Signal, state: _Energies) -> tuple[_Energies, _Energies]:
    """Return the mean squares of the weighted steps, summed over channels, and the filter state."""
    count = len(unit) // _STEP
    if not unit.any() and np.abs(state).max() < _STILL:
        return np.zeros(count), np.zeros_like(state)
    rows = np.ascontiguousarray(unit.T, dtype=np.float64)
    weighted, after = lfilter(_TAPS, _FEEDBACK, rows, zi=state)
    steps = weighted.reshape(len(rows), count, _STEP)
    return np.einsum("cks,cks->k", steps, steps) / _STEP, after


def _windows(steps: _Energies, width: int, hop: int = 1) -> _Energies:
    """Return the mean power of `width` steps in a row, beginning at every `hop`-th step."""
    if len(steps) < width:
        return np.zeros(0)
    windows = np.lib.stride_tricks.sliding_window_view(steps, width)[::hop]
    return np.asarray(windows.mean(axis=1))


def _lufs(powers: _Energies) -> _Energies:
    with np.errstate(divide="ignore"):
        return np.asarray(-0.691 + 10.0 * np.log10(powers))


def _loudest(powers: _Energies) -> float:
    return float(_lufs(powers).max()) if len(powers) else -math.inf
