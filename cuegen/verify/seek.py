"""The matched filter: where in a stretch of the track a planned clip lies, and how like it is.

Conventions
    Signals are mono at SEEK_RATE, (n,) float64. The likeness is the normalised
    cross-correlation, 1 for the same sound at any level. A parabola through the
    peak and its neighbours places it between samples: far finer than the 1 ms
    that is asked for. Offsets are heard minus planned, in milliseconds.

Method: matched filter by FFT correlation (any text on detection; Turin 1960).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len, rfft

SEEK_RATE = 16_000
PART_MS = 160
"""A clip is compared in parts of this length: about one short word."""

_FAINT = 1e-2
"""A part with less than this share of the clip's mean power is a pause; nothing to compare."""

Mono = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Found:
    """offset_ms against the planned place; likeness 0 to 1; weakest part and where it begins.

    gain: how loud the clip is heard. rest_db: how far under the clip everything
    else at its place lies.
    """

    offset_ms: float
    likeness: float
    weakest: float
    weakest_ms: int
    gain: float
    rest_db: float


def seek(stretch: Mono, clip: Mono, planned: int) -> Found:
    """Return where `clip` lies in `stretch`; planned is the index of its first sample there."""
    scores = _likeness(stretch, clip)
    best = int(np.argmax(scores))
    segment = stretch[best : best + len(clip)]
    power = float(clip @ clip)
    gain = float(segment @ clip) / power
    rest = segment - gain * clip
    weakest, at = _weakest_part(segment, clip)
    return Found(
        offset_ms=(best + _between(scores, best) - planned) * 1000 / SEEK_RATE,
        likeness=float(np.clip(scores[best], 0.0, 1.0)),
        weakest=weakest,
        weakest_ms=at * 1000 // SEEK_RATE,
        gain=gain,
        rest_db=10 * np.log10(max(gain**2 * power, 1e-20) / max(float(rest @ rest), 1e-20)),
    )


def _likeness(stretch: Mono, clip: Mono) -> Mono:
    """Return the normalised correlation at every place where the clip fits whole."""
    places = len(stretch) - len(clip) + 1
    size = next_fast_len(len(stretch) + len(clip), real=True)
    products = irfft(rfft(stretch, size) * np.conj(rfft(clip, size)), size)[:places]
    sums = np.concatenate([[0.0], np.cumsum(stretch**2)])
    energy = np.maximum(sums[len(clip) :] - sums[: -len(clip)], 0.0)
    floor = 1e-9 * len(clip)  # silence is like nothing
    return np.asarray(products / np.sqrt((energy + floor) * float(clip @ clip)))


def _between(scores: Mono, best: int) -> float:
    """Return by how much of a sample the true peak lies beside the best sample."""
    if not 0 < best < len(scores) - 1:
        return 0.0
    left, middle, right = scores[best - 1 : best + 2]
    curve = left - 2 * middle + right
    return float(0.5 * (left - right) / curve) if curve < 0 else 0.0


def _weakest_part(segment: Mono, clip: Mono) -> tuple[float, int]:
    """Return the lowest likeness of a part that holds sound, and the part's first sample."""
    size = SEEK_RATE * PART_MS // 1000
    faint = _FAINT * float(clip @ clip) / len(clip)
    weakest, place = 1.0, 0
    for start in range(0, max(1, len(clip) - size // 2), size // 2):
        ours, theirs = clip[start : start + size], segment[start : start + size]
        power = float(ours @ ours)
        if power < faint * len(ours):
            continue
        score = float(ours @ theirs) / np.sqrt(power * max(float(theirs @ theirs), 1e-12))
        if score < weakest:
            weakest, place = float(score), start
    return weakest, place
