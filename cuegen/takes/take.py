"""From a recording to a finished clip of one line, or to what is wrong with it.

Conventions
    A `Look` is what can be said of a recording whatever it says: repaired, measured, where
    it speaks. A `Take` is a look at one line: its words heard, its first word found, cut,
    faded, levelled. A take's clip keeps every promise of cuegen.voice.clip, since it is
    finished as every clip is. Nothing here opens a file.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from importlib import metadata

import numpy as np

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.resample import resample
from cuegen.dsp.signal import db_of
from cuegen.errors import VoiceError
from cuegen.hearing.words import LEAD_IN_MS, RATE, TAIL_MS, pcm_of
from cuegen.schedule.cuesheet import LEAD_MS
from cuegen.script.candidate import Line
from cuegen.takes.faults import (
    FaultKind,
    Measures,
    TakeFault,
    clipped_peaks,
    faults_of_sound,
    speech_and_noise,
)
from cuegen.takes.onset import first_word_ms, last_word_ms, threshold_of
from cuegen.takes.repair import Repaired, repaired
from cuegen.takes.said import Said
from cuegen.voice.clip import FINISHING_VERSION, Samples, length_ms_of
from cuegen.voice.finishing import TAIL_MS as FADE_OUT_MS
from cuegen.voice.finishing import finish
from cuegen.voice.recorded import Recording, cut

TAKES_VERSION = 1
"""Rises with any change to how a take is repaired, cut or finished."""

HARD_EDGE_MS = 2
"""Fade before the first word where the noise before it would be heard with it."""

_SILENCE_MS = 60


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """A recording, repaired and measured. faults: of its sound."""

    repaired: Repaired
    measures: Measures
    faults: tuple[TakeFault, ...]

    @property
    def window_ms(self) -> int:
        """Return where the aligner's window begins, in ms of the recording."""
        return self.repaired.pieces[0].start_ms - LEAD_IN_MS

    @property
    def is_empty(self) -> bool:
        return any(fault.kind is FaultKind.EMPTY for fault in self.faults)


@dataclass(frozen=True, slots=True, eq=False)
class Take:
    """One line as the coach recorded it. clip None: it could not be finished, or was let go.

    onset_ms: where its first word begins in the file. length_ms: of the clip. doubt: what
    is named but no fault.
    """

    text: str
    clip: Samples | None
    measures: Measures
    faults: tuple[TakeFault, ...]
    said: Said | None = None
    onset_ms: float | None = None
    length_ms: int | None = None

    @property
    def doubt(self) -> str:
        return self.said.doubt if self.said else ""

    @property
    def follows(self) -> bool:
        """Return whether the aligner follows its words."""
        return self.said is not None and self.said.follows


def making_version() -> str:
    """Return what decides, besides the file and the words, how a take comes out."""
    aligner = metadata.version("pocketsphinx")
    return f"{TAKES_VERSION} {FINISHING_VERSION} pocketsphinx {aligner}"


def look_at(recording: Recording) -> Look:
    """Return a recording repaired and measured."""
    good = repaired(recording.sound)
    level, snr_db = speech_and_noise(good.sound, good.pieces, good.quiet)
    hum = good.hum
    measures = Measures(
        peak_dbfs=db_of(float(np.abs(recording.recorded).max(initial=0.0))),
        clipped=clipped_peaks(recording.recorded, recording.file_rate),
        level_lufs=level,
        snr_db=snr_db,
        hum_hz=hum.mains if hum else None,
        hum_db=level - hum.level_dbfs if hum and level is not None else None,
    )
    return Look(good, measures, tuple(faults_of_sound(measures)))


def window_of(look: Look) -> bytes:
    """Return what the aligner hears, from the first piece to the last.

    It begins at `look.window_ms`, which may be before the recording does; what is missing
    there is silence.
    """
    pieces, sound = look.repaired.pieces, look.repaired.sound
    heard = sound[samples_at(max(0, look.window_ms)) : samples_at(pieces[-1].end_ms + TAIL_MS)]
    lead = np.zeros(samples_at(max(0, -look.window_ms)), dtype=np.float32)
    return pcm_of(resample(np.concatenate([lead, heard]), SAMPLE_RATE, RATE))


def finished(look: Look, text: str, said: Said) -> Take:
    """Return the take of a line: cut, its first word LEAD_MS after the clip's first sample."""
    faults = (*look.faults, *([said.fault] if said.fault else []))
    said = replace(said, doubt=said.doubt or _besides(look, said))
    aligned = None if said.first_ms is None else said.first_ms + look.window_ms
    ended = None if said.last_ms is None else said.last_ms + look.window_ms
    sound = look.repaired.sound
    speech = threshold_of(sound, look.repaired.pieces, look.repaired.quiet)
    onset_ms = first_word_ms(sound, speech, look.repaired.pieces, aligned)
    end_ms = last_word_ms(sound, speech, ended)
    lead_ms = HARD_EDGE_MS if speech.noisy else LEAD_MS
    piece = cut(
        sound,
        int(onset_ms) - lead_ms,
        int(end_ms) + FADE_OUT_MS,
        fade_in_ms=lead_ms,
        fade_out_ms=FADE_OUT_MS,
    )
    silence = np.zeros(samples_at(_SILENCE_MS), dtype=np.float32)
    try:
        clip = finish(np.concatenate([silence, piece, silence]), SAMPLE_RATE, Line(text))
    except VoiceError as bad:
        fault = TakeFault(FaultKind.OTHER_LINE, bad.problem, "Record the line again.")
        return Take(text, None, look.measures, (*faults, fault), said, onset_ms)
    length_ms = length_ms_of(len(clip))
    return Take(text, clip, look.measures, faults, said, onset_ms, length_ms)


def _besides(look: Look, said: Said) -> str:
    """Return what is to be said of speech that lies outside the line, and is cut off with it."""
    if said.first_ms is None or said.last_ms is None:
        return ""
    first, last = said.first_ms + look.window_ms, said.last_ms + look.window_ms
    besides = [
        piece for piece in look.repaired.pieces if piece.end_ms < first or piece.start_ms > last
    ]
    if not besides:
        return ""
    places = " and ".join(f"{piece.start_ms / 1000:.1f} s" for piece in besides)
    return f"something else is said too, at {places}; it is cut off"
