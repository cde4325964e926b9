"""What a bed of our own plays when: stretches of a session, changes of chord, beats.

Conventions
    Instants are absolute samples, strokes those of cuegen.mix.tones. Levels are
    factors against chords of power 1. Nothing here makes a sound.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.mix.bed_tones import STRIKE_S, Struck, mallet, thump
from cuegen.mix.tones import middle_rate, strokes_of
from cuegen.plan.model import SEGMENT_KINDS, ToneSpan
from cuegen.schedule.cuesheet import CueSheet, SheetSegment

BEATS = 4
"""Beats of a stroke; 72 a minute at rate 18, 120 at 30 (our own judgement)."""
CHORD_STROKES = 4
TONE_ROOM = samples_at(200)
"""A beat nearer than this to a finish tone is left to the tone."""

_CALM_CHORD = samples_at(12_000)
_SOFT = 0.8
"""How loud a mallet is beside the stroke at the catch."""
_MOST_CALM = 0.25
_LEAST_WORK = 0.3
# Which notes the mallets strike over each chord: the catch, then beat by beat.
_MALLETS = (
    (220.0, 275.0, 247.5, 495.0),
    (183.25, 275.0, 220.0, 550.0),
    (183.25, 220.0, 275.0, 440.0),
    (247.5, 220.0, 495.0, 440.0),
)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the track with one rate and one effort. stroke: its length, None without a rate.

    segment: None before the rowing and after it.
    """

    start: int
    end: int
    stroke: Fraction | None
    fullness: float
    segment: SheetSegment | None = None

    @property
    def beat_power(self) -> float:
        """Return the mean power of its beats, against chords of power 1."""
        if self.stroke is None:
            return 0.0
        levels = _levels(self.fullness)
        energy = levels[0] ** 2 + sum((_SOFT * level) ** 2 for level in levels)
        return energy * STRIKE_S * SAMPLE_RATE / float(self.stroke)


@dataclass(frozen=True, slots=True, eq=False)
class Strike:
    """One sound of a beat."""

    at: int
    sound: Struck
    level: float


def stretches_of(sheet: CueSheet) -> tuple[Stretch, ...]:
    """Return the stretches of a track, from its first sample to its last."""
    start, end = samples_at(sheet.lead_in_ms), samples_at(sheet.row_end_ms)
    laid = [Stretch(0, start, None, 0.0)] if start else []
    laid += [_stretch(segment) for segment in sheet.segments]
    length = samples_at(sheet.duration_ms)
    return (*laid, *([Stretch(end, length, None, 0.0)] if length > end else []))


def _stretch(segment: SheetSegment) -> Stretch:
    start, end = samples_at(segment.start_ms), samples_at(segment.end_ms)
    stroke = None
    if segment.rate is not None and SEGMENT_KINDS[segment.kind].is_rowing:
        stroke = 60 * SAMPLE_RATE / middle_rate(segment.rate)
    return Stretch(start, end, stroke, fullness(segment), segment)


def fullness(segment: SheetSegment) -> float:
    """Return how much sounds in a segment, 0 to 1: by effort, never much where it is no work."""
    asked = min(1.0, max(0.0, (segment.effort_pct - 50) / 40))
    if SEGMENT_KINDS[segment.kind].is_work:
        return max(_LEAST_WORK, asked)
    return min(_MOST_CALM, asked)


def chord_starts(stretches: Sequence[Stretch]) -> list[int]:
    """Return where each chord begins: with each stretch, and every few strokes on a catch."""
    starts: list[int] = []
    for stretch in stretches:
        step = CHORD_STROKES * stretch.stroke if stretch.stroke else Fraction(_CALM_CHORD)
        number = 0
        # A chord for less than half its time is not worth the change.
        while number == 0 or stretch.start + (number + Fraction(1, 2)) * step < stretch.end:
            starts.append(round(stretch.start + number * step))
            number += 1
    return starts


def strikes_of(
    stretches: Sequence[Stretch], sheet: CueSheet, chords: Sequence[int], level: float
) -> Iterator[Strike]:
    """Give the beats of a track in order."""
    for stretch in stretches:
        levels = _levels(stretch.fullness)
        for half, at in _half_beats(stretch, sheet.sound.stroke_tones):
            strength = level * levels[half]
            if half == 0:
                yield Strike(at, thump(), strength)
            if strength > 0.0:
                notes = _MALLETS[(bisect_right(chords, at) - 1) % len(_MALLETS)]
                yield Strike(at, mallet(notes[half // 2]), strength * _SOFT)


def _half_beats(stretch: Stretch, tones: ToneSpan) -> Iterator[tuple[int, int]]:
    """Give the half beats of a stretch as (number in its stroke, instant), in order.

    The last beat before a change is left out where it would trip over it.
    """
    if stretch.stroke is None or stretch.segment is None:
        return
    step = stretch.stroke / (2 * BEATS)
    told = (stroke.finish for stroke in strokes_of(stretch.segment, tones))
    finishes = [finish for finish in told if finish is not None]
    for stroke in strokes_of(stretch.segment, ToneSpan.ALL):
        yield 0, stroke.catch
        for half in range(1, 2 * BEATS):
            at = round(stroke.catch + half * step)
            if at < stretch.end - step and not _is_near(at, finishes):
                yield half, at


def _is_near(at: int, finishes: Sequence[int]) -> bool:
    number = bisect_right(finishes, at)
    return any(abs(at - each) < TONE_ROOM for each in finishes[max(0, number - 1) : number + 1])


def _levels(full: float) -> tuple[float, ...]:
    """Return how loud each half beat of a stroke is, the catch first."""
    catch, beat, between = 0.6 + 0.2 * full, 0.3 + 0.35 * full, 0.5 * max(0.0, full - 0.5)
    return (catch, between, beat, between, beat, between, beat, between)
