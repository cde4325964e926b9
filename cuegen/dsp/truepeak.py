"""True peak: the highest point of the curve through the samples, not of the samples alone.

Conventions
    Peaks in dBTP, full scale 1.0 = 0 dBTP. Four points are looked at for every
    sample: itself and three between it and the next, each from 24 samples around
    (96 taps; BS.1770-4 annex 2 asks for four-fold oversampling and prints 48).
    The filter is ours, a Kaiser-windowed sinc whose every fourth tap is 0, so
    the samples themselves are points of the curve.

Contents
    TruePeakMeter     of a signal that streams by
    true_peak_dbtp    of a whole signal
    curve_peaks       the peak around each sample, which a limiter needs

Source: ITU-R BS.1770-4 annex 2. Speech tracks are mostly silence, so a stretch
whose samples are so low that no curve through them could reach the peak found
so far is passed over: |curve| <= REACH * largest sample. That is exact.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.signal import upfirdn

from cuegen.dsp.signal import Signal, as_columns, db_of

OVERSAMPLING = 4
HALF_TAPS = 12
"""Samples on each side that the curve between two samples is drawn from."""


def _interpolator() -> NDArray[np.float32]:
    reach = HALF_TAPS * OVERSAMPLING
    at = np.arange(-reach + 1, reach)
    taps = np.sinc(at / OVERSAMPLING) * np.kaiser(2 * reach + 1, 7.0)[1:-1]
    for phase in range(OVERSAMPLING):
        taps[phase::OVERSAMPLING] /= taps[phase::OVERSAMPLING].sum()
    return np.asarray(taps, dtype=np.float32)


_TAPS = _interpolator()
REACH = float(max(np.abs(_TAPS[phase::OVERSAMPLING]).sum() for phase in range(OVERSAMPLING)))
"""How far above its samples the curve can rise at most: the largest L1 norm of a phase."""

_CHUNK = 2048
"""Samples that are looked at or passed over together."""


def curve_peaks(x: Signal) -> Signal:
    """Return for each sample of one channel (n,) the highest |curve| within one sample of it.

    What lies before and after `x` counts as silence.
    """
    curve = np.abs(_curve(x))
    between = curve.reshape(-1, OVERSAMPLING).max(axis=1)
    return np.asarray(np.maximum(between[1:], between[:-1]))


class TruePeakMeter:
    """Measures a signal that comes in blocks of shape (n,) or (n, channels)."""

    def __init__(self, channels: int) -> None:
        self._tails = np.zeros((2 * HALF_TAPS, channels), dtype=np.float32)
        self._peak = 0.0

    def add(self, block: Signal) -> None:
        """Take the next samples of the signal."""
        columns = as_columns(block)
        if columns.shape[1] != self._tails.shape[1]:
            raise ValueError(
                f"{columns.shape[1]} channels given to a meter of {self._tails.shape[1]}"
            )
        if len(columns) == 0:
            return
        joined = np.concatenate([self._tails, columns])
        self._look(joined)
        self._tails = joined[-2 * HALF_TAPS :].copy()

    def dbtp(self) -> float:
        """Return the highest true peak so far, -inf for silence."""
        after = np.zeros_like(self._tails)
        self._look(np.concatenate([self._tails, after]))
        return db_of(self._peak)

    def _look(self, joined: Signal) -> None:
        """Raise the peak to that of the curve over `joined`, known to all but its ends."""
        inner = len(joined) - 2 * HALF_TAPS
        for start in range(0, inner, _CHUNK):
            part = joined[start : min(start + _CHUNK, inner) + 2 * HALF_TAPS]
            bound = REACH * max(float(part.max()), -float(part.min()))
            if bound > self._peak:
                self._raise_to(part)

    def _raise_to(self, part: Signal) -> None:
        # The curve drawn from `part` alone is whole between its HALF_TAPS-th
        # sample from each end; what lies outside belongs to the parts beside it.
        for channel in part.T:
            curve = _curve(np.ascontiguousarray(channel))
            first = HALF_TAPS * OVERSAMPLING
            whole = curve[first : len(curve) - first]
            self._peak = max(self._peak, float(whole.max()), -float(whole.min()))


def true_peak_dbtp(x: Signal) -> float:
    """Return the true peak of a whole signal, -inf for silence."""
    columns = as_columns(x)
    meter = TruePeakMeter(columns.shape[1])
    meter.add(columns)
    return meter.dbtp()


def _curve(x: Signal) -> Signal:
    """Return the oversampled curve from one sample before `x` to its last, 4 (n + 1) points."""
    full = upfirdn(_TAPS, x, up=OVERSAMPLING)
    first = (HALF_TAPS - 1) * OVERSAMPLING - 1
    return np.asarray(full[first : first + OVERSAMPLING * (len(x) + 1)])
