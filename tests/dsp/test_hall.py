"""The described hall, heard by other meters: loudness, octaves, strokes, a loop without a seam."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from pyloudnorm import Meter
from scipy import signal

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.hall import (
    CENTRES_HZ,
    FASTEST_SPM,
    HALLS,
    LOOP_S,
    SLOWEST_SPM,
    SPECTRA,
    SWING_DB,
    Hall,
    hall_noise,
)
from cuegen.dsp.signal import Signal
from cuegen.dsp.stoi import STOI_RATE

WHEEL = Hall("one wheel", machines=1, air_db=-200.0, over_lu=0.0)
AIR = Hall("air alone", machines=1, air_db=200.0, over_lu=0.0)


def octaves(noise: Signal) -> NDArray[np.float64]:
    """Return the level of each octave in dB, by SciPy's Welch spectrum."""
    hertz, power = signal.welch(noise, SAMPLE_RATE, nperseg=1 << 15)
    half = 2**0.5
    return np.array(
        [10 * np.log10(power[(hertz >= c / half) & (hertz < c * half)].sum()) for c in CENTRES_HZ]
    )


def envelope_db(noise: Signal) -> NDArray[np.float64]:
    """Return the level of each 100 ms in dB."""
    frames = noise.astype(np.float64).reshape(-1, SAMPLE_RATE // 10)
    return np.asarray(10 * np.log10(np.mean(frames**2, axis=1)))


@pytest.mark.parametrize("hall", HALLS, ids=lambda hall: hall.name)
def test_it_is_as_loud_as_asked(hall: Hall) -> None:
    """pyloudnorm 0.2.0: within 0.1 LU."""
    heard = Meter(SAMPLE_RATE).integrated_loudness(hall_noise(hall, -24.0, SAMPLE_RATE))
    assert heard == pytest.approx(-24.0, abs=0.1)


@pytest.mark.parametrize(("hall", "source"), [(WHEEL, "wheel"), (AIR, "air")])
def test_each_octave_has_the_level_of_the_table(hall: Hall, source: str) -> None:
    """Against the octave of 1 kHz, within 1 dB: the density bends inside an octave."""
    found, table = octaves(hall_noise(hall, -24.0, SAMPLE_RATE)), np.array(SPECTRA[source])
    one_khz = CENTRES_HZ.index(1_000)
    assert np.abs((found - found[one_khz]) - (table - table[one_khz])).max() < 1.0


def test_a_machine_swings_with_its_strokes() -> None:
    levels = envelope_db(hall_noise(WHEEL, -24.0, SAMPLE_RATE))
    swing = np.percentile(levels, 98) - np.percentile(levels, 2)
    assert swing == pytest.approx(SWING_DB, abs=1.5)
    turns = np.abs(np.fft.rfft(levels - levels.mean()))
    strokes = int(np.argmax(turns))
    assert SLOWEST_SPM <= strokes * 60 / LOOP_S <= FASTEST_SPM


def test_a_full_hall_swings_less_than_one_machine() -> None:
    full = envelope_db(hall_noise(replace(HALLS[-1], air_db=-200.0), -24.0, SAMPLE_RATE))
    one = envelope_db(hall_noise(WHEEL, -24.0, SAMPLE_RATE))
    assert full.std() < one.std() / 2


def test_the_loop_joins_on_to_its_beginning() -> None:
    """The step over the seam is one like any other."""
    noise = hall_noise(HALLS[1], -24.0, SAMPLE_RATE)
    steps = np.abs(np.diff(noise))
    assert abs(float(noise[0] - noise[-1])) <= np.percentile(steps, 99.9)


def test_a_lower_sample_rate_holds_the_same_noise_up_to_its_half() -> None:
    """Welch spectra from 200 Hz to 4 kHz: within 0.3 dB together."""
    powers = []
    for rate in (STOI_RATE, SAMPLE_RATE):
        hertz, power = signal.welch(hall_noise(HALLS[2], -24.0, rate), rate, nperseg=rate // 5)
        powers.append(power[(hertz >= 200) & (hertz <= 4_000)].mean())
    assert 10 * np.log10(powers[0] / powers[1]) == pytest.approx(0.0, abs=0.3)


def test_it_is_the_same_noise_every_time() -> None:
    first = hall_noise(HALLS[0], -30.0, STOI_RATE)
    hall_noise.cache_clear()
    assert (hall_noise(HALLS[0], -30.0, STOI_RATE) == first).all()


def test_halls_stand_in_order_of_noise() -> None:
    """What is read of a report: the last is the hardest."""
    assert [hall.over_lu for hall in HALLS] == sorted((h.over_lu for h in HALLS), reverse=True)
    assert len({hall.name for hall in HALLS}) == len(HALLS)
