"""A cue sheet to an audio file: mix, bring to the target loudness, limit, measure, encode.

A voice-only track needs no gain over the whole: every line lies at the target, and
gating leaves the silence between them out. With a bed, tones or alerts, or louder than
the clips are, the limited mix is measured first, in a pass of its own that encodes
nothing, and the whole is moved by the difference.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cuegen.clock import clock_text, ms_at, samples_at
from cuegen.dsp.limiter import StreamingLimiter
from cuegen.dsp.loudness import LoudnessMeter
from cuegen.dsp.signal import Signal, gain_of
from cuegen.dsp.truepeak import TruePeakMeter
from cuegen.mix.bed import BedSound, lift_db, open_bed
from cuegen.mix.ducking import spans_of
from cuegen.mix.encode import Tags, encoding
from cuegen.mix.formats import Format, find_format
from cuegen.mix.levels import Levels, is_voice_only, levels_of
from cuegen.mix.timeline import mix_blocks
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.webvtt import chapters_of
from cuegen.voice.clip import Speaker

Progress = Callable[[int, int], None]
"""Told (milliseconds of work done, milliseconds in all); a pass that measures counts too."""

_MOST_MOVE_DB = 6.0
"""A track is moved no further than this: one that holds hardly any sound stays quiet."""

_SURE_WITHIN_DB = 0.3
"""A smaller move is not measured again: the limiter takes half of it at most (measured with
the small voice, whose peaks stand highest over its loudness)."""

_MOST_PASSES = 4


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
    mix = _Mix(sheet, speaker, open_bed(sheet), levels, form)
    needs_measure = not is_voice_only(sheet) or sheet.sound.alert or levels.speech_db > 0.1
    done = _Done(sheet.duration_ms, 2 if needs_measure else 1, on_progress)
    move_db = _move_db(mix, done) if needs_measure else 0.0
    meters = _Meters(levels.channels)
    with encoding(out, levels.channels, tags_of(sheet), chapters_of(sheet)) as track:
        for block in done.counting(mix.finished(move_db)):
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
        comment=f"{rowing} of rowing in {_segments(len(sheet.segments))}, spoken by cuegen",
    )


def _segments(count: int) -> str:
    return "1 segment" if count == 1 else f"{count} segments"


@dataclass(frozen=True, slots=True)
class _Mix:
    """What is mixed, and for which format."""

    sheet: CueSheet
    speaker: Speaker
    bed: BedSound | None
    levels: Levels
    form: Format

    def finished(self, move_db: float) -> Iterator[Signal]:
        """Give the blocks as they are to be encoded: moved by a gain and limited."""
        ceiling = self.form.ceiling(self.levels.speech_db + move_db)
        limiter = StreamingLimiter(self.levels.channels, ceiling)
        gain = np.float32(gain_of(move_db))
        for block in mix_blocks(self.sheet, self.speaker, bed=self.bed):
            yield limiter.process(block if move_db == 0.0 else block * gain)
        yield limiter.flush()


def _move_db(mix: _Mix, done: _Done) -> float:
    """Return the gain that brings the limited mix to its target, by passes that only listen."""
    move = _likely_move_db(mix)
    for number in range(_MOST_PASSES):
        meter = LoudnessMeter(mix.levels.channels)
        blocks = mix.finished(move)
        for block in done.counting(blocks) if number == 0 else blocks:
            meter.add(block)
        short_by = mix.levels.target_lufs - meter.integrated()
        if math.isinf(short_by):
            return 0.0
        move = max(-_MOST_MOVE_DB, min(_MOST_MOVE_DB, move + short_by))
        if abs(short_by) < _SURE_WITHIN_DB:
            break
    return move


def _likely_move_db(mix: _Mix) -> float:
    """Return about how far a bed pulls the loudness of the whole under that of speech."""
    if mix.bed is None or not mix.sheet.cues:
        return 0.0
    return lift_db(spans_of(mix.sheet), samples_at(mix.sheet.duration_ms))


class _Meters:
    """Loudness and true peak of one signal."""

    def __init__(self, channels: int) -> None:
        self.loudness = LoudnessMeter(channels)
        self.peak = TruePeakMeter(channels)

    def add(self, block: Signal) -> None:
        self.loudness.add(block)
        self.peak.add(block)


class _Done:
    """Counts the samples that pass, in one pass of `passes` or more, and tells about them."""

    def __init__(self, length_ms: int, passes: int, on_progress: Progress | None) -> None:
        self._total_ms = length_ms * passes
        self._on_progress = on_progress
        self._samples = 0

    def counting(self, blocks: Iterator[Signal]) -> Iterator[Signal]:
        for block in blocks:
            yield block
            self._samples += len(block)
            if self._on_progress is not None and len(block):
                self._on_progress(min(ms_at(self._samples), self._total_ms), self._total_ms)
