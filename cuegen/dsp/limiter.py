"""A look-ahead limiter: no true peak above a ceiling, and nothing touched where none would be.

Conventions
    Ceilings in dBTP. The gain of all channels is one, so a stereo picture stays
    where it is. Output and input lie sample on sample (the look-ahead is made up
    for), have the same length, and where no peak within REACH_SAMPLES exceeds the
    ceiling the output is the input, bit for bit. The signal is worked on in a
    fixed grid of its own samples: how it is cut into blocks changes nothing.

How it works: the gain that each sample would need (from the curve through the
samples, cuegen.dsp.truepeak) is held over a window, its minimum, and then
smoothed by a Hann window of the same length. A weighted mean of values none of
which is above the needed gain is not above it either, and it bends as slowly as
its window: no click, and no wobble at the pitch of a voice, whose periods are
shorter than the window.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import minimum_filter1d

from cuegen.dsp.signal import Signal, as_columns, gain_of
from cuegen.dsp.truepeak import HALF_TAPS, REACH, curve_peaks

SMOOTH = 576
"""Half the window that holds and smooths the gain, in samples: 12 ms."""

REACH_SAMPLES = 2 * SMOOTH + HALF_TAPS
"""How far a peak is felt on either side."""

SAFETY_DB = 0.02
"""Kept back for what a moving gain adds to the curve between two samples."""

_CHUNK = 8192
"""Samples worked on at a time."""

_WINDOW = np.hanning(2 * SMOOTH + 3)[1:-1]
_WINDOW /= _WINDOW.sum()


class StreamingLimiter:
    """Limits a signal that comes in blocks of shape (n, channels), or (n,) for one channel."""

    def __init__(self, channels: int, ceiling_dbtp: float) -> None:
        self._channels = channels
        self._ceiling = gain_of(ceiling_dbtp - SAFETY_DB)
        self._waiting = np.zeros((REACH_SAMPLES, channels), dtype=np.float32)
        self._given: list[Signal] = []
        self._given_length = 0

    def process(self, block: Signal) -> Signal:
        """Take the next samples, return those (m, channels) that are finished; m may be 0."""
        columns = as_columns(block)
        if columns.shape[1] != self._channels:
            raise ValueError(f"{columns.shape[1]} channels given to a limiter of {self._channels}")
        self._given.append(np.asarray(columns, dtype=np.float32))
        self._given_length += len(columns)
        if len(self._waiting) + self._given_length < _CHUNK + 2 * REACH_SAMPLES:
            return np.zeros((0, self._channels), dtype=np.float32)
        return self._work()

    def flush(self) -> Signal:
        """Return the samples that are left; the limiter is then as new."""
        left = len(self._waiting) + self._given_length - REACH_SAMPLES
        silence = np.zeros((_CHUNK + REACH_SAMPLES, self._channels), dtype=np.float32)
        rest = self.process(silence)[:left]
        self._waiting = np.zeros((REACH_SAMPLES, self._channels), dtype=np.float32)
        self._given, self._given_length = [], 0
        return rest

    def _work(self) -> Signal:
        """Finish every whole chunk whose surroundings are known."""
        known = np.concatenate([self._waiting, *self._given])
        finished = []
        start = 0
        while start + _CHUNK + 2 * REACH_SAMPLES <= len(known):
            finished.append(self._chunk(known[start : start + _CHUNK + 2 * REACH_SAMPLES]))
            start += _CHUNK
        self._waiting = known[start:].copy()
        self._given, self._given_length = [], 0
        return np.concatenate(finished)

    def _chunk(self, around: Signal) -> Signal:
        """Return the middle of `around`, limited; REACH_SAMPLES on each side are context."""
        middle = around[REACH_SAMPLES : len(around) - REACH_SAMPLES]
        if REACH * max(float(around.max()), -float(around.min())) <= self._ceiling:
            return middle
        needed = self._gain_needed(around)
        if needed.min() == 1.0:
            return middle
        gain = _smooth(needed)
        return np.asarray(middle * gain[:, np.newaxis], dtype=np.float32)

    def _gain_needed(self, around: Signal) -> NDArray[np.float64]:
        """Return the gain each sample of `around` needs, but for HALF_TAPS at each end."""
        highest = np.full(len(around) - 2 * HALF_TAPS, self._ceiling)
        for channel in around.T:
            # The curve is drawn whole only around the middle; the ends are its taps.
            peaks = curve_peaks(channel, self._ceiling)[HALF_TAPS:-HALF_TAPS]
            np.maximum(highest, peaks, out=highest)
        return self._ceiling / highest


def limit(x: Signal, ceiling_dbtp: float) -> Signal:
    """Return a whole signal, (n,) or (n, channels), with no true peak above the ceiling."""
    columns = as_columns(x)
    limiter = StreamingLimiter(columns.shape[1], ceiling_dbtp)
    limited = np.concatenate([limiter.process(columns), limiter.flush()])
    return limited.reshape(x.shape)


def _smooth(needed: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the smooth gain of the middle; 2 * SMOOTH samples fall off at each end."""
    held = minimum_filter1d(needed, 2 * SMOOTH + 1)[SMOOTH:-SMOOTH]
    # Smoothing what is taken away, not what is left, keeps an untouched gain at exactly 1.
    return np.asarray(1.0 - np.convolve(1.0 - held, _WINDOW, mode="valid"))
