"""Reading back a delivered file: the whole verification, in one pass over its sound.

Conventions
    The file is decoded once, a block at a time. Meters take each block; a line is
    listened to as soon as its stretch is there, and the sound before it is let go,
    so memory does not grow with the track. A bad track gives a report with faults;
    only a file that cannot be decoded raises (AudioError).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from pathlib import Path

from cuegen.clock import ms_at
from cuegen.dsp.decode import AudioSource, open_audio
from cuegen.dsp.loudness import LoudnessMeter
from cuegen.dsp.signal import Signal, gain_of
from cuegen.dsp.truepeak import TruePeakMeter
from cuegen.errors import VoiceError
from cuegen.mix.levels import is_voice_only, levels_of
from cuegen.schedule.cuesheet import CueSheet
from cuegen.verify.judging import Measured, report_of
from cuegen.verify.lines import listen_to_line
from cuegen.verify.report import Check, ListeningReport, Skipped
from cuegen.verify.stretches import Silence, stretches
from cuegen.verify.words import Aligner
from cuegen.voice.clip import Speaker
from cuegen.voice.table import find_voice

Progress = Callable[[int, int], None]


def listen(
    audio: Path, sheet: CueSheet, speaker: Speaker, *, on_progress: Progress | None = None
) -> ListeningReport:
    """Return what was heard in a file against its sheet. Raises AudioError."""
    track = _Track(open_audio(audio), sheet)
    skipped = _words_unheard(sheet)
    ear = None if skipped else Aligner()
    gain = gain_of(levels_of(sheet).speech_db)
    lines = []
    for number, stretch in enumerate(stretches(track.blocks(), sheet.cues), start=1):
        lines.append(listen_to_line(stretch, speaker, ear, gain))
        if on_progress is not None:
            on_progress(number, len(sheet.cues))
    return report_of(audio.name, sheet, tuple(lines), track.measured(), skipped)


def _words_unheard(sheet: CueSheet) -> tuple[Skipped, ...]:
    """Return why words are not checked, nothing where they are."""
    try:
        aligns = find_voice(sheet.sound.voice, sheet.sound.language).spec.aligns
    except VoiceError:
        aligns = False  # a fake voice, or one that is gone: its words cannot be relied on
    if aligns and sheet.sound.language.partition("-")[0] == "en":
        return ()
    why = f"the aligner does not follow the voice {sheet.sound.voice!r} reliably (measured)"
    return tuple(Skipped(check=check, why=why) for check in (Check.WORDS, Check.NUMBERS))


class _Track:
    """A file that is metered while its blocks go by."""

    def __init__(self, source: AudioSource, sheet: CueSheet) -> None:
        self._source = source
        self._loudness = LoudnessMeter(source.channels)
        self._peak = TruePeakMeter(source.channels)
        self._silence = Silence(sheet) if is_voice_only(sheet) else None
        self._samples = 0

    def blocks(self) -> Iterator[Signal]:
        for block in self._source.blocks():
            self._loudness.add(block)
            self._peak.add(block)
            if self._silence:
                self._silence.add(block)
            self._samples += len(block)
            yield block

    def measured(self) -> Measured:
        """Return what the meters say; only when every block has gone by."""
        return Measured(
            duration_ms=ms_at(self._samples),
            lufs=_finite(self._loudness.integrated()),
            range_lu=self._loudness.range_lu(),
            peak_dbtp=_finite(self._peak.dbtp()),
            loudest_silence_db=_finite(self._silence.loudest_db) if self._silence else None,
            loudest_silence_ms=self._silence.at_ms if self._silence else 0,
        )


def _finite(level: float) -> float | None:
    return level if math.isfinite(level) else None
