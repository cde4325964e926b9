"""True peak: the highest point of the curve through the samples, not of the samples alone.

Conventions
    Peaks in dBTP, full scale 1.0 = 0 dBTP. Four points are looked at for every
    sample: itself and three between it and the next, each from 24 samples around
    (96 taps; BS.1770-4 annex 2 asks for four-fold oversampling and prints 48).
    The filter is ours, a Kaiser-windowed sinc; the samples themselves are points of
    the curve.

Contents
    TruePeakMeter     of a signal that streams by
    true_peak_dbtp    of a whole signal
    curve_peaks       the peak around each sample, which a limiter needs

Source: ITU-R BS.1770-4 annex 2. Speech tracks are mostly silence, so a stretch
whose samples are so low that no curve through them could reach the peak found
so far is passed over: |curve| <= REACH * largest sample. That is exact.
"""

from __future__ import annotations

from functools import cache, reduce

import numpy as np
from numpy.typing import NDArray

from cuegen.dsp.signal import Signal, as_columns, db_of

OVERSAMPLING = 4
HALF_TAPS = 12
"""Samples on each side that the curve between two samples is drawn from."""

_TAPS = 2 * HALF_TAPS
_BETWEEN = OVERSAMPLING - 1
_FRAME = 16
"""Intervals worked out by one row of a matrix product; 16 was the fastest of 16 to 128."""
_CHUNK = 8_192
"""Samples that are looked at or passed over together."""


def _weights() -> NDArray[np.float32]:
    """Return (_BETWEEN, _TAPS): how each of 24 samples counts for each point between two."""
    samples = np.arange(_TAPS) - (HALF_TAPS - 1)
    points = np.arange(1, OVERSAMPLING)[:, np.newaxis] / OVERSAMPLING
    away = points - samples
    window = np.i0(7.0 * np.sqrt(1.0 - (away / HALF_TAPS) ** 2))
    weights = np.sinc(away) * window
    return np.asarray(weights / weights.sum(axis=1, keepdims=True), dtype=np.float32)


_WEIGHTS = _weights()
REACH = float(np.abs(_WEIGHTS).sum(axis=1).max())
"""How far above its samples the curve can rise at most: the largest sum of absolute weights."""


def curve_peaks(x: Signal) -> Signal:
    """Return for each sample of one channel (n,) the highest |curve| within one sample of it.

    What lies before and after `x` counts as silence.
    """
    between = _interval_peaks(x)
    return np.asarray(np.maximum(between[1:], between[:-1]))


class TruePeakMeter:
    """Measures a signal that comes in blocks of shape (n,) or (n, channels).

    Works on a fixed grid of the signal's own samples: its blocks change nothing.
    """

    def __init__(self, channels: int) -> None:
        self._channels = channels
        self._known = np.zeros((_TAPS, channels), dtype=np.float32)
        self._given: list[Signal] = []
        self._length = _TAPS
        self._peak = 0.0

    def add(self, block: Signal) -> None:
        """Take the next samples of the signal."""
        columns = as_columns(block)
        if columns.shape[1] != self._channels:
            raise ValueError(f"{columns.shape[1]} channels given to a meter of {self._channels}")
        self._given.append(columns)
        self._length += len(columns)
        if self._length < _CHUNK + _TAPS:
            return
        known = np.concatenate([self._known, *self._given])
        whole = (len(known) - _TAPS) // _CHUNK * _CHUNK
        self._peak = _peak_over(known[: whole + _TAPS], self._peak)
        self._known, self._given = known[whole:].copy(), []
        self._length = len(self._known)

    def dbtp(self) -> float:
        """Return the highest true peak so far, -inf for silence."""
        after = np.zeros((_TAPS, self._channels), dtype=np.float32)
        return db_of(_peak_over(np.concatenate([self._known, *self._given, after]), self._peak))


def true_peak_dbtp(x: Signal) -> float:
    """Return the true peak of a whole signal, -inf for silence."""
    columns = as_columns(x)
    meter = TruePeakMeter(columns.shape[1])
    meter.add(columns)
    return meter.dbtp()


def _peak_over(known: Signal, peak: float) -> float:
    """Return the larger of `peak` and the curve over `known`, but for 12 samples at each end."""
    inner = len(known) - _TAPS
    for start in range(0, inner, _CHUNK):
        part = known[start : min(start + _CHUNK, inner) + _TAPS]
        if REACH * max(float(part.max()), -float(part.min())) <= peak:
            continue
        for channel in part.T:
            # The curve drawn from `part` alone is right for these intervals only.
            right = _interval_peaks(channel)[HALF_TAPS:-HALF_TAPS]
            peak = max(peak, float(right.max()))
    return peak


def _interval_peaks(x: Signal) -> Signal:
    """Return the highest |curve| from each sample up to the next, n + 1 intervals.

    The first is the one before x[0]. One matrix product works out _FRAME intervals
    a row, several times faster than a filter run sample by sample.
    """
    intervals = len(x) + 1
    rows = -(-intervals // _FRAME)
    padded = np.zeros(rows * _FRAME + _TAPS - 1, dtype=np.float32)
    padded[HALF_TAPS : HALF_TAPS + len(x)] = x
    step = padded.itemsize
    frames = np.lib.stride_tricks.as_strided(
        padded, (rows, _FRAME + _TAPS - 1), (_FRAME * step, step), writeable=False
    )
    points = frames @ _frame_weights()
    np.abs(points, out=points)
    # Two by two: several times faster than a maximum along an axis of so few.
    peaks = reduce(np.maximum, np.split(points, _BETWEEN, axis=1))
    at_samples = np.abs(padded[HALF_TAPS - 1 : HALF_TAPS - 1 + intervals])
    return np.asarray(np.maximum(peaks.reshape(-1)[:intervals], at_samples))


@cache
def _frame_weights() -> NDArray[np.float32]:
    """Return the matrix from the samples around a frame to the points in its intervals."""
    matrix = np.zeros((_FRAME + _TAPS - 1, _BETWEEN * _FRAME), dtype=np.float32)
    for point in range(_BETWEEN):
        for interval in range(_FRAME):
            column = point * _FRAME + interval
            matrix[interval : interval + _TAPS, column] = _WEIGHTS[point]
    return matrix
