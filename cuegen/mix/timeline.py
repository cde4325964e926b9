"""A cue sheet as sound: blocks of samples, each thing at its absolute sample.

Conventions
    Blocks are float32 (n, channels), a second long, channels as
    cuegen.mix.levels says; their samples add up to the whole track. Nothing here
    depends on the length of the session: lines are fetched when they are due.
    The sum may exceed full scale; cuegen.mix.render limits it.
"""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.clock import samples_at
from cuegen.dsp.signal import Signal
from cuegen.mix.alert import AlertLayer
from cuegen.mix.bed import BedLayer, BedSound
from cuegen.mix.layers import Layer, SpeechLayer, blocks_of
from cuegen.mix.levels import levels_of
from cuegen.mix.tones import ToneLayer
from cuegen.plan.model import ToneSpan
from cuegen.schedule.cuesheet import CueSheet
from cuegen.voice.clip import Speaker


def mix_blocks(
    sheet: CueSheet, speaker: Speaker, *, bed: BedSound | None = None
) -> Iterator[Signal]:
    """Give the track a second at a time, speech at the sheet's loudness.

    `bed` is what `open_bed` made of `sheet.sound.bed`; it sounds only if both are
    there. Raises SheetError for a line that runs past the end of the track.
    """
    levels = levels_of(sheet)
    layers: list[Layer] = [SpeechLayer(sheet, speaker, levels.speech_db)]
    if bed is not None and sheet.sound.bed is not None:
        layers.append(BedLayer(sheet, bed, levels, sheet.sound.bed.below_db))
    if sheet.sound.alert:
        layers.append(AlertLayer(sheet, levels.speech_lufs, levels.channels))
    if sheet.sound.stroke_tones is not ToneSpan.NONE:
        layers.append(ToneLayer(sheet, levels.speech_lufs, levels.channels))
    return blocks_of(samples_at(sheet.duration_ms), levels.channels, layers)
