"""Beds for the tests of sound: music made here, written to files, heard without its lines."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pyebur128

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.signal import Signal
from cuegen.mix.bed import BedLayer, open_bed
from cuegen.mix.ducking import Span
from cuegen.mix.encode import Tags, encoding
from cuegen.mix.layers import blocks_of
from cuegen.mix.levels import levels_of
from cuegen.schedule.cuesheet import CueSheet, SheetBed


def music(seconds: float) -> Signal:
    """Return two channels of chords, louder in every other bar of 2 s."""
    at = np.arange(round(seconds * SAMPLE_RATE)) / SAMPLE_RATE
    bars = (at // 2).astype(int)
    roots = np.array([110.0, 147.0, 131.0, 98.0])[bars % 4]
    chord = sum(np.sin(2 * np.pi * roots * ratio * at) for ratio in (1, 1.25, 1.5, 2, 4.01))
    swell = np.where(bars % 2, 1.0, 0.6) * (0.7 + 0.3 * np.cos(2 * np.pi * at))
    return np.stack([chord * swell * 0.1, chord * swell * 0.07], axis=1).astype(np.float32)


def noise(seconds: float, seed: int, level: float = 0.1) -> Signal:
    """Return noise that is the same at all times and in nothing like any other seed's."""
    shape = (round(seconds * SAMPLE_RATE), 2)
    return (level * np.random.default_rng(seed).standard_normal(shape)).astype(np.float32)


def write(path: Path, x: Signal) -> SheetBed:
    """Write a signal as a file and return the bed of it."""
    with encoding(path, x.shape[1], Tags("bed"), []) as track:
        track.write(x)
    return SheetBed(file=str(path), below_db=20.0)


def bed_blocks(sheet: CueSheet) -> Iterator[Signal]:
    """Give what a sheet's bed adds to its track: all but its lines, alerts and tones."""
    bed = open_bed(sheet)
    assert bed is not None
    assert sheet.sound.bed is not None
    layer = BedLayer(sheet, bed, levels_of(sheet), sheet.sound.bed.below_db)
    return blocks_of(samples_at(sheet.duration_ms), 2, [layer])


def bed_alone(sheet: CueSheet) -> Signal:
    """Return the same as a whole."""
    return np.concatenate(list(bed_blocks(sheet)))


def loudness(x: Signal) -> float:
    """Return the gated loudness of a stretch of two channels, by libebur128."""
    state = pyebur128.R128State(2, SAMPLE_RATE, pyebur128.MeasurementMode.MODE_I)
    state.add_frames(np.ascontiguousarray(x).reshape(-1), len(x))
    return float(pyebur128.get_loudness_global(state))


def part(x: Signal, start_ms: int, end_ms: int) -> Signal:
    return x[samples_at(start_ms) : samples_at(end_ms)]


def heard_in(x: Signal, stretch: Span) -> Signal:
    """Return an open stretch without the fades at the ends of the track."""
    return x[max(stretch.start, 2 * SAMPLE_RATE) : min(stretch.end, len(x) - 4 * SAMPLE_RATE)]
