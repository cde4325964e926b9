"""Music under the voice: any audio file, looped, levelled, faded, out of the way of speech.

Conventions
    Two channels at 48 kHz, streamed: memory does not grow with file or track.
    Loudness in LUFS over both channels. A file shorter than the track starts
    again, its end crossfaded into its beginning at equal power.

How loud: under speech no 400 ms of the bed are louder than `below_db` under it
(W3C WCAG 2.2, 1.4.7 asks for 20 dB and exempts sounds of one or two seconds; a
short line may lie over nothing but such a sound, so none is exempt here). Between lines
its gated loudness is IN_THE_OPEN_DB under speech, or nearer where speech is so
rare that the loudness of the whole track would rest on the bed alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import AudioSource, open_audio
from cuegen.dsp.loudness import LoudnessMeter
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError, Where
from cuegen.mix.ducking import Ducking, Span, speech_spans
from cuegen.mix.levels import Levels
from cuegen.schedule.cuesheet import CueSheet, SheetBed

CHANNELS = 2
CROSSFADE_MS = 1_500
FADE_IN_MS = 2_000
FADE_OUT_MS = 4_000
SHORTEST_MS = 3_000
"""A shorter file is a sound, not a bed."""

IN_THE_OPEN_DB = 8.0
MOST_LIFT_DB = 3.0
"""The bed comes nearer to speech rather than let speech rise further than this above the target."""

_MARGIN_DB = 0.5
"""Kept back for what the limiter takes from the peaks of speech, and a codec from both."""


@dataclass(frozen=True, slots=True)
class BedSound:
    """A bed's file, measured: its samples, gated loudness and loudest 400 ms."""

    source: AudioSource
    length: int
    integrated_lufs: float
    loudest_lufs: float


def measure_bed(bed: SheetBed) -> BedSound:
    """Listen through a bed's file; raises AudioError where it is no audio, too short or silent."""
    source = open_audio(Path(bed.file))
    meter = LoudnessMeter(CHANNELS)
    length = 0
    for block in source.blocks():
        meter.add(_two_channels(block))
        length += len(block)
    where = Where(file=bed.file)
    if length < samples_at(SHORTEST_MS):
        raise AudioError(
            f"lasts {length / SAMPLE_RATE:.1f} s, too short for a bed",
            where=where,
            remedy=f"Name music of {SHORTEST_MS // 1000} s or more; it is looped.",
        )
    if meter.integrated() == float("-inf"):
        raise AudioError("this bed is silent", where=where, remedy="Name another file.")
    return BedSound(source, length, meter.integrated(), meter.momentary_max())


class BedLayer:
    """A measured bed along a sheet."""

    def __init__(self, sheet: CueSheet, bed: BedSound, levels: Levels, below_db: float) -> None:
        self._length = samples_at(sheet.duration_ms)
        spans = speech_spans(sheet.cues)
        open_db = in_the_open_db(spans, self._length)
        under = levels.speech_lufs - below_db - _MARGIN_DB - bed.loudest_lufs
        up = max(under, levels.speech_lufs - open_db - bed.integrated_lufs)
        self._ducking = Ducking(spans, up, under)
        self._samples = _Tap(looped(bed))

    def add_to(self, block: Signal, start: int) -> None:
        """Add the bed in the samples from `start` on."""
        gain = self._ducking.gain(start, len(block)) * self._fade(start, len(block))
        block += self._samples.take(len(block)) * gain[:, np.newaxis]

    def _fade(self, start: int, length: int) -> Signal:
        at = np.arange(start, start + length, dtype=np.float32)
        rising = at / samples_at(FADE_IN_MS)
        falling = (self._length - at) / samples_at(FADE_OUT_MS)
        return np.asarray(np.clip(np.minimum(rising, falling), 0.0, 1.0), dtype=np.float32)


def in_the_open_db(spans: tuple[Span, ...], length: int) -> float:
    """Return how far under speech the bed lies between lines."""
    spoken = _spoken(spans, length)
    if not 0.0 < spoken < 1.0:
        return IN_THE_OPEN_DB
    wanted = (10.0 ** (-MOST_LIFT_DB / 10.0) - spoken) / (1.0 - spoken)
    return min(IN_THE_OPEN_DB, -10.0 * math.log10(wanted)) if wanted > 0.0 else IN_THE_OPEN_DB


def lift_db(spans: tuple[Span, ...], length: int) -> float:
    """Return about how far the loudness of the whole lies under that of speech.

    With speech for a part s of the time and a bed of power b, against speech, for
    the rest, the whole has s + (1 - s) b of the power of speech alone.
    """
    spoken = _spoken(spans, length)
    power = spoken + (1.0 - spoken) * 10.0 ** (-in_the_open_db(spans, length) / 10.0)
    return -10.0 * math.log10(power)


def _spoken(spans: tuple[Span, ...], length: int) -> float:
    return sum(span.end - span.start for span in spans) / length


def looped(bed: BedSound) -> Iterator[Signal]:
    """Give a bed's samples (n, 2) over and over, each end crossfaded into the next beginning."""
    cross = min(samples_at(CROSSFADE_MS), bed.length // 2)
    turn = np.linspace(0.0, np.pi / 2, cross, dtype=np.float32)[:, np.newaxis]
    tail: Signal | None = None
    while True:
        tap = _Tap(_two_channels(block) for block in bed.source.blocks())
        head = tap.take(cross)
        yield head if tail is None else head * np.sin(turn) + tail * np.cos(turn)
        left = bed.length - 2 * cross
        while left > 0:
            part = tap.take(min(left, SAMPLE_RATE))
            yield part
            left -= len(part)
        tail = tap.take(cross)


class _Tap:
    """Draws any number of samples from blocks of any length."""

    def __init__(self, blocks: Iterator[Signal]) -> None:
        self._blocks = blocks
        self._left = np.zeros((0, CHANNELS), dtype=np.float32)

    def take(self, length: int) -> Signal:
        """Return `length` samples; silence fills up what the blocks do not hold."""
        parts, have = [self._left], len(self._left)
        while have < length:
            block = next(self._blocks, None)
            if block is None:
                block = np.zeros((length - have, CHANNELS), dtype=np.float32)
            parts.append(block)
            have += len(block)
        joined = np.concatenate(parts)
        self._left = joined[length:]
        return joined[:length]


def _two_channels(block: Signal) -> Signal:
    return block if block.shape[1] == CHANNELS else np.repeat(block, CHANNELS, axis=1)
