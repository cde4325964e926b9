"""Mains hum: measured in the pauses, taken away as what it is, a few steady tones.

Conventions
    Hum is a tone of 50 or 60 Hz, give or take DRIFT_HZ, and its multiples. Amplitudes
    are of full scale. A tone counts only where it stands clear over what lies halfway
    between two multiples; where none does, there is no hum and a sound is left as it
    was, bit for bit.

How it is taken away: the tones are fitted to the pauses by least squares, with the
frequency that fits best, and subtracted from the whole take. Unlike a notch filter
this leaves the voice alone even where it sings on a multiple of the mains.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import median_filter
from scipy.optimize import minimize_scalar
from scipy.signal import butter, sosfiltfilt, sosfreqz

from cuegen.clock import samples_at
from cuegen.dsp.resample import resample
from cuegen.dsp.signal import Signal
from cuegen.takes.cuts import Piece

MAINS_HZ = (50.0, 60.0)
DRIFT_HZ = 0.3
HIGHEST_HZ = 1_500.0
LEAST_PAUSE_MS = 120
"""Pauses shorter than this in all tell nothing of tones 50 Hz apart."""

CLEAR_DB = 11.0
"""A tone stands so far over the usual tone between two multiples, or is none."""

FAINTEST_DBFS = -90.0
WEAKEST_DB = 20.0
"""Hum that lies so far under what else is in the pauses is chance, or does not matter."""

SHORTEST_PAUSE_MS = 60
_NOTHING = 1e-12
_FIT_RATE = 6_000
_LOUDEST_TONES = 10
_SEARCHED = 1_500
_MOST_TRIED = 121

_RUMBLE_HZ = 35.0
_HIGH_PASS = butter(4, _RUMBLE_HZ, "highpass", fs=_FIT_RATE, output="sos")
"""What rumbles below the mains would be fitted by it; run both ways, it moves nothing."""

Tones = NDArray[np.complex128]
Powers = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Hum:
    """hertz: the mains. tones: the amplitude of each multiple from the first on, 0 for none."""

    hertz: float
    tones: Tones

    @property
    def level_dbfs(self) -> float:
        """Return the root mean square of all tones, in dB of full scale."""
        return 10 * math.log10(float(np.sum(np.abs(self.tones) ** 2)) / 2 + 1e-30)

    @property
    def mains(self) -> int:
        """Return 50 or 60."""
        return int(min(MAINS_HZ, key=lambda hertz: abs(hertz - self.hertz)))


def find_hum(sound: Signal, rate: int, pauses: Sequence[Piece]) -> Hum | None:
    """Return the hum in the pauses of a sound, None where there is none or nobody can tell."""
    if sum(pause.length_ms for pause in pauses) < LEAST_PAUSE_MS or len(sound) < rate // 10:
        return None
    small = np.asarray(sosfiltfilt(_HIGH_PASS, resample(sound, rate, _FIT_RATE)))
    spans = [_span(pause, len(small)) for pause in pauses]
    at = np.concatenate([np.arange(*span) for span in spans])
    found = [_fitted(small, at, spans, mains) for mains in MAINS_HZ]
    return max((hum for hum in found if hum), key=lambda hum: hum.level_dbfs, default=None)


def without_hum(sound: Signal, rate: int, hum: Hum) -> Signal:
    """Return a sound without the tones of a hum that was found in it."""
    first = np.exp(2j * np.pi * hum.hertz / rate * np.arange(len(sound)))
    turning, tones = first.copy(), np.zeros(len(sound))
    for amplitude in np.trim_zeros(hum.tones, "b"):
        if amplitude:
            tones += (amplitude * turning).real
        turning *= first
    return np.asarray(sound - tones, dtype=np.float32)


def _passed(hertz: NDArray[Any]) -> NDArray[np.float64]:
    """Return what the high-pass, run twice, leaves of a tone's amplitude."""
    return np.asarray(np.abs(sosfreqz(_HIGH_PASS, hertz, fs=_FIT_RATE)[1]) ** 2)


def _span(pause: Piece, length: int) -> tuple[int, int]:
    first = min(samples_at(pause.start_ms, _FIT_RATE), length)
    return first, min(samples_at(pause.end_ms, _FIT_RATE), length)


def _fitted(
    small: NDArray[np.float64], at: NDArray[np.int64], spans: list[tuple[int, int]], mains: float
) -> Hum | None:
    """Return the hum of one mains frequency; at: the samples of the pauses."""
    multiples = np.arange(1, int(HIGHEST_HZ / mains) + 1)
    powers, clear = _multiples(small, spans, mains, multiples)
    if not clear.any():
        return None
    loudest = multiples[clear][np.argsort(powers[clear])[-_LOUDEST_TONES:]]
    hertz = _best_frequency(small, at, mains, loudest)
    tones = np.zeros(len(multiples), dtype=np.complex128)
    amplitudes = _fit(small[at], at, hertz, multiples[clear])[0]
    tones[clear] = amplitudes / _passed(hertz * multiples[clear])
    hum = Hum(hertz, tones)
    pause_dbfs = 10 * math.log10(float(np.mean(small[at] ** 2)) + _NOTHING)
    return hum if hum.level_dbfs > max(FAINTEST_DBFS, pause_dbfs - WEAKEST_DB) else None


def _multiples(
    small: NDArray[np.float64],
    spans: list[tuple[int, int]],
    mains: float,
    multiples: NDArray[np.int64],
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return how strong each multiple is, and whether it stands clear over what is halfway.

    Power is added up pause by pause, so that a mains some tenths of a hertz off counts
    whole. Where none of the first three is clear, the others are some other tone.
    """
    there, between = np.zeros(len(multiples)), np.zeros(len(multiples))
    for first, last in spans:
        if last - first >= _FIT_RATE * SHORTEST_PAUSE_MS // 1000:
            part, count = small[first:last], len(multiples)
            there += (last - first) * _powers(part, mains, count, 0.0)
            between += (last - first) * _powers(part, mains, count, 0.5)
    usual = median_filter(between, size=7, mode="nearest")
    clear = there > np.maximum(usual * 10 ** (CLEAR_DB / 10), _NOTHING)
    return there, clear & clear[:3].any()


def _powers(part: NDArray[np.float64], mains: float, multiples: int, shift: float) -> Powers:
    """Return the power of the first so many multiples, each `shift` of the mains higher."""
    window = np.hanning(len(part) + 2)[1:-1]
    turn = -2j * np.pi * mains / _FIT_RATE * np.arange(len(part))
    first = np.exp(turn)
    turning = np.exp((1 + shift) * turn) * (part * window / window.sum())
    powers = np.empty(multiples)
    for number in range(multiples):
        powers[number] = np.abs(turning.sum()) ** 2
        turning *= first
    return powers


def _best_frequency(
    small: NDArray[np.float64], at: NDArray[np.int64], mains: float, multiples: NDArray[np.int64]
) -> float:
    """Return the mains frequency, within DRIFT_HZ, that leaves least in the pauses.

    Some samples drawn from all pauses are enough for that, and much quicker. The grid is
    close enough for the highest tone to turn by a quarter, from one end to the other, in a step.
    """
    rng = np.random.default_rng(0)
    some = np.sort(rng.choice(at, min(len(at), _SEARCHED), replace=False))
    heard = small[some]

    def left(hertz: float) -> float:
        return _fit(heard, some, hertz, multiples)[1]

    turns = (int(at[-1]) - int(at[0])) / _FIT_RATE * float(multiples.max()) * DRIFT_HZ
    grid = mains + np.linspace(-DRIFT_HZ, DRIFT_HZ, min(9 + 2 * int(4 * turns), _MOST_TRIED))
    best = float(grid[int(np.argmin([left(float(hertz)) for hertz in grid]))])
    step = float(grid[1] - grid[0])
    return float(minimize_scalar(left, bounds=(best - step, best + step), method="bounded").x)


def _fit(
    heard: NDArray[np.float64], at: NDArray[np.int64], hertz: float, multiples: NDArray[np.int64]
) -> tuple[Tones, float]:
    """Return the amplitudes of the tones that fit best, and the power that is left."""
    turn = 2 * np.pi * hertz / _FIT_RATE * np.outer(at, multiples)
    basis = np.concatenate([np.cos(turn), -np.sin(turn)], axis=1)
    weights = np.linalg.lstsq(basis.T @ basis, basis.T @ heard, rcond=None)[0]
    rest = heard - basis @ weights
    half = len(multiples)
    return weights[:half] + 1j * weights[half:], float(rest @ rest)
