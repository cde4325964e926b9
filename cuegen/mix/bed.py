"""Music under the voice: files, folders or a bed of our own, out of the way of speech.

Conventions
    Two channels at 48 kHz, streamed: memory does not grow with the track. Every kind
    of bed comes at 0 LUFS (cuegen.mix.bed_files, cuegen.mix.bed_own) with the power of
    each 20 ms; from these and the timeline this module says how loud it is where.
    Loudness in LUFS over both channels, gains in dB.

How loud: under speech no 400 ms of the bed are louder than `below_db` under it
(W3C WCAG 2.2, 1.4.7 asks for 20 dB and exempts sounds of one or two seconds; a
short line may lie over nothing but such a sound, so none is exempt here). Between lines
its gated loudness is IN_THE_OPEN_DB under speech, or nearer where speech is so
rare that the loudness of the whole track would rest on the bed alone. Each stretch
between lines is brought there by one gain of its own, which changes while the bed is
down: a soft passage is not lost and a loud one does not leap out, and within a stretch
the music keeps its own rise and fall.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np

from cuegen.clock import samples_at
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError
from cuegen.mix.bed_files import Tap, open_music
from cuegen.mix.bed_own import SyntheticBed
from cuegen.mix.bed_powers import STEP, Powers, gated_lufs, loudest_lufs
from cuegen.mix.ducking import Ducking, Span, down_stretches, open_stretches, spans_of
from cuegen.mix.levels import Levels
from cuegen.plan.model import OwnBed
from cuegen.schedule.cuesheet import CueSheet, SheetBed

FADE_IN_MS = 2_000
FADE_OUT_MS = 4_000

IN_THE_OPEN_DB = 8.0
MOST_LIFT_DB = 3.0
"""The bed comes nearer to speech rather than let speech rise further than this above the target."""
MOST_RIDE_DB = 10.0
"""A stretch between lines is moved no further than this to its level."""

_MARGIN_DB = 1.5
"""Kept back for what the limiter takes from the peaks of speech, and a codec adds under them:
counted beats, the shortest lines, were heard up to 1.2 dB nearer to music in a decoded mp3."""


class BedSound(Protocol):
    """A bed along a track, at 0 LUFS."""

    @property
    def powers(self) -> Powers:
        """The power of the track's every 20 ms (cuegen.mix.bed_powers)."""
        ...

    @property
    def doubt_db(self) -> float:
        """How far 400 ms of it may be louder than its powers tell."""
        ...

    def blocks(self) -> Iterator[Signal]:
        """Give its samples (n, 2) from the start of the track on, without end."""
        ...


def open_bed(sheet: CueSheet) -> BedSound | None:
    """Return a sheet's bed, its files measured, or None where it has none.

    Raises AudioError where a file is missing, no audio, too short or silent.
    """
    bed = sheet.sound.bed
    if bed is None:
        return None
    own = own_bed(bed)
    if own is not None:
        return SyntheticBed(sheet, own)
    try:
        return open_music(bed.files, samples_at(sheet.duration_ms))
    except AudioError as bad:
        if any(Path(name).exists() or len(Path(name).parts) > 1 for name in bed.files):
            raise
        names = ", ".join(OwnBed)
        remedy = f"{bad.remedy} Beds of our own: {names}."
        raise AudioError(bad.problem, where=bad.where, remedy=remedy) from None


def own_bed(bed: SheetBed) -> OwnBed | None:
    """Return which of our own beds this is, None for music."""
    return OwnBed(bed.file) if bed.file in tuple(OwnBed) and not bed.more else None


class BedLayer:
    """A bed along a sheet."""

    def __init__(self, sheet: CueSheet, bed: BedSound, levels: Levels, below_db: float) -> None:
        self._length = samples_at(sheet.duration_ms)
        plan = bed_gains(spans_of(sheet), bed, self._length, levels.speech_lufs, below_db)
        self._ducking = Ducking(plan.spans, plan.up_db, plan.under_db)
        self._samples = Tap(bed.blocks())

    def add_to(self, block: Signal, start: int) -> None:
        """Add the bed in the samples from `start` on."""
        gain = self._ducking.gain(start, len(block))
        fading = self._length - samples_at(FADE_OUT_MS)
        if start < samples_at(FADE_IN_MS) or start + len(block) > fading:
            gain = gain * self._fade(start, len(block))
        block += self._samples.take(len(block)) * gain[:, np.newaxis]

    def _fade(self, start: int, length: int) -> Signal:
        at = np.arange(start, start + length, dtype=np.float32)
        rising = at / samples_at(FADE_IN_MS)
        falling = (self._length - at) / samples_at(FADE_OUT_MS)
        return np.asarray(np.clip(np.minimum(rising, falling), 0.0, 1.0), dtype=np.float32)


@dataclass(frozen=True, slots=True)
class BedGains:
    """Gains of a bed that comes at 0 LUFS: in each open stretch, and under each span."""

    spans: tuple[Span, ...]
    up_db: tuple[float, ...]
    under_db: tuple[float, ...]


def bed_gains(
    spans: tuple[Span, ...], bed: BedSound, length: int, speech_lufs: float, below_db: float
) -> BedGains:
    """Return how loud a bed is to be along a track of `length` samples."""
    open_lufs = speech_lufs - min(below_db, in_the_open_db(spans, length))
    opens = open_stretches(spans, length)
    up = [open_lufs - _ride_db(each, bed.powers, length) for each in opens]
    under = []
    for number, stretch in enumerate(down_stretches(spans)):
        loudest = loudest_lufs(_part(bed.powers, stretch)) + bed.doubt_db
        deep = speech_lufs - below_db - _MARGIN_DB - loudest
        under.append(min(deep, up[number], up[number + 1]))
    return BedGains(spans, tuple(up), tuple(under))


def _ride_db(stretch: Span, powers: Powers, length: int) -> float:
    """Return by how much a bed is louder in an open stretch than as a whole."""
    heard = Span(
        max(stretch.start, samples_at(FADE_IN_MS)),
        min(stretch.end, length - samples_at(FADE_OUT_MS)),
    )
    lufs = gated_lufs(_part(powers, heard))
    return 0.0 if lufs == -math.inf else max(-MOST_RIDE_DB, min(MOST_RIDE_DB, lufs))


def _part(powers: Powers, stretch: Span) -> Powers:
    return powers[stretch.start // STEP : max(stretch.start, stretch.end) // STEP]


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
