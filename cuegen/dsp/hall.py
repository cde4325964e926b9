"""The noise of a rowing hall, made from a described spectrum: what speech has to get through.

Conventions
    One channel, LOOP_S seconds that join on to their own beginning, the same samples
    every time. Levels of bands in dB against each other; how far speech lies over the
    noise in LU (ITU-R BS.1770, both through the same filter). Nothing here says how
    loud a hall is in dB(A): no file can.

Contents
    SPECTRA, HALLS    the description
    hall_noise        its sound, at a loudness

The description is our own, from what is common knowledge of such machines (common
practice, no source; no recording was used):
    wheel    an air-braked fly wheel is a fan that blows against its cage: broad-band,
             strongest in the middle, falling above. It runs up in the drive and down
             in the recovery, so its level swings once a stroke.
    air      ventilation: steady, falling by 5 dB an octave, the slope of the curves by
             which such noise is rated (room criteria; from memory).
    room     machines in one room are not in time: each has its own rate and its own
             moment, so a full hall swings less than one machine.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import sosfreqz

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.loudness import K_WEIGHTING
from cuegen.dsp.signal import Signal

LOOP_S = 30
CENTRES_HZ = (63, 125, 250, 500, 1_000, 2_000, 4_000, 8_000)

SPECTRA: dict[str, tuple[float, ...]] = {
    "wheel": (-14.0, -8.0, -2.0, 0.0, -1.0, -4.0, -9.0, -15.0),
    "air": (0.0, -5.0, -10.0, -15.0, -20.0, -25.0, -30.0, -35.0),
}
"""Level of each octave around CENTRES_HZ, in dB against the strongest."""

SWING_DB = 8.0
"""From the end of the drive to the end of the recovery, of one machine."""

SLOWEST_SPM, FASTEST_SPM = 16, 28
LOWEST_HZ, HIGHEST_HZ = 20.0, 20_000.0
"""Where the noise begins and ends."""

_SEED = 20_261
_OFFSET_DB = -0.691
_STEPS_A_SECOND = 100
_Reals = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Hall:
    """A room: its machines, its ventilation's power against one machine's, and how far
    speech lies over it all."""

    name: str
    machines: int
    air_db: float
    over_lu: float


HALLS: tuple[Hall, ...] = (
    Hall("a quiet studio", machines=1, air_db=0.0, over_lu=20.0),
    Hall("a room with a few machines", machines=4, air_db=3.0, over_lu=10.0),
    Hall("a full hall", machines=20, air_db=6.0, over_lu=3.0),
)
"""Quietest first. How far speech lies over the noise is our own judgement: in a quiet room it
is easily turned up so far; in a full one it has to be little more than the machines, for
the sake of ears and neighbours."""


@cache
def hall_noise(hall: Hall, lufs: float, sample_rate: int) -> Signal:
    """Return a hall's noise at an integrated loudness, up to half the sample rate.

    The loudness is that of the whole noise, whatever part of it the sample rate holds.
    """
    rng = np.random.default_rng([_SEED, hall.machines])
    length = LOOP_S * sample_rate
    wheels = _shaped(rng, "wheel", length, sample_rate) * _strokes(rng, hall.machines, length)
    air = _shaped(rng, "air", length, sample_rate) * math.sqrt(_air_power(hall))
    weighted = hall.machines * _weighted_power("wheel") + _air_power(hall) * _weighted_power("air")
    gain = 10 ** ((lufs - _OFFSET_DB) / 20) / math.sqrt(weighted)
    sound = ((wheels + air) * gain).astype(np.float32)
    sound.flags.writeable = False
    return sound


def density(levels: tuple[float, ...], hertz: _Reals) -> _Reals:
    """Return the power of 1 Hz at each frequency, so that octaves have these levels.

    It runs in straight lines from centre to centre (dB against octaves), on with the
    last slope outside, and ends at LOWEST_HZ and HIGHEST_HZ.
    """
    octaves = np.log2(np.array(CENTRES_HZ, dtype=np.float64))
    widths = np.array(CENTRES_HZ) / math.sqrt(2)
    level = np.array(levels) - 10 * np.log10(widths)
    at = np.log2(np.maximum(hertz, 1.0))
    below = np.minimum(at - octaves[0], 0.0) * (level[1] - level[0])
    above = np.maximum(at - octaves[-1], 0.0) * (level[-1] - level[-2])
    power = 10 ** ((np.interp(at, octaves, level) + below + above) / 10)
    return np.asarray(np.where((hertz >= LOWEST_HZ) & (hertz <= HIGHEST_HZ), power, 0.0))


def _air_power(hall: Hall) -> float:
    """Return the power of a hall's ventilation, against one machine's, before any filter."""
    of_one = _power("wheel") / _power("air")
    return float(of_one * 10 ** (hall.air_db / 10))


@cache
def _power(source: str) -> float:
    hertz = np.arange(0.0, HIGHEST_HZ + 1)
    return float(density(SPECTRA[source], hertz).sum())


@cache
def _weighted_power(source: str) -> float:
    """Return a source's power after the K filter."""
    hertz = np.arange(0.0, HIGHEST_HZ + 1)
    _, response = sosfreqz(K_WEIGHTING, worN=hertz, fs=SAMPLE_RATE)
    return float(density(SPECTRA[source], hertz) @ np.abs(response) ** 2)


def _shaped(rng: np.random.Generator, source: str, length: int, sample_rate: int) -> _Reals:
    """Return Gaussian noise of a source's density, whose end joins its beginning."""
    spread = _spread(source, length, sample_rate)
    parts = rng.standard_normal((2, len(spread)))
    return np.asarray(np.fft.irfft((parts[0] + 1j * parts[1]) * spread, length))


@lru_cache(maxsize=2)
def _spread(source: str, length: int, sample_rate: int) -> _Reals:
    """Return the deviation of both parts of each bin of such a noise, for all halls."""
    hertz = np.fft.rfftfreq(length, 1 / sample_rate).astype(np.float64)
    return np.asarray(np.sqrt(density(SPECTRA[source], hertz) * sample_rate * length / 4))


def _strokes(rng: np.random.Generator, machines: int, length: int) -> _Reals:
    """Return the gain of all machines together along the loop; its mean power is their number.

    Each makes a whole number of strokes at a rate of its own. Independent noises of one
    spectrum add up to one noise whose power is the sum of theirs.
    """
    slowest, fastest = (rate * LOOP_S // 60 for rate in (SLOWEST_SPM, FASTEST_SPM))
    turn = np.linspace(0.0, 2 * np.pi, LOOP_S * _STEPS_A_SECOND + 1)
    power = np.zeros(len(turn))
    for _ in range(machines):
        strokes, moment = int(rng.integers(slowest, fastest + 1)), rng.random()
        power += 10 ** (SWING_DB / 2 * np.cos(strokes * turn + 2 * np.pi * moment) / 10)
    gain = np.sqrt(power * (machines / power[:-1].mean()))
    at = np.linspace(0.0, 2 * np.pi, length, endpoint=False)
    return np.asarray(np.interp(at, turn, gain))
