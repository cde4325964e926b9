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

Source: ITU-R BS.1770-4 annex 2.

What cannot matter is passed over, and nothing else: the curve is drawn only where it
could rise above what the caller asks for (the peak found so far, a limiter's ceiling).
Between two samples it is the straight line between them and a remainder that hangs on
how sharply the signal bends, so
    |curve| <= REACH * the largest sample among its 24, and
    |curve| <= STRAIGHT * the larger of the two + BENT * the largest second difference.
The first passes over silence, the second all of speech and most of music: a frame of 16
in some hundreds is left. Both are sums of absolute weights, which no signal can exceed.
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
"""Intervals worked out, or passed over, by one row of a matrix product; 16 was the fastest
of 16 to 128. More than HALF_TAPS, so a frame's taps lie in it and the two beside it."""
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

_ROUNDING = 1.0 + 1e-5
"""What sums of 24 products in 32 bits may add, and more."""


def _line_and_bend() -> tuple[float, float]:
    """Return STRAIGHT and BENT: how the two samples beside a point and the bends count for it.

    Weights less those of the straight line, summed up once, count first differences; what
    of these is no bend is put on the one in the middle; summed up again, they count bends.
    """
    slopes, bends = [], []
    for point, weights in enumerate(_WEIGHTS.astype(np.float64), start=1):
        share = point / OVERSAMPLING
        weights[HALF_TAPS - 1 : HALF_TAPS + 1] -= (1 - share, share)
        first = np.cumsum(weights)[:-1]
        slopes.append(abs(first.sum()))
        first[HALF_TAPS - 1] -= first.sum()
        bends.append(np.abs(np.cumsum(first)).sum())
    return (1.0 + 2.0 * max(slopes)) * _ROUNDING, max(bends) * _ROUNDING


STRAIGHT, BENT = _line_and_bend()


def curve_peaks(x: Signal, least: float = 0.0) -> Signal:
    """Return for each sample of one channel (n,) the highest |curve| within one sample of it.

    What lies before and after `x` counts as silence. Where no point of the curve is above
    `least`, another value up to `least` may stand for it.
    """
    between = _interval_peaks(x, least)
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
            inside = channel[HALF_TAPS:-HALF_TAPS]
            peak = max(peak, float(inside.max()), -float(inside.min()))
            # The curve drawn from `part` alone is right for these intervals only.
            right = _interval_peaks(channel, peak)[HALF_TAPS:-HALF_TAPS]
            peak = max(peak, float(right.max()))
    return peak


def _interval_peaks(x: Signal, least: float) -> Signal:
    """Return the highest |curve| from each sample up to the next, n + 1 intervals.

    The first is the one before x[0]. Where it cannot be above `least`, only the sample
    is looked at. One matrix product works out _FRAME intervals a row, several times
    faster than a filter run sample by sample.
    """
    intervals = len(x) + 1
    rows = -(-intervals // _FRAME)
    padded = np.zeros((rows + 2) * _FRAME + 2, dtype=np.float32)
    padded[HALF_TAPS : HALF_TAPS + len(x)] = x
    step = padded.itemsize
    frames = np.lib.stride_tricks.as_strided(
        padded, (rows, _FRAME + _TAPS - 1), (_FRAME * step, step), writeable=False
    )
    peaks = np.abs(padded[HALF_TAPS - 1 :][: rows * _FRAME]).reshape(rows, _FRAME)
    drawn = np.flatnonzero(_highest_possible(padded, rows) > least)
    if len(drawn):
        points = frames[drawn] @ _frame_weights()
        np.abs(points, out=points)
        # Two by two: several times faster than a maximum along an axis of so few.
        peaks[drawn] = reduce(np.maximum, np.split(points, _BETWEEN, axis=1), peaks[drawn])
    return np.asarray(peaks.reshape(-1)[:intervals])


def _highest_possible(padded: Signal, rows: int) -> Signal:
    """Return what |curve| cannot exceed in each frame; interval 0 is after padded[11]."""
    bends = np.abs(padded[2:] + padded[:-2] - 2 * padded[1:-1])
    bend = _over_frames(bends, rows + 2)
    near = np.maximum(np.maximum(bend[:-2], bend[1:-1]), bend[2:])
    sizes = np.abs(padded[HALF_TAPS - 1 :])
    # The last interval of a frame ends at the first sample of the next.
    ends = np.maximum(_over_frames(sizes, rows), sizes[_FRAME::_FRAME][:rows])
    return np.asarray(np.float32(STRAIGHT) * ends + np.float32(BENT) * near)


def _over_frames(values: Signal, frames: int) -> Signal:
    """Return the largest of each _FRAME values."""
    left: Signal = values[: frames * _FRAME]
    while len(left) > frames:
        left = np.maximum(left[0::2], left[1::2])
    return left


@cache
def _frame_weights() -> NDArray[np.float32]:
    """Return the matrix from the samples around a frame to the points in its intervals."""
    matrix = np.zeros((_FRAME + _TAPS - 1, _BETWEEN * _FRAME), dtype=np.float32)
    for point in range(_BETWEEN):
        for interval in range(_FRAME):
            column = point * _FRAME + interval
            matrix[interval : interval + _TAPS, column] = _WEIGHTS[point]
    return matrix
