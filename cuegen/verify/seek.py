"""The matched filter: where a planned clip lies in the track, how like it is, what else sounds.

Conventions
    Clips and stretches come at SAMPLE_RATE; all is worked out at SEEK_RATE, up to
    8 kHz, in one set of spectra: leaving away the upper part of a spectrum is a
    change of rate without delay. The likeness is the normalised correlation, 1
    for the same sound at any level, after a pre-emphasis that gives consonants
    their weight and takes it from the hum of music and vowels. Its peak is placed
    between samples, far finer than 1 ms.

What else sounds
    The rest is the track without the clip, K-weighted and gated (ITU-R BS.1770)
    since that is how speech and beds are levelled, up to 8 kHz. A lossy codec
    leaves noise in it that follows the speech; a bed does not. The slope of the
    rest's power against the clip's, frame by frame, tells them apart. One line's
    slope is rough, for a bed may swell under a word by chance; that of all lines of
    a track together is not (cuegen.verify.judging).

Method: matched filter by FFT correlation (Turin 1960).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len, rfft
from scipy.ndimage import uniform_filter1d
from scipy.signal import sosfreqz

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.loudness import K_WEIGHTING
from cuegen.dsp.signal import Signal

SEEK_RATE = 16_000
PART_MS = 160
"""A clip is compared in parts of this length: about one short word."""

_STEP = SEEK_RATE * PART_MS // 2000
"""Samples from one part to the next."""
_FACTOR = SAMPLE_RATE // SEEK_RATE
_PRE_EMPHASIS = 0.95
_LOW_HZ = (60.0, 120.0)
_HIGH_HZ = (7_200.0, 7_900.0)
_FAINT = 1e-2
"""A part with less than this share of the clip's mean power is a pause; nothing to compare."""
_FRAME = SEEK_RATE // 50
_BLOCK_FRAMES, _HOP_FRAMES = 20, 5
"""Gating blocks of 400 ms, 100 ms apart: BS.1770."""
_GATE = 0.1
_FLOOR = 1e-12
_STILL = 1e-6
"""Silence is like nothing: what is 60 dB under the clip is not compared."""
_DENSER = 2
"""Places tried in a sample: of a clip full of sibilants a place half a sample beside the right
one is less like it than a wrong one a period away (seen)."""
_ROW = 256
_BURST = 4.0
_COARSE = 4_000
_BENT = (0.2, 3.0)
"""Range of a limiter's gain within a line, against its mean."""
_BEND = SEEK_RATE // 100
"""10 ms; cuegen.dsp.limiter smooths its gain over 24 ms."""
_QUIET = 1e-2
"""Moments under this share of the mean power tell nothing of a limiter."""

Mono = NDArray[np.float32]
Spectrum = NDArray[np.complex64]


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """Where a clip was found in a window, and the window itself at SEEK_RATE.

    at: its first sample at SEEK_RATE, between samples. likeness: 0 to 1. weakest:
    the lowest likeness of a part against what the rest lets expect; weakest_ms:
    where in the clip. gain: how loud it is heard. rest_power: gated K-weighted mean
    square of the rest under the clip, summed over channels; spoken_power: that of
    the clip there, pauses and all; coding: how much of the rest grows with the clip.
    track, planned: spectra of the window and of the clip from its start.
    """

    at: float
    likeness: float
    weakest: float
    weakest_ms: int
    gain: float
    rest_power: float
    spoken_power: float
    coding: float
    sound: Mono
    track: Spectrum
    planned: Spectrum


def at_rate(spectrum: Spectrum, rate: int) -> Mono:
    """Return the sound of a spectrum at another rate, by leaving away the part above half of it.

    rate: a multiple of 1,000 under SEEK_RATE.
    """
    size = 2 * (len(spectrum) - 1)
    smaller = size * rate // SEEK_RATE
    return np.asarray(irfft(spectrum[: smaller // 2 + 1], smaller) * np.float32(smaller / size))


def seek(window: Signal, clip: Signal, *, before: int, after: int) -> Found:
    """Return where `clip` (n,) is most likely in `window` (m, channels), m >= n.

    before and after: samples around the clip, at SEEK_RATE, that belong to it
    alone, from which coding noise is told as well.
    """
    size = _size(len(window))
    middle = _spectrum(window.mean(axis=1) if window.shape[1] > 1 else window[:, 0], size)
    wanted = _spectrum(clip, size)
    length = -(-len(clip) // _FACTOR)
    weights = _weights(size)
    sound = irfft(middle * weights.rumble, size)
    emphasised = irfft(middle * weights.emphasis, size)
    own = irfft(wanted * weights.emphasis, size)
    power = float(own @ own)
    cross = middle * wanted.conj() * (_DENSER * weights.emphasis**2)
    products = irfft(cross, _DENSER * size)
    scores = _likeness(products, emphasised, length, power)
    at = _between(cross, int(np.argmax(scores)), products, size)
    best = min(max(round(at), 0), size - length)
    placed = wanted * _delay(at, size)
    there = slice(best, best + length)
    own_there = irfft(placed * weights.emphasis, size)[there]
    heard_there = emphasised[there]
    shared = float(heard_there @ own_there)
    gain = shared / power
    rest, speech = _frame_powers(window, middle, placed, gain, size)
    around = slice(max(0, best - before) // _FRAME, -(-min(size, best + length + after) // _FRAME))
    under = _frames_under(best, length, len(rest))
    weakest, weakest_at = _weakest_part(heard_there, gain * own_there)
    energy = float(heard_there @ heard_there) + _STILL * power
    return Found(
        at=at,
        likeness=float(np.clip(shared / math.sqrt(energy * power), 0.0, 1.0)),
        weakest=weakest,
        weakest_ms=weakest_at * 1000 // SEEK_RATE,
        gain=gain,
        rest_power=_gated(rest[under]),
        spoken_power=float(speech[under].mean()),
        coding=_coding(rest[around], speech[around]),
        sound=sound,
        track=middle,
        planned=wanted,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Weights:
    """Magnitudes along a spectrum: upper limit, no rumble, pre-emphasis without it, K-weighting."""

    band: NDArray[np.float32]
    rumble: NDArray[np.float32]
    emphasis: NDArray[np.float32]
    loudness: NDArray[np.float32]


@lru_cache(maxsize=64)
def _weights(size: int) -> _Weights:
    hertz = np.arange(size // 2 + 1) * (SEEK_RATE / size)
    rising = np.clip((hertz - _LOW_HZ[0]) / (_LOW_HZ[1] - _LOW_HZ[0]), 0, 1)
    falling = np.clip((_HIGH_HZ[1] - hertz) / (_HIGH_HZ[1] - _HIGH_HZ[0]), 0, 1)
    turn = 2 * np.pi * hertz / SEEK_RATE
    emphasis = np.abs(1 - _PRE_EMPHASIS * np.exp(-1j * turn))
    _, k_response = sosfreqz(K_WEIGHTING, hertz, fs=SAMPLE_RATE)
    return _Weights(
        band=falling.astype(np.float32),
        rumble=rising.astype(np.float32),
        emphasis=(rising * emphasis).astype(np.float32),
        loudness=np.abs(k_response).astype(np.float32),
    )


def _size(length: int) -> int:
    """Return samples at SEEK_RATE for a window: few sizes, so that weights are worked out once."""
    coarse = -(-length // (_FACTOR * _COARSE)) * _COARSE
    # A multiple of 32, so that it is whole, and even, at every rate of whole kilohertz.
    return 32 * int(next_fast_len(-(-coarse // 32), real=True))


def _spectrum(sound: Signal, size: int) -> Spectrum:
    """Return the spectrum, up to half of SEEK_RATE, of a signal that has become `size` samples."""
    whole = rfft(sound, size * _FACTOR)[: size // 2 + 1]
    return np.asarray(whole * (_weights(size).band / _FACTOR), dtype=np.complex64)


def _likeness(products: Mono, sound: Mono, length: int, power: float) -> Mono:
    """Return the normalised correlation at every place where the clip fits whole."""
    sums = np.concatenate([[0.0], np.cumsum(sound.astype(np.float64) ** 2)])
    energy = np.maximum(sums[length:] - sums[:-length], 0.0)
    # Between two samples that of the first: it hardly changes.
    places = (len(energy) - 1) * _DENSER + 1
    energy = np.repeat(energy, _DENSER)[:places]
    return np.asarray(products[:places] / np.sqrt((energy + _STILL * power) * power))


def _between(cross: Spectrum, best: int, products: Mono, size: int) -> float:
    """Return the sample, and part of one, where the correlation is greatest, near its best place.

    A parabola first, then a step of Newton's method on the correlation as the sum of its
    spectrum, which is exact between samples too: within a nanosecond (measured).
    """
    left, middle, right = (float(products[(best + step) % len(products)]) for step in (-1, 0, 1))
    curve = left - 2 * middle + right
    at = (best + (0.5 * (left - right) / curve if curve < 0 else 0.0)) / _DENSER
    turn = np.float32(2 * np.pi / size) * np.arange(len(cross), dtype=np.float32)
    terms = cross * _delay(-at, size)
    slope = -float(np.sum(turn * terms.imag, dtype=np.float64))
    curve = -float(np.sum(turn**2 * terms.real, dtype=np.float64))
    return at - min(max(slope / curve, -0.5), 0.5) if curve < 0 else at


def _delay(samples: float, size: int) -> Spectrum:
    """Return what a spectrum is multiplied by to come so many samples later.

    Powers of one number, from two short rows of them: several times faster than an
    exponential for each bin, and exact in single precision however long the delay.
    """
    step = -2j * np.pi * samples / size
    rows = -(-(size // 2 + 1) // _ROW)
    row, starts = np.exp(step * np.arange(_ROW)), np.exp(step * _ROW * np.arange(rows))
    powers = np.multiply.outer(starts.astype(np.complex64), row.astype(np.complex64))
    return np.asarray(powers.reshape(-1)[: size // 2 + 1])


def _frame_powers(
    window: Signal, middle: Spectrum, placed: Spectrum, gain: float, size: int
) -> tuple[Mono, Mono]:
    """Return K-weighted mean squares of 20 ms, of the rest and of the clip, over all channels.

    The clip is taken away at the level it has from moment to moment in all channels
    together: a limiter that bent it is no bed.
    """
    weight = _weights(size).loudness
    channels = window.shape[1]
    spoken = irfft(gain * placed * weight, size)
    sides = [middle] if channels == 1 else [_spectrum(side, size) for side in window.T]
    heard = [irfft(side * weight, size) for side in sides]
    clip = spoken * _bends(sum(heard) / channels, spoken)
    rest = sum(_mean_square(side - clip) for side in heard)
    return np.asarray(rest), channels * _mean_square(spoken)


def _bends(heard: Mono, spoken: Mono) -> Mono:
    """Return the gain of the clip around each sample, against its mean.

    By least squares over _BEND, shorter than a limiter of tracks moves in. It takes one
    part in _BEND of a bed with it, which is nothing.
    """
    shared = uniform_filter1d(heard * spoken, _BEND)
    power = uniform_filter1d(spoken * spoken, _BEND)
    quiet = power < _QUIET * power.mean()
    return np.asarray(np.where(quiet, 1.0, np.clip(shared / np.maximum(power, _FLOOR), *_BENT)))


def _frames_under(best: int, length: int, frames: int) -> slice:
    """Return the frames of a clip, at least one gating block of them."""
    first, last = best // _FRAME, -(-(best + length) // _FRAME)
    missing = max(0, _BLOCK_FRAMES - (last - first))
    first = max(0, min(first - missing // 2, frames - _BLOCK_FRAMES))
    return slice(first, min(frames, max(last, first + _BLOCK_FRAMES)))


def _gated(rest: Mono) -> float:
    """Return the mean power of frames after the relative gate."""
    windows = np.lib.stride_tricks.sliding_window_view(rest, _BLOCK_FRAMES)[::_HOP_FRAMES]
    blocks = windows.mean(axis=1, dtype=np.float64)
    return float(blocks[blocks >= _GATE * blocks.mean()].mean())


def _mean_square(sound: Mono) -> Mono:
    framed = sound[: len(sound) // _FRAME * _FRAME].reshape(-1, _FRAME)
    return np.asarray(np.einsum("fs,fs->f", framed, framed) / _FRAME)


def _coding(rest: Mono, speech: Mono) -> float:
    """Return the slope of the rest's power against the speech's; below 0 only by chance.

    Of a weighted straight line; loud frames, whose coding noise varies most, weigh
    least. Two rounds settle the weights.
    """
    bed, slope = float(np.median(rest)), 0.0
    for _ in range(2):
        weight = 1.0 / (max(bed, 0.0) + max(slope, 0.0) * speech + 1e-3 * speech + _FLOOR) ** 2
        total, mean_x, mean_y = weight.sum(), weight @ speech, weight @ rest
        spread = total * (weight @ speech**2) - mean_x**2
        slope = (total * (weight @ (speech * rest)) - mean_x * mean_y) / spread if spread > 0 else 0
        bed = float((mean_y - slope * mean_x) / total)
    return float(slope)


def _weakest_part(heard: Mono, planned: Mono) -> tuple[float, int]:
    """Return the lowest likeness of a part over what was to be expected, and its first sample.

    A soft part in a bed is less like its clip than a loud one: with a rest of
    power r, a part of power p is expected at sqrt(p / (p + r)). r is taken 6 dB over
    the rest's usual power, for the loud moments of a bed.
    """
    lengths = _over_parts(np.ones_like(planned))
    ours, theirs = _over_parts(planned**2), _over_parts(heard**2)
    usual = _BURST * float(np.median(_over_parts((planned - heard) ** 2) / lengths))
    power = ours / lengths
    faint = _FAINT * float(np.mean(planned**2))
    likeness = _over_parts(planned * heard) / np.sqrt(np.maximum(ours * theirs, _FLOOR**2))
    expected = np.sqrt(power / np.maximum(power + usual, _FLOOR))
    speaks = power > max(faint, usual)
    scores = np.where(speaks, likeness / np.maximum(expected, _FLOOR), 1.0)
    weakest = int(np.argmin(scores))
    return min(1.0, float(scores[weakest])), weakest * _STEP


def _over_parts(values: Mono) -> NDArray[np.float64]:
    """Return the sum of each part; a part begins with every half of one, the last is broken off."""
    halves = np.add.reduceat(values.astype(np.float64), np.arange(0, len(values), _STEP))
    return halves if len(halves) == 1 else halves[:-1] + halves[1:]
