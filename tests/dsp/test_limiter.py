"""What a limiter promises, for any signal and any cut of it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.limiter import REACH_SAMPLES, SMOOTH, StreamingLimiter, limit
from cuegen.dsp.signal import Signal
from cuegen.dsp.truepeak import true_peak_dbtp
from tests.dsp.signals import cuts, in_blocks, silence, sine, speech_like, stereo


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    ceiling=st.floats(-12.0, -0.5),
    over_db=st.floats(-6.0, 20.0),
    bumps=st.integers(1, 8),
)
def test_no_true_peak_above_the_ceiling(
    seed: int, ceiling: float, over_db: float, bumps: int
) -> None:
    """Noise up to 10 kHz in bursts, up to 20 dB too loud."""
    rng = np.random.default_rng(seed)
    x = speech_like(1.5, seed, dbfs=0.0)
    x *= rng.uniform(0, 1, bumps).repeat(-(-len(x) // bumps))[: len(x)]
    x *= 10 ** ((ceiling + over_db) / 20) / max(float(np.abs(x).max()), 1e-9)
    assert true_peak_dbtp(limit(x.astype(np.float32), ceiling)) <= ceiling


def test_white_noise_and_full_scale_square_waves_obey_too() -> None:
    """The samples furthest from any recording, where the curve rises most."""
    noise = np.random.default_rng(1).uniform(-2, 2, SAMPLE_RATE).astype(np.float32)
    square = np.sign(sine(1, 0.0, 6_001.0)) * np.float32(0.99)
    assert true_peak_dbtp(limit(noise, -1.0)) <= -1.0
    assert true_peak_dbtp(limit(square, -1.0)) <= -1.0


@pytest.mark.parametrize("loud", [0, 1])
def test_one_loud_channel_is_enough(loud: int) -> None:
    """And both go down together, so the picture stays where it is."""
    x = np.full((SAMPLE_RATE, 2), 0.1, dtype=np.float32)
    x[:, loud] = sine(1, 0.0, 440.0)
    limited = limit(x, -6.0)
    assert true_peak_dbtp(limited) <= -6.0
    middle = slice(SAMPLE_RATE // 4, -SAMPLE_RATE // 4)
    assert limited[middle, 1 - loud].max() == pytest.approx(0.05, rel=0.02)


@settings(max_examples=20, deadline=None)
@given(lengths=cuts(), channels=st.sampled_from([1, 2]))
def test_blocks_change_nothing(lengths: list[int], channels: int) -> None:
    x = _LOUD[:, :channels]
    whole = limit(x, -3.0)
    limiter = StreamingLimiter(channels, -3.0)
    parts: list[Signal] = []
    in_blocks(x, lengths, lambda block: parts.append(limiter.process(block)))
    assert (np.concatenate([*parts, limiter.flush()]) == whole).all()


_LOUD = np.stack([speech_like(1.7, 1, -3.0), speech_like(1.7, 2, -9.0)], axis=1)


def test_what_is_under_the_ceiling_is_not_touched() -> None:
    x = speech_like(4, 3)
    x *= np.float32(10 ** ((-3.1 - true_peak_dbtp(x)) / 20))
    assert (limit(x, -3.0) == x).all()


def test_only_the_surroundings_of_a_peak_are_touched() -> None:
    """Input and output lie sample on sample, bit for bit, beyond REACH_SAMPLES of the peak."""
    x = speech_like(4, 4, dbfs=-40.0)
    x[100_000:100_020] = 0.9
    y = limit(x, -3.0)
    changed = np.flatnonzero(y != x)
    assert changed[0] >= 100_000 - REACH_SAMPLES
    assert changed[-1] <= 100_020 + REACH_SAMPLES
    assert y[100_010] == pytest.approx(0.9 * 10 ** (-3 / 20) / 0.9, abs=0.12)


def test_the_gain_bends_slowly() -> None:
    """From 1 to its least and back in no fewer samples than the window: no click."""
    x = np.full(40_000, 0.1, dtype=np.float32)
    x[20_000] = 1.0
    gain = limit(x, -6.0).astype(np.float64) / x
    depth = 1.0 - gain.min()
    assert depth == pytest.approx(0.5, abs=0.02)
    # A Hann window of 2 * SMOOTH + 1 samples climbs no faster than its middle, 1 / SMOOTH.
    assert np.abs(np.diff(gain)).max() <= 1.05 * depth / SMOOTH


def test_a_steady_tone_keeps_its_shape() -> None:
    """A tone 6 dB too loud comes out as a tone at the ceiling: no distortion above -80 dB."""
    y = limit(sine(2, 0.0, 200.0), -6.0)[SAMPLE_RATE // 2 : -SAMPLE_RATE // 2].astype(np.float64)
    spectrum = np.abs(np.fft.rfft(y * np.hanning(len(y))))
    tone = int(np.argmax(spectrum))
    rest = np.concatenate([spectrum[: tone - 4], spectrum[tone + 5 :]])
    assert 20 * np.log10(rest.max() / spectrum[tone]) < -80
    assert np.abs(y).max() == pytest.approx(10 ** (-6 / 20), rel=0.01)


def test_channels_are_limited_together() -> None:
    """One gain for both: the picture stays where it is."""
    x = np.stack([sine(1, -1.0), sine(1, -21.0)], axis=1)
    y = limit(x, -7.0)
    loud = np.abs(x[:, 1]) > 0.01
    kept = (y[loud, 0] / y[loud, 1]) / (x[loud, 0] / x[loud, 1])
    assert np.abs(kept - 1.0).max() < 1e-5


@pytest.mark.parametrize("length", [0, 1, 100, 8191, 8192, 8193, 20_000])
def test_as_many_samples_come_out_as_went_in(length: int) -> None:
    x = stereo(speech_like(1, 5, 0.0))[:length] if length else stereo(silence(0))
    x = np.resize(x, (length, 2)).astype(np.float32)
    limiter = StreamingLimiter(2, -6.0)
    assert len(limiter.process(x)) + len(limiter.flush()) == length


def test_a_flushed_limiter_is_as_new() -> None:
    limiter = StreamingLimiter(1, -3.0)
    first = np.concatenate([limiter.process(_LOUD[:, :1]), limiter.flush()])
    second = np.concatenate([limiter.process(_LOUD[:, :1]), limiter.flush()])
    assert (first == second).all()


def test_shape_of_one_channel_is_kept() -> None:
    assert limit(sine(1, 0.0), -6.0).shape == (SAMPLE_RATE,)


def test_a_block_of_other_channels_is_refused() -> None:
    with pytest.raises(ValueError, match="1 channels given to a limiter of 2"):
        StreamingLimiter(2, -1.0).process(silence(1))
