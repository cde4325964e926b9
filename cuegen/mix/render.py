"""A cue sheet to an audio file: mix, bring to the target loudness, limit, measure, encode.

A voice-only track needs no gain over the whole: every line lies at the target, and
gating leaves the silence between them out. With a bed or tones the mix is measured
first, in a pass of its own, and then moved as a whole by the difference.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cuegen.clock import clock_text, ms_at
from cuegen.dsp.limiter import StreamingLimiter
from cuegen.dsp.loudness import LoudnessMeter
from cuegen.dsp.signal import Signal, gain_of
from cuegen.dsp.truepeak import TruePeakMeter
from cuegen.mix.bed import BedSound, measure_bed
from cuegen.mix.encode import Tags, encoding
from cuegen.mix.formats import find_format
from cuegen.mix.levels import Levels, is_voice_only, levels_of
from cuegen.mix.timeline import mix_blocks
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.webvtt import chapters_of
from cuegen.voice.clip import Speaker

Progress = Callable[[int, int], None]
"""Told (milliseconds of work done, milliseconds in all); a second pass counts again."""

_MOST_MOVE_DB = 6.0
"""A track is moved no further than this: one that holds hardly any sound stays quiet."""


@dataclass(frozen=True, slots=True)
class Rendered:
    """A finished track. Loudness and true peak are of what went into the encoder."""

    path: Path
    duration_ms: int
    channels: int
    target_lufs: float
    integrated_lufs: float
    true_peak_dbtp: float


def render(
    sheet: CueSheet, speaker: Speaker, out: Path, *, on_progress: Progress | None = None
) -> Rendered:
    """Write the track of a sheet to `out`, whose suffix names the format.

    Raises OutputError for an unknown format or a place that cannot be written,
    AudioError for a bed that is no audio, SheetError for a line that runs past
    the end, VoiceError from the speaker; then no file is left behind.
    """
    form = find_format(out)
    levels = levels_of(sheet)
    bed = None if sheet.sound.bed is None else measure_bed(sheet.sound.bed)
    two_passes = not is_voice_only(sheet)
    done = _Done(sheet.duration_ms * (2 if two_passes else 1), on_progress)
    move_db = _move_db(sheet, speaker, bed, levels, done) if two_passes else 0.0
    meters = _Meters(levels.channels)
    with encoding(out, levels.channels, tags_of(sheet), chapters_of(sheet)) as track:
        mixed = done.counting(mix_blocks(sheet, speaker, bed=bed))
        for block in _finished(mixed, levels.channels, move_db, form.ceiling_dbtp):
            meters.add(block)
            track.write(block)
    return Rendered(
        path=out,
        duration_ms=sheet.duration_ms,
        channels=levels.channels,
        target_lufs=levels.target_lufs,
        integrated_lufs=meters.loudness.integrated(),
        true_peak_dbtp=meters.peak.dbtp(),
    )


def tags_of(sheet: CueSheet) -> Tags:
    """Return what a player shows of a sheet's track."""
    rowing = clock_text(sheet.row_end_ms - sheet.lead_in_ms)
    return Tags(
        title=sheet.title,
        artist="cuegen",
        album="Rowing sessions",
        comment=f"{rowing} of rowing in {len(sheet.segments)} segments, spoken by cuegen",
    )


def _move_db(
    sheet: CueSheet, speaker: Speaker, bed: BedSound | None, levels: Levels, done: _Done
) -> float:
    """Return the gain that brings the mix to its target, from a pass that only listens."""
    meter = LoudnessMeter(levels.channels)
    for block in done.counting(mix_blocks(sheet, speaker, bed=bed)):
        meter.add(block)
    heard = meter.integrated()
    if math.isinf(heard):
        return 0.0
    return max(-_MOST_MOVE_DB, min(_MOST_MOVE_DB, levels.target_lufs - heard))


def _finished(
    blocks: Iterator[Signal], channels: int, move_db: float, ceiling_dbtp: float
) -> Iterator[Signal]:
    """Give the blocks as they are to be encoded: moved by a gain and limited."""
    limiter = StreamingLimiter(channels, ceiling_dbtp)
    gain = np.float32(gain_of(move_db))
    for block in blocks:
        limited = limiter.process(block if move_db == 0.0 else block * gain)
        if len(limited):
            yield limited
    rest = limiter.flush()
    if len(rest):
        yield rest


class _Meters:
    """Loudness and true peak of one signal."""

    def __init__(self, channels: int) -> None:
        self.loudness = LoudnessMeter(channels)
        self.peak = TruePeakMeter(channels)

    def add(self, block: Signal) -> None:
        self.loudness.add(block)
        self.peak.add(block)


class _Done:
    """Counts the blocks that pass and tells about them."""

    def __init__(self, total_ms: int, on_progress: Progress | None) -> None:
        self._total_ms = total_ms
        self._on_progress = on_progress
        self._samples = 0

    def counting(self, blocks: Iterator[Signal]) -> Iterator[Signal]:
        for block in blocks:
            yield block
            self._samples += len(block)
            if self._on_progress is not None:
                self._on_progress(min(ms_at(self._samples), self._total_ms), self._total_ms)
