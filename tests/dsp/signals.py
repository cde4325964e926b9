"""Signals for the tests: tones, silence, noise with the gaps and swells of speech, and cuts."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy
from scipy import signal

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.signal import Signal


def sine(
    seconds: float, dbfs: float, hertz: float = 1000.0, rate: int = SAMPLE_RATE, degrees: float = 0
) -> Signal:
    """Return one channel of a sine; dbfs is that of its peak."""
    at = np.arange(round(seconds * rate)) / rate
    wave = np.sin(2 * np.pi * hertz * at + np.radians(degrees))
    return np.asarray(10 ** (dbfs / 20) * wave, dtype=np.float32)


def silence(seconds: float) -> Signal:
    return np.zeros(round(seconds * SAMPLE_RATE), dtype=np.float32)


def stereo(*parts: Signal) -> Signal:
    """Return the parts one after the other, the same in two channels."""
    return np.repeat(np.concatenate(parts)[:, np.newaxis], 2, axis=1)


def speech_like(seconds: float, seed: int, dbfs: float = -20.0) -> Signal:
    """Return band-limited noise in words of 0.2 to 1.5 s with pauses between them, one channel."""
    rng = np.random.default_rng(seed)
    length = round(seconds * SAMPLE_RATE)
    envelope = np.zeros(length)
    at = 0
    while at < length:
        word = int(rng.uniform(0.2, 1.5) * SAMPLE_RATE)
        envelope[at : at + word] = rng.uniform(0.2, 1.0)
        at += word + int(rng.uniform(0.1, 2.5) * SAMPLE_RATE)
    band = signal.butter(2, (120, 5000), "bandpass", fs=SAMPLE_RATE, output="sos")
    noise = signal.sosfilt(band, rng.standard_normal(length)) * envelope
    return np.asarray(noise * 10 ** (dbfs / 20) * 2, dtype=np.float32)


def cuts(longest: int = 40_000) -> SearchStrategy[list[int]]:
    """Lengths of blocks, used over and over until a signal is used up."""
    return st.lists(st.integers(0, longest), min_size=1, max_size=6).filter(any)


def in_blocks(x: Signal, lengths: list[int], take: Callable[[Signal], object]) -> None:
    """Hand `x` over in blocks of these lengths, in turns."""
    edges = [0]
    while edges[-1] < len(x):
        edges.append(min(len(x), edges[-1] + lengths[(len(edges) - 1) % len(lengths)]))
    for start, stop in pairwise(edges):
        take(x[start:stop])
