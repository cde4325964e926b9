"""The loudness of any stretch is told from its powers as libebur128 hears it."""

from __future__ import annotations

import numpy as np
import pyebur128
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.signal import Signal
from cuegen.mix.bed_powers import STEP, PowerMeter, Powers, gated_lufs, loudest_lufs
from tests.mix.beds import loudness, music, noise


def powers_of(x: Signal, block: int = SAMPLE_RATE) -> Powers:
    meter = PowerMeter()
    for start in range(0, len(x), block):
        meter.add(x[start : start + block])
    return meter.powers()


def sine(seconds: float, dbfs: float) -> Signal:
    at = np.arange(round(seconds * SAMPLE_RATE)) / SAMPLE_RATE
    tone = 10 ** (dbfs / 20) * np.sin(2 * np.pi * 1_000 * at)
    return np.stack([tone, tone], axis=1).astype(np.float32)


@pytest.mark.parametrize(
    ("signal", "lufs"),
    [
        (sine(20, -23), -23.0),
        (np.concatenate([sine(10, -36), sine(60, -23), sine(10, -36)]), -23.0),
        (np.concatenate([sine(20, -26), sine(20.1, -20), sine(20, -26)]), -23.0),
    ],
)
def test_gated_loudness_of_the_ebu_tones(signal: Signal, lufs: float) -> None:
    """EBU Tech 3341, signals 1, 3 and 5: within 0.1 LU."""
    assert gated_lufs(powers_of(signal)) == pytest.approx(lufs, abs=0.1)


@pytest.mark.parametrize("x", [music(13), noise(13, 5), music(9) + noise(9, 2, 0.01)])
def test_as_libebur128_hears_it(x: Signal) -> None:
    assert gated_lufs(powers_of(x)) == pytest.approx(loudness(x), abs=0.05)


def test_loudest_400_ms_as_libebur128_hears_them() -> None:
    x = np.concatenate([music(4), 3 * music(2), music(4)])
    state = pyebur128.R128State(2, SAMPLE_RATE, pyebur128.MeasurementMode.MODE_M)
    heard = []
    for start in range(0, len(x) - STEP, STEP):
        state.add_frames(np.ascontiguousarray(x[start : start + STEP]).reshape(-1), STEP)
        heard.append(pyebur128.get_loudness_momentary(state))
    assert loudest_lufs(powers_of(x)) == pytest.approx(max(heard), abs=0.05)


@settings(max_examples=20, deadline=None)
@given(st.integers(1, 100_000))
def test_the_way_it_is_cut_changes_nothing(block: int) -> None:
    x = music(3.01)
    assert powers_of(x, block) == pytest.approx(powers_of(x), rel=1e-5)


def test_silence_and_next_to_nothing_have_no_loudness() -> None:
    silent = powers_of(np.zeros((SAMPLE_RATE, 2), dtype=np.float32))
    assert gated_lufs(silent) == loudest_lufs(silent) == -np.inf
    assert gated_lufs(powers_of(music(0.3))) == -np.inf
    assert loudest_lufs(powers_of(music(0.3))) > -40
    assert loudest_lufs(powers_of(music(0.001))) == -np.inf
