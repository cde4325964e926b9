"""How loud each part of a track is, from its sheet alone.

Conventions
    Levels in LUFS, gains and distances in dB. "Speech" is the level of a line in
    the finished track; everything else is set against it.

A voice-only track has one channel, one with a bed or tones two. A finished clip
has CLIP_LUFS from one channel; from two it is 3.01 LU louder (BS.1770 adds the
powers of the channels).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from cuegen.mix.formats import LOUDNESS_LUFS
from cuegen.plan.model import ToneSpan
from cuegen.schedule.cuesheet import CueSheet
from cuegen.voice.clip import CLIP_LUFS


@dataclass(frozen=True, slots=True)
class Levels:
    """target_lufs: integrated loudness asked of the track. speech_db: gain of every clip."""

    channels: int
    target_lufs: float
    speech_db: float

    @property
    def speech_lufs(self) -> float:
        """Return how loud a line is in the mix, from all its channels."""
        return CLIP_LUFS + self.speech_db + 10.0 * math.log10(self.channels)


def levels_of(sheet: CueSheet) -> Levels:
    """Return the levels a sheet asks for; lines lie exactly at its target."""
    channels = 1 if is_voice_only(sheet) else 2
    asked = sheet.sound.loudness_lufs
    target = LOUDNESS_LUFS[channels] if asked is None else asked
    return Levels(channels, target, target - CLIP_LUFS - 10.0 * math.log10(channels))


def is_voice_only(sheet: CueSheet) -> bool:
    """Return whether nothing but lines sounds, and alerts before them: one channel is enough."""
    return sheet.sound.bed is None and sheet.sound.stroke_tones is ToneSpan.NONE
