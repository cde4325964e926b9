"""A short soft sound before a line that breaks a longer quiet: two tones, the second higher.

For a hall in which other music plays: who hears it listens up before the first word.

Conventions
    Instants are milliseconds of the track. It sounds before each line that begins
    after QUIET_MS without a line, the opening included where there is room, and
    never before a beat, which is itself a signal. It ends GAP_MS before the line's
    clip, and keeps clear of what a verifier listens to around a line (150 ms).

Lengths, pitches and level are our own judgement (common practice, no source). The
pitches lie between the stroke tones' (330 and 660 Hz) and above them.
"""

from __future__ import annotations

import math
from collections import deque
from functools import cache

import numpy as np

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.loudness import LoudnessMeter
from cuegen.dsp.signal import Signal, gain_of
from cuegen.mix.layers import Sounding
from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.kinds import CueKind
from cuegen.voice.clip import Samples

ALERT_MS = 340
GAP_MS = 200
QUIET_MS = 4_000
BELOW_SPEECH_DB = 6.0
"""How far its loudest 400 ms lie under speech."""

_HERTZ = (523.25, 784.0)
_SECOND_MS = 120
_RISE_MS = 12


def alert_starts(sheet: CueSheet) -> tuple[int, ...]:
    """Return where a sheet's alerts begin, in order; none where it asks for none."""
    if not sheet.sound.alert:
        return ()
    starts: list[int] = []
    quiet_from = -QUIET_MS  # before the track it was quiet for as long as you like
    for cue in sorted(sheet.cues, key=lambda each: each.start_ms):
        start = cue.start_ms - GAP_MS - ALERT_MS
        is_after_quiet = cue.start_ms - quiet_from >= QUIET_MS
        if is_after_quiet and start >= 0 and cue.kind is not CueKind.BEAT:
            starts.append(start)
        quiet_from = max(quiet_from, cue.end_ms)
    return tuple(starts)


class AlertLayer:
    """The alerts of a sheet, against speech of a loudness."""

    def __init__(self, sheet: CueSheet, speech_lufs: float, channels: int) -> None:
        self._waiting = deque(samples_at(start) for start in alert_starts(sheet))
        level = speech_lufs - BELOW_SPEECH_DB - 10.0 * math.log10(channels)
        self._samples = alert_sound() * np.float32(gain_of(level))
        self._sounding = Sounding()

    def add_to(self, block: Signal, start: int) -> None:
        """Add the alerts that sound in the samples from `start` on."""
        while self._waiting and self._waiting[0] < start + len(block):
            self._sounding.begin(self._waiting.popleft(), self._samples)
        self._sounding.add_to(block, start)


@cache
def alert_sound() -> Samples:
    """Return the sound, ALERT_MS long; its loudest 400 ms have 0 LUFS from one channel."""
    sound = np.zeros(samples_at(ALERT_MS))
    for hertz, at in zip(_HERTZ, (0, samples_at(_SECOND_MS)), strict=True):
        sound[at:] += _tone(hertz, len(sound) - at)
    around = np.zeros(samples_at(400))
    meter = LoudnessMeter(1)
    meter.add(np.concatenate([around, sound, around]).astype(np.float32))
    return np.asarray(sound * gain_of(-meter.momentary_max()), dtype=np.float32)


def _tone(hertz: float, length: int) -> Signal:
    """Return a tone that swells within _RISE_MS and dies away to nothing."""
    at = np.arange(length) / SAMPLE_RATE
    tone = np.sin(2 * np.pi * hertz * at) + 0.15 * np.sin(4 * np.pi * hertz * at)
    rise = np.sin(np.pi / 2 * np.minimum(1.0, at * 1000 / _RISE_MS)) ** 2
    fall = np.exp(-at / 0.11) * np.cos(np.pi / 2 * np.arange(length) / length)
    return np.asarray(tone * rise * fall, dtype=np.float32)
