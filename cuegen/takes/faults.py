"""What can be wrong with a take: each fault measured, and named with its figure.

Conventions
    Clipping is looked for in the samples as they were recorded; level and noise are
    K-weighted (ITU-R BS.1770), as hearing weighs them, after hum and rumble are gone. A
    take with a fault is not used; a doubt is named, and the take used.

Sources: K-weighting, ITU-R BS.1770-4. LEAST_SNR_DB: W3C WCAG 2.2, 1.4.7, which asks
that what sounds under speech lies at least 20 dB below it. The other limits are ours
(common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.signal import sosfilt

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.loudness import K_WEIGHTING
from cuegen.dsp.signal import Signal, as_columns
from cuegen.takes.cuts import Piece, stretch_of
from cuegen.voice.clip import CLIP_LUFS, Samples


class FaultKind(StrEnum):
    """What is wrong. Listed worst first: this is the order in which faults are named."""

    UNREADABLE = "unreadable"
    EMPTY = "empty"
    OTHER_LINE = "other line"
    TOO_LONG = "too long"
    CLIPPED = "clipped"
    TOO_QUIET = "too quiet"
    NOISY = "noisy"


@dataclass(frozen=True, slots=True)
class TakeFault:
    """problem: what is wrong, with the figure, without a full stop. remedy: what to do."""

    kind: FaultKind
    problem: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.kind}: {self.problem}"


LEAST_PEAK_DBFS = -60.0
"""Under this there is nothing to be heard, only what a microphone makes by itself."""

MOST_CLIPPED = 2
"""So many peaks cut off are not heard; a take that was too hot has dozens."""

FULL_SCALE_DB = -1.0
_FLAT_SAMPLES = 3
_NEAR_PEAK = 0.97
_OVERS_APART_S = 0.01

LEAST_LUFS = -45.0
"""Raised by more than 26 dB, a take brings up what converter and cable make."""

LEAST_SNR_DB = 20.0
LEAST_QUIET_MS = 100
"""Shorter pauses in all tell nothing of the noise."""


@dataclass(frozen=True, slots=True)
class Measures:
    """What was measured of a recording. None: could not be measured.

    peak_dbfs and clipped: of the samples as recorded; clipped counts peaks cut off.
    level_lufs: of what speaks. snr_db: how far the noise of the pauses lies under it.
    hum_hz, hum_db: mains hum, and how far it lay under the speech; None where there was none.
    """

    peak_dbfs: float
    clipped: int
    level_lufs: float | None = None
    snr_db: float | None = None
    hum_hz: int | None = None
    hum_db: float | None = None


def clipped_peaks(recorded: Signal, rate: int) -> int:
    """Return how many peaks were cut off, in the channel that has most of them.

    A peak that was cut off is flat: the very same value, sample after sample, near the
    highest of a take that reaches full scale. A codec rounds such peaks again, and then
    some of them come out beyond full scale, which no recorder writes by itself.
    """
    return max((_cut_off(side, rate) for side in as_columns(recorded).T), default=0)


def _cut_off(side: Signal, rate: int) -> int:
    peak = float(np.abs(side).max(initial=0.0))
    if peak < 10 ** (FULL_SCALE_DB / 20):
        return 0
    same = (np.diff(side) == 0) & (np.abs(side[1:]) >= _NEAR_PEAK * peak)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], same, [False]]).astype(np.int8)))
    flat = int(np.count_nonzero(edges[1::2] - edges[::2] >= _FLAT_SAMPLES - 1))
    over = np.flatnonzero(np.abs(side) > 1.0)
    apart = 1 + int(np.count_nonzero(np.diff(over) > _OVERS_APART_S * rate)) if len(over) else 0
    return max(flat, apart)


def speech_and_noise(
    clean: Samples, pieces: Sequence[Piece], quiet: Sequence[Piece]
) -> tuple[float | None, float | None]:
    """Return the level of what speaks in LUFS, and how far the pauses lie under it in dB."""
    weighted = np.asarray(sosfilt(K_WEIGHTING, clean), dtype=np.float32)
    speech = _mean_power(stretch_of(weighted, SAMPLE_RATE, pieces))
    if speech <= 0.0:
        return None, None
    noise = stretch_of(weighted, SAMPLE_RATE, quiet)
    level = -0.691 + 10 * math.log10(speech)
    if len(noise) * 1000 < LEAST_QUIET_MS * SAMPLE_RATE:
        return level, None
    floor = _mean_power(noise)
    return level, 10 * math.log10(speech / max(floor, speech * 1e-10))


def faults_of_sound(measures: Measures) -> Iterator[TakeFault]:
    """Yield what is wrong with a recording, whatever it says."""
    if measures.peak_dbfs < LEAST_PEAK_DBFS or measures.level_lufs is None:
        peak = f"{measures.peak_dbfs:.0f} dBFS" if math.isfinite(measures.peak_dbfs) else "nothing"
        yield TakeFault(
            FaultKind.EMPTY,
            f"nobody speaks (loudest {peak})",
            "Record it again; look whether the microphone was on.",
        )
        return
    if measures.clipped > MOST_CLIPPED:
        yield TakeFault(
            FaultKind.CLIPPED,
            f"{measures.clipped} peaks are cut off at full scale",
            "Record it again with less gain, or farther from the microphone.",
        )
    if measures.level_lufs < LEAST_LUFS:
        yield TakeFault(
            FaultKind.TOO_QUIET,
            f"recorded at {measures.level_lufs:.1f} LUFS, at least {LEAST_LUFS:.0f} is wanted",
            "Record it again with more gain, or nearer to the microphone.",
        )
    if measures.snr_db is not None and measures.snr_db < LEAST_SNR_DB:
        yield TakeFault(
            FaultKind.NOISY,
            f"noise lies {measures.snr_db:.1f} dB under the voice, "
            f"at least {LEAST_SNR_DB:.0f} is wanted",
            "Record it again in a quieter place, or nearer to the microphone.",
        )


def too_long(length_ms: int, longest_ms: int) -> TakeFault | None:
    """Return the fault of a finished take that is longer than its place; None where it fits."""
    if length_ms <= longest_ms:
        return None
    return TakeFault(
        FaultKind.TOO_LONG,
        f"lasts {length_ms / 1000:.2f} s, its place has {longest_ms / 1000:.2f} s",
        "Say it faster or in fewer words; a take is never sped up.",
    )


def gain_db(measures: Measures) -> float:
    """Return by how much a take is raised to the level of every clip."""
    return 0.0 if measures.level_lufs is None else CLIP_LUFS - measures.level_lufs


def _mean_power(sound: Signal) -> float:
    return float(np.mean(np.square(sound, dtype=np.float64))) if len(sound) else 0.0
