"""STOI: how well speech can be understood in noise, from the clean speech and what is heard.

Conventions
    Signals are one channel at STOI_RATE, sample on sample with the clean speech. The
    measure lies between about 0.2 (noise alone) and 1 (nothing lost), falls with noise
    and does not depend on the level of either signal. It needs FEWEST_FRAMES frames of
    speech (0.4 s); pauses, frames 40 dB and more under the loudest, do not count.

Contents
    Reference      clean speech, prepared once for any number of noises
    words_share    about which part of the words of a sentence is understood

Why our own: one reference serves several noises, frames are worked on together and in
single precision, so that a line takes about a tenth of the time that the package
pystoi needs (measured), and every track can be measured. That package, a test
dependency, is what the values are held to, to 1e-5.

Sources: Taal, Hendriks, Heusdens, Jensen, "An algorithm for intelligibility prediction of
time-frequency weighted noisy speech", IEEE Trans. Audio, Speech, Lang. Process. 19(7), 2011
(definition, and the curve from STOI to words; its two numbers seen second-hand).
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.fft import rfft

from cuegen.dsp.signal import Signal

STOI_RATE = 10_000
FEWEST_FRAMES = 30

_FRAME = 256
_HOP = 128
_SPECTRUM = 512
_BANDS = 15
_LOWEST_HZ = 150.0
_PAUSE_DB = 40.0
_CLIP_DB = 15.0
_TINY = np.float32(np.finfo(np.float32).eps)
_SLOPE, _OFFSET = -17.4906, 9.6921
"""Of the logistic curve, for English sentences in noise (the IEEE sentences)."""

Reals = NDArray[np.float32]


class Reference:
    """Clean speech that noisy versions of it are compared with."""

    def __init__(self, clean: Signal) -> None:
        frames = _frames(clean.astype(np.float32))
        self._kept = _spoken(frames)
        self._length = len(clean)
        self._segments = _segments(_bands(_joined(frames[self._kept])))
        self._centred = _centred(self._segments)

    @property
    def long_enough(self) -> bool:
        """Return whether there is speech enough for the measure."""
        return len(self._segments) > 0

    def stoi(self, heard: Signal) -> float:
        """Return STOI of what is heard. Raises ValueError for another length or too few frames."""
        if len(heard) != self._length:
            raise ValueError(f"{len(heard)} samples are heard, {self._length} were spoken")
        if not self.long_enough:
            raise ValueError(f"STOI needs {FEWEST_FRAMES} frames of speech")
        frames = _frames(heard.astype(np.float32))[self._kept]
        segments = _segments(_bands(_joined(frames)))
        levelled = segments * (_norms(self._segments) / (_norms(segments) + _TINY))
        limited = np.minimum(levelled, self._segments * (1 + 10 ** (_CLIP_DB / 20)))
        agreed = np.einsum("rbf,rbf->", _centred(limited), self._centred)
        return float(agreed / math.prod(segments.shape[:2]))


def words_share(stoi: float) -> float:
    """Return about which part of the words of everyday sentences listeners get, 0 to 1."""
    return 1.0 / (1.0 + math.exp(_SLOPE * stoi + _OFFSET))


def _frames(sound: Reals) -> Reals:
    """Return the windowed frames (n, _FRAME); by the definition none ends on the last sample."""
    if len(sound) <= _FRAME:
        return np.zeros((0, _FRAME), dtype=np.float32)
    every = np.lib.stride_tricks.sliding_window_view(sound[:-1], _FRAME)[::_HOP]
    return np.asarray(every * _window())


@cache
def _window() -> Reals:
    return np.asarray(np.hanning(_FRAME + 2)[1:-1], dtype=np.float32)


def _spoken(frames: Reals) -> NDArray[np.bool_]:
    """Return which frames are speech, by their energy against the loudest."""
    if len(frames) == 0:
        return np.zeros(0, dtype=np.bool_)
    level = 20 * np.log10(np.linalg.norm(frames, axis=1) + _TINY)
    return np.asarray(level > level.max() - _PAUSE_DB)


def _joined(frames: Reals) -> Reals:
    """Return the sound of frames laid one after the other, half over half."""
    if len(frames) == 0:
        return np.zeros(0, dtype=np.float32)
    halves = np.zeros((len(frames) + 1, _HOP), dtype=np.float32)
    halves[:-1] += frames[:, :_HOP]
    halves[1:] += frames[:, _HOP:]
    return halves.reshape(-1)


def _bands(sound: Reals) -> Reals:
    """Return the amplitude of each third of an octave in each frame, (_BANDS, n)."""
    spectra = rfft(_frames(sound), _SPECTRUM)
    power = spectra.real**2 + spectra.imag**2
    edges = _edges()
    # Sums over runs of bins, and no matrix product: its threads would cost more than the sums.
    return np.asarray(np.sqrt(np.add.reduceat(power[:, : edges[-1]], edges[:-1], axis=1).T))


@cache
def _edges() -> NDArray[np.intp]:
    """Return the first bin of each third of an octave, and the one after the last."""
    hertz = np.linspace(0, STOI_RATE, _SPECTRUM + 1)[: _SPECTRUM // 2 + 1]
    wanted = _LOWEST_HZ * 2.0 ** ((2 * np.arange(_BANDS + 1) - 1) / 6)
    return np.asarray(np.abs(hertz - wanted[:, np.newaxis]).argmin(axis=1))


def _segments(bands: Reals) -> Reals:
    """Return each run of FEWEST_FRAMES frames, (runs, _BANDS, FEWEST_FRAMES)."""
    if bands.shape[1] < FEWEST_FRAMES:
        return np.zeros((0, _BANDS, FEWEST_FRAMES), dtype=np.float32)
    runs = np.lib.stride_tricks.sliding_window_view(bands, FEWEST_FRAMES, axis=1)
    return np.ascontiguousarray(runs.transpose(1, 0, 2))


def _centred(segments: Reals) -> Reals:
    moved = segments - segments.mean(axis=2, keepdims=True)
    return np.asarray(moved / (_norms(moved) + _TINY))


def _norms(segments: Reals) -> Reals:
    return np.asarray(np.sqrt(np.einsum("rbf,rbf->rb", segments, segments))[:, :, np.newaxis])
