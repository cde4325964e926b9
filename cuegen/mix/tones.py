"""Stroke tones: a soft low sound at each catch, a softer high one at each finish.

On wish a third one fills the recovery: a breath of a tone that rises from finish to
catch and is gone before it, so that the way forward is heard too.

Conventions
    Instants are absolute samples. A segment's first catch is its first sample;
    the k-th lies k strokes later, reckoned as a fraction and rounded once, so that
    no error adds up. A band of rates keeps time at its middle. A catch or finish
    at or after the segment's end is the next segment's affair and is left out.

Both catch and finish sound, since one sound a stroke is slower than a listener
keeps time with (above about 1800 ms; Repp 2006). How much of a stroke is drive:
on-water measurements for singles from 20 strokes a minute on (Rowing Biomechanics
Newsletter, V. Kleshnev, read from its regression); one to two at 16 and below
(common practice, no source); between these, straight lines.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from itertools import count

import numpy as np

from cuegen.clock import MS_PER_MIN, MS_PER_S, SAMPLE_RATE, samples_at
from cuegen.dsp.loudness import LoudnessMeter
from cuegen.dsp.signal import Signal, gain_of
from cuegen.mix.layers import Sounding
from cuegen.plan.model import SEGMENT_KINDS, ToneSpan
from cuegen.schedule.cuesheet import CueSheet, SheetSegment
from cuegen.voice.clip import Samples

BELOW_SPEECH_DB = 20.0
"""A catch, heard over 400 ms, lies this far under speech: the distance of W3C WCAG 2.2, 1.4.7."""

RECOVERY_DB = -9.0
"""The rising sound against a catch, both over their loudest 400 ms (our own judgement)."""
RECOVERY_AFTER_MS, RECOVERY_BEFORE_MS, RECOVERY_LEAST_MS = 80, 60, 200
_RISE_FROM_HZ, _RISE_TO_HZ = 196.0, 294.0
"""A fifth, under the pitch of the catch."""

_DRIVE_SHARES = (
    (Fraction(16), Fraction(1, 3)),
    (Fraction(20), Fraction(38, 100)),
    (Fraction(24), Fraction(44, 100)),
    (Fraction(28), Fraction(48, 100)),
    (Fraction(32), Fraction(52, 100)),
    (Fraction(36), Fraction(55, 100)),
)


@dataclass(frozen=True, slots=True)
class Stroke:
    """Where a stroke's sounds begin, in samples; finish None where the segment ends before it.

    next_catch: where the recovery ends, None where the segment does so before it.
    """

    catch: int
    finish: int | None
    next_catch: int | None = None


def drive_share(rate: Fraction) -> Fraction:
    """Return the part of a stroke that is drive, at a rate in strokes per minute."""
    below, above = _DRIVE_SHARES[0], _DRIVE_SHARES[-1]
    if rate <= below[0]:
        return below[1]
    for point in _DRIVE_SHARES[1:]:
        if rate <= point[0]:
            way = (rate - below[0]) / (point[0] - below[0])
            return below[1] + way * (point[1] - below[1])
        below = point
    return above[1]


def middle_rate(rate: str) -> Fraction:
    """Return the rate of "20", or the middle of a band "18-20"."""
    low, _, high = rate.partition("-")
    return Fraction(int(low) + int(high or low), 2)


def strokes_of(segment: SheetSegment, span: ToneSpan) -> Iterator[Stroke]:
    """Give the strokes of a segment that are to sound, in order."""
    if span is ToneSpan.NONE or segment.rate is None or not SEGMENT_KINDS[segment.kind].is_rowing:
        return
    rate = middle_rate(segment.rate)
    stroke_ms = MS_PER_MIN / rate
    drive_ms = stroke_ms * drive_share(rate)
    last_ms = segment.end_ms
    if span is ToneSpan.FIRST_MINUTE:
        last_ms = min(last_ms, segment.start_ms + MS_PER_MIN)
    for number in count():
        catch_ms = segment.start_ms + number * stroke_ms
        if catch_ms >= last_ms:
            return
        finish_ms, next_ms = catch_ms + drive_ms, catch_ms + stroke_ms
        yield Stroke(
            _sample(catch_ms),
            _sample(finish_ms) if finish_ms < segment.end_ms else None,
            _sample(next_ms) if next_ms <= segment.end_ms else None,
        )


class ToneLayer:
    """The stroke tones of a sheet, against speech of a loudness."""

    def __init__(self, sheet: CueSheet, speech_lufs: float, channels: int) -> None:
        self._onsets = _onsets(sheet)
        self._next = next(self._onsets, None)
        self._sounding = Sounding()
        # The sounds are made for one channel; each further one adds its power.
        level = speech_lufs - BELOW_SPEECH_DB - 10.0 * math.log10(channels)
        self._gain = np.float32(gain_of(level))

    def add_to(self, block: Signal, start: int) -> None:
        """Add the tones that sound in the samples from `start` on."""
        while self._next is not None and self._next[0] < start + len(block):
            at, sound = self._next
            self._sounding.begin(at, sound * self._gain)
            self._next = next(self._onsets, None)
        self._sounding.add_to(block, start)


@cache
def catch_sound() -> Samples:
    """Return a low, woody sound of 120 ms; its loudest 400 ms have 0 LUFS from one channel."""
    return _levelled(_struck(330.0, ms=120), 0.0)


@cache
def finish_sound() -> Samples:
    """Return a higher, shorter sound of 70 ms, 4 LU softer than the catch."""
    return _levelled(_struck(660.0, ms=70), -4.0)


@lru_cache(maxsize=64)
def recovery_sound(length: int) -> Samples:
    """Return a rising tone for a recovery of so many samples, RECOVERY_DB under a catch.

    It begins RECOVERY_AFTER_MS after the finish, when that has sounded, and is silent
    RECOVERY_BEFORE_MS before the catch, whose first sample stands out of silence.
    """
    after, before = samples_at(RECOVERY_AFTER_MS), samples_at(RECOVERY_BEFORE_MS)
    span = length - after - before
    if span < samples_at(RECOVERY_LEAST_MS):
        return np.zeros(0, dtype=np.float32)
    way = np.arange(span) / span
    octaves = math.log2(_RISE_TO_HZ / _RISE_FROM_HZ)
    hertz = _RISE_FROM_HZ * np.exp2(octaves * way)
    tone = np.sin(2 * np.pi * np.cumsum(hertz) / SAMPLE_RATE)
    sound = np.concatenate([np.zeros(after), tone * np.sin(np.pi * way) ** 2])
    return _levelled(np.asarray(sound, dtype=np.float32), RECOVERY_DB)


def _onsets(sheet: CueSheet) -> Iterator[tuple[int, Samples]]:
    """Give every sound that begins within the track, in order."""
    length = samples_at(sheet.duration_ms)
    for segment in sheet.segments:
        for stroke in strokes_of(segment, sheet.sound.stroke_tones):
            if stroke.catch < length:
                yield stroke.catch, catch_sound()
            if stroke.finish is not None and stroke.finish < length:
                yield stroke.finish, finish_sound()
                if sheet.sound.recovery_tone and stroke.next_catch is not None:
                    yield stroke.finish, recovery_sound(stroke.next_catch - stroke.finish)


def _sample(ms: Fraction) -> int:
    """Return the sample nearest to an instant, half up; the one rounding of a tone."""
    return int(ms * SAMPLE_RATE / MS_PER_S + Fraction(1, 2))


def _struck(hertz: float, ms: int) -> Samples:
    """Return a tone with one overtone that rises within 2 ms and dies away to nothing."""
    at = np.arange(samples_at(ms)) / SAMPLE_RATE
    tone = np.sin(2 * np.pi * hertz * at) + 0.3 * np.sin(4 * np.pi * hertz * at)
    rise = np.minimum(1.0, (at + 1 / SAMPLE_RATE) / 0.002)
    fall = np.exp(-at / (ms / 4000)) * np.cos(np.pi / 2 * at * MS_PER_S / ms)
    return np.asarray(tone * rise * fall, dtype=np.float32)


def _levelled(sound: Samples, lufs: float) -> Samples:
    around = np.zeros(samples_at(400), dtype=np.float32)
    meter = LoudnessMeter(1)
    meter.add(np.concatenate([around, sound, around]))
    return sound * np.float32(gain_of(lufs - meter.momentary_max()))
