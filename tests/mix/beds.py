"""Beds for the tests of sound: laid under sheets, written to files, heard and metered.

The real music is that of the package immich-memories-music (MIT): 28 pieces of half a
minute, acoustic and electronic, calm and loud, in five folders. Loudness is libebur128's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import numpy as np
import pyebur128
from immich_memories_music import tracks_dir

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.signal import Signal
from cuegen.mix.bed import FADE_IN_MS, FADE_OUT_MS, BedLayer, open_bed
from cuegen.mix.ducking import Span, open_stretches, spans_of
from cuegen.mix.encode import Tags, encoding
from cuegen.mix.layers import blocks_of
from cuegen.mix.levels import levels_of
from cuegen.plan.model import ToneSpan
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


def real_music() -> list[str]:
    """Return the folders of music, each with some pieces."""
    return sorted(str(path) for path in tracks_dir().iterdir() if path.is_dir())


def over(
    sheet: CueSheet, files: Sequence[str], *, below_db: float = 20.0, tones: ToneSpan
) -> CueSheet:
    """Return a sheet with files or folders as its bed, and its strokes marked or not.

    What is measured under a line is the bed alone only without tones. (A catch tone of its
    own lies 20 dB under speech; with a bed just under that the two are nearer.)
    """
    first, *more = files
    bed = SheetBed(file=first, below_db=below_db, more=tuple(more))
    sound = sheet.sound.model_copy(update={"bed": bed, "stroke_tones": tones})
    return sheet.model_copy(update={"sound": sound})


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


METER_BLOCK_MS = 400
"""What a meter's block lasts (BS.1770): it tells nothing of less."""


class Part:
    """One or more stretches of a sound in two channels, metered as one."""

    def __init__(self, *stretches: Span) -> None:
        self._stretches = stretches
        self._length = sum(each.end - each.start for each in stretches)
        self._meter = pyebur128.R128State(2, SAMPLE_RATE, pyebur128.MeasurementMode.MODE_I)
        # What is shorter than a block is filled up with silence, which is then made up for.
        self._missing = max(0, samples_at(METER_BLOCK_MS) - self._length)
        self._give(np.zeros((self._missing, 2), dtype=np.float32))

    def add(self, block: Signal, at: int) -> None:
        """Take of a block, whose first sample is `at`, what lies in the stretches."""
        for each in self._stretches:
            if each.start < at + len(block) and each.end > at:
                self._give(block[max(0, each.start - at) : each.end - at])

    def lufs(self) -> float:
        """Return the gated loudness of all that was taken."""
        made_up = 10 * np.log10((self._length + self._missing) / self._length)
        return float(pyebur128.get_loudness_global(self._meter)) + float(made_up)

    def _give(self, sound: Signal) -> None:
        if len(sound):
            self._meter.add_frames(np.ascontiguousarray(sound).reshape(-1), len(sound))


def meter(blocks: Iterable[Signal], parts: Sequence[Part]) -> None:
    """Let parts take what is theirs of a sound that streams by."""
    at = 0
    for block in blocks:
        for each in parts:
            each.add(block, at)
        at += len(block)


def lines_of(sheet: CueSheet) -> list[Span]:
    """Return where the lines are that last a meter's block and more."""
    return [
        Span(samples_at(cue.start_ms), samples_at(cue.end_ms))
        for cue in sheet.cues
        if cue.end_ms - cue.start_ms >= METER_BLOCK_MS
    ]


def open_inner(sheet: CueSheet) -> list[Span]:
    """Return the open stretches of a second and more, without the fades at the ends."""
    length = samples_at(sheet.duration_ms)
    first, last = samples_at(FADE_IN_MS), length - samples_at(FADE_OUT_MS)
    stretches = [
        Span(max(each.start, first), min(each.end, last))
        for each in open_stretches(spans_of(sheet), length)
    ]
    return [each for each in stretches if each.end - each.start >= SAMPLE_RATE]
