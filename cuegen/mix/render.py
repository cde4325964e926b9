"""A cue sheet to an audio file: mix, bring to the target loudness, limit, measure, encode.

A voice-only track needs no gain over the whole: every line lies at the target, and
gating leaves the silence between them out. With a bed, tones or alerts, or louder than
the clips are, the limited mix is measured first, in a pass of its own that encodes
nothing, and the whole is moved by the difference.

What a lossy format adds to a peak depends on the sound. Where that is more than
speech at its usual level (cuegen.mix.formats), the file is decoded before it takes its
name, and where it rises above PEAK_DBTP it is encoded again under a lower ceiling.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from cuegen.clock import clock_text, ms_at, samples_at
from cuegen.dsp.decode import open_audio
from cuegen.dsp.limiter import StreamingLimiter
from cuegen.dsp.loudness import LoudnessMeter
from cuegen.dsp.signal import Signal, gain_of
from cuegen.dsp.truepeak import TruePeakMeter
from cuegen.memory import give_back_freed_memory
from cuegen.mix.bed import BedSound, lift_db, open_bed
from cuegen.mix.ducking import spans_of
from cuegen.mix.encode import Tags, encoding
from cuegen.mix.formats import PEAK_DBTP, Format, find_format
from cuegen.mix.levels import Levels, is_voice_only, levels_of
from cuegen.mix.timeline import mix_blocks
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.webvtt import chapters_of
from cuegen.telling import Progress
from cuegen.voice.clip import CLIP_DBTP, Speaker

_MOST_MOVE_DB = 6.0
"""A track is moved no further than this: one that holds hardly any sound stays quiet."""

_SURE_WITHIN_DB = 0.3
"""A smaller move is not measured again: the limiter takes half of it at most (measured with
the small voice, whose peaks stand highest over its loudness)."""

_FOR_THE_LIMITER = 1.2
"""Speech that is raised into the limiter loses about a sixth of that (0.43 to 0.62 dB of 2.4 to
3.0, natural voice over music): asked for at once, one pass of listening is mostly enough."""

_MOST_PASSES = 4

_AS_FINISHED_DB = 0.1

_MOST_ENCODINGS = 4
"""The last of them stands as it is: verification then tells of its peak."""

_LOWER_BY, _SPARE_DB = 1.5, 0.1
"""Lowered by more than it was over: a codec's lift is not the same under another ceiling, and
what the limiter takes away is made up for by gain."""


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

    on_progress: told milliseconds; a pass that measures counts too. Raises OutputError for
    an unknown format or a place that cannot be written, AudioError for a bed that is no
    audio, SheetError for a line that runs past the end, VoiceError from the speaker; then
    no file is left behind.
    """
    form = find_format(out)
    levels = levels_of(sheet)
    mix = _Mix(sheet, speaker, open_bed(sheet), levels, form)
    done = _Done(sheet.duration_ms, mix.passes, on_progress)
    for proved in (*[mix.is_proved] * (_MOST_ENCODINGS - 1), False):
        move_db = 0.0 if mix.is_plain else _move_db(mix, done)
        try:
            rendered = _encoded(mix, out, move_db, done, proved=proved)
            break
        except _PeakError as high:
            mix = replace(mix, most_dbtp=high.given_dbtp - _LOWER_BY * high.over_db - _SPARE_DB)
    give_back_freed_memory()
    return rendered


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
    """What is mixed, and for which format.

    most_dbtp: where the limiter's ceiling lies, if that is under what the format asks for.
    """

    sheet: CueSheet
    speaker: Speaker
    bed: BedSound | None
    levels: Levels
    form: Format
    most_dbtp: float = math.inf

    @property
    def is_plain(self) -> bool:
        """Whether it is nothing but finished clips, no louder than they are."""
        voice_only = is_voice_only(self.sheet) and not self.sheet.sound.alert
        return voice_only and self.levels.speech_db <= _AS_FINISHED_DB

    @property
    def is_proved(self) -> bool:
        """Whether its peaks are looked at once more, in the file."""
        return self.form.lossy and not self.is_plain

    @property
    def passes(self) -> int:
        """How often the whole of it goes by: to be measured, encoded, proved."""
        return 1 + (not self.is_plain) + self.is_proved

    def finished(self, move_db: float) -> Iterator[Signal]:
        """Give the blocks as they are to be encoded: moved by a gain and limited."""
        lift_db = self.levels.speech_db + move_db
        ceiling = min(self.form.ceiling(lift_db), self.most_dbtp)
        blocks = mix_blocks(self.sheet, self.speaker, bed=self.bed)
        if self.is_plain and CLIP_DBTP + lift_db <= ceiling:
            yield from blocks  # Limited each by itself, and never two at once.
            return
        limiter = StreamingLimiter(self.levels.channels, ceiling)
        gain = np.float32(gain_of(move_db))
        for block in blocks:
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
    return _FOR_THE_LIMITER * lift_db(spans_of(mix.sheet), samples_at(mix.sheet.duration_ms))


def _encoded(mix: _Mix, out: Path, move_db: float, done: _Done, *, proved: bool) -> Rendered:
    """Write the track; return what is to be said of it. Raises _PeakError where that is asked."""

    meters, sheet = _Meters(mix.levels.channels), mix.sheet

    def prove(made: Path) -> None:
        peak = TruePeakMeter(mix.levels.channels)
        for block in done.counting(open_audio(made).blocks()):
            peak.add(block)
        if peak.dbtp() > PEAK_DBTP:
            raise _PeakError(meters.peak.dbtp(), peak.dbtp() - PEAK_DBTP)

    proof = prove if proved else None
    with encoding(
        out, mix.levels.channels, tags_of(sheet), chapters_of(sheet), proof=proof
    ) as track:
        for block in done.counting(mix.finished(move_db)):
            meters.add(block)
            track.write(block)
    return Rendered(
        path=out,
        duration_ms=sheet.duration_ms,
        channels=mix.levels.channels,
        target_lufs=mix.levels.target_lufs,
        integrated_lufs=meters.loudness.integrated(),
        true_peak_dbtp=meters.peak.dbtp(),
    )


class _PeakError(Exception):
    """Of sound with a peak of given_dbtp came a file over_db above what a track may have."""

    def __init__(self, given_dbtp: float, over_db: float) -> None:
        super().__init__(f"{over_db:.2f} dB over {PEAK_DBTP} dBTP")
        self.given_dbtp = given_dbtp
        self.over_db = over_db


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
