"""The whole file, metered while it streams by: length, loudness, true peak, silences.

Conventions
    Blocks are float32 (n, channels) at SAMPLE_RATE. Levels in LUFS, dBTP and dBFS
    RMS; None stands for silence or for what was not measured. One number is kept
    for every FRAME_MS of the track: 3 hours are under 2 MB.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuegen.clock import ms_at, samples_at
from cuegen.dsp.loudness import LoudnessMeter
from cuegen.dsp.signal import Signal
from cuegen.dsp.truepeak import TruePeakMeter
from cuegen.mix.alert import ALERT_MS, alert_starts
from cuegen.mix.tones import strokes_of
from cuegen.schedule.cuesheet import Cue, CueSheet

FRAME_MS = 20
CURVE_STEP_MS = 1_000
"""Between two values of the loudness curve, each of which is of CURVE_WINDOW_MS."""
CURVE_WINDOW_MS = 3_000
GUARD_MS = 60
"""Around what was planned silence is not asked for: codecs smear a little."""

_TONE_MS = 120
_FRAME = samples_at(FRAME_MS)
_QUIETEST_DB = -120.0

_METER_STEP_MS = 100
_GATE_LUFS = -70.0
"""The absolute gate of ITU-R BS.1770-4: what lies under it counts as silence."""

Frames = NDArray[np.float64]
Curve = tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Measured:
    """The whole file. frames: power of each FRAME_MS, the loudest channel's.

    curve: short-term loudness (EBU Tech 3341) of the 3 s that end at 3, 4, 5... s, to a
    tenth; None where they are silent.
    """

    duration_ms: int
    lufs: float | None
    range_lu: float
    peak_dbtp: float | None
    frames: Frames
    curve: Curve


class TrackMeters:
    """Meters that every block is shown to."""

    def __init__(self, channels: int) -> None:
        self._loudness = LoudnessMeter(channels)
        self._peak = TruePeakMeter(channels)
        self._frames = array("f")  # a level to a millionth is more than is asked
        self._rest = np.zeros((0, channels), dtype=np.float32)
        self._samples = 0

    def add(self, block: Signal) -> None:
        """Take the next block of the track."""
        self._loudness.add(block)
        self._peak.add(block)
        self._samples += len(block)
        sound = np.concatenate([self._rest, block])
        whole = len(sound) // _FRAME * _FRAME
        framed = sound[:whole].reshape(-1, _FRAME, sound.shape[1])
        powers = np.einsum("fsc,fsc->fc", framed, framed, dtype=np.float64, casting="same_kind")
        self._frames.extend(powers.max(axis=1) / _FRAME)
        self._rest = sound[whole:]

    def measured(self) -> Measured:
        """Return what the meters say of all blocks so far."""
        return Measured(
            duration_ms=ms_at(self._samples),
            lufs=_finite(self._loudness.integrated()),
            range_lu=self._loudness.range_lu(),
            peak_dbtp=_finite(self._peak.dbtp()),
            frames=np.array(self._frames),
            curve=_curve(self._loudness.short_term_series()),
        )


@dataclass(frozen=True, slots=True)
class Noise:
    """The loudest moment of all that were planned silent. frames: how many were too loud."""

    at_ms: int
    db: float
    frames: int


def noise_in_silences(frames: Frames, sheet: CueSheet, limit_db: float) -> Noise | None:
    """Return what sounds where silence was planned, None where nothing is above the limit."""
    silent = ~_sounding(len(frames), sheet)
    loud = np.flatnonzero(silent & (frames > 10 ** (limit_db / 10)))
    if len(loud) == 0:
        return None
    worst = int(loud[np.argmax(frames[loud])])
    return Noise(worst * FRAME_MS, 10 * math.log10(frames[worst]), len(loud))


def coarse_shift_ms(frames: Frames, cues: Iterable[Cue]) -> int:
    """Return by how much the sound of a whole file best fits the plan, to the frame.

    Correlates levels with the plan of speech and silence; for files so far off
    that no line is found near its place. Positive is late.
    """
    planned = np.zeros(len(frames))
    for cue in cues:
        planned[cue.start_ms // FRAME_MS : cue.end_ms // FRAME_MS] = 1.0
    levels = 10 * np.log10(np.maximum(frames, 10 ** (_QUIETEST_DB / 10)))
    levels = np.clip(levels, -60.0, None)
    size = 2 * len(frames)
    products = np.fft.irfft(
        np.fft.rfft(levels - levels.mean(), size)
        * np.fft.rfft(planned - planned.mean(), size).conj(),
        size,
    )
    best = int(np.argmax(products))
    return (best if best < len(frames) else best - size) * FRAME_MS


def _sounding(length: int, sheet: CueSheet) -> NDArray[np.bool_]:
    """Return for each frame whether anything was planned in it or just beside it."""
    sounding = np.zeros(length, dtype=np.bool_)
    for start_ms, end_ms in _planned(sheet):
        first = max(0, start_ms - GUARD_MS) // FRAME_MS
        sounding[first : -(-(end_ms + GUARD_MS) // FRAME_MS)] = True
    return sounding


def _planned(sheet: CueSheet) -> Iterable[tuple[int, int]]:
    for cue in sheet.cues:
        yield cue.start_ms, cue.end_ms
    for start_ms in alert_starts(sheet):
        yield start_ms, start_ms + ALERT_MS
    for segment in sheet.segments:
        for stroke in strokes_of(segment, sheet.sound.stroke_tones):
            for sample in (stroke.catch, stroke.finish):
                if sample is not None:
                    yield ms_at(sample), ms_at(sample) + _TONE_MS


def _curve(series: NDArray[np.float64]) -> Curve:
    """Return the values a second apart of a series a tenth of a second apart."""
    seconds = series[:: CURVE_STEP_MS // _METER_STEP_MS].tolist()
    return tuple(round(lufs, 1) if lufs > _GATE_LUFS else None for lufs in seconds)


def _finite(level: float) -> float | None:
    return level if math.isfinite(level) else None
