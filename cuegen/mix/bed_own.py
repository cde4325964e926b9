"""A bed of our own: chords and soft beats that follow the strokes and the effort of a session.

Conventions
    Instants are absolute samples. Beats stand on the stroke: BEATS of them for each,
    the first on the catch, at the very samples of the stroke tones
    (cuegen.mix.tones); no error adds up. Fullness is 0 (paddle, rest, easy rowing:
    low chords, few beats) to 1 (hard work: all voices, brighter, beats between the
    beats). Loudness is the same at every fullness, 0 LUFS.

A beat that would fall close to a finish tone is left to the tone. Chords change on
catches. All gains move along a grid of CONTROL samples, so that how the track is cut
into blocks changes nothing and a change is a slope, never a step.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count

import numpy as np
from numpy.typing import NDArray

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.signal import Signal
from cuegen.mix.bed_powers import CHANNELS, STEP, UNIT_POWER, Powers
from cuegen.mix.bed_score import Stretch, Strike, chord_starts, stretches_of, strikes_of
from cuegen.mix.bed_tones import LOOP, Notes, chord
from cuegen.mix.layers import Sounding
from cuegen.plan.model import OwnBed
from cuegen.schedule.cuesheet import CueSheet

CONTROL = STEP // 2
RAMP = samples_at(1_600)
"""How long fullness takes to follow a change, and one chord to become the next."""

_CALM_BREATH = samples_at(6_000)
_SETTLED = samples_at(300)

Curve = NDArray[np.float64]
# Over A: A with its second, F sharp minor, D, B on E. Low, middle and bright notes of each.
_CHORDS: tuple[tuple[Notes, Notes, Notes], ...] = (
    ((110.0, 165.0), (220.0, 275.0, 247.5), (495.0, 550.0, 880.0)),
    ((91.75, 137.5), (183.25, 220.0, 275.0), (440.0, 550.0, 733.25)),
    ((110.0, 146.75), (183.25, 220.0, 275.0), (440.0, 586.75, 733.25)),
    ((82.5, 123.75), (185.5, 220.0, 247.5), (440.0, 495.0, 742.5)),
)
_CUTOFFS_HZ = (420.0, 800.0, 1_500.0)


@dataclass(frozen=True, slots=True)
class Character:
    """How one bed of our own sounds. breath: how far the chords swell with each stroke, 0 to 1.

    beats: how loud beats are beside the chords, 0 for none.
    """

    breath: float
    beats: float


CHARACTERS: dict[OwnBed, Character] = {
    OwnBed.PULSE: Character(breath=0.15, beats=1.0),
    OwnBed.SWELL: Character(breath=0.5, beats=0.0),
}


class SyntheticBed:
    """A bed of our own along a sheet."""

    doubt_db = 2.5
    """How far 400 ms of it are louder than its powers tell (2.0 dB at most, measured)."""

    def __init__(self, sheet: CueSheet, name: OwnBed) -> None:
        self._character = CHARACTERS[name]
        self._sheet = sheet
        self._stretches = stretches_of(sheet)
        self._starts = np.array([stretch.start for stretch in self._stretches])
        self._ends = np.array([*self._starts[1:], np.inf])
        self._strokes = np.array([float(s.stroke or _CALM_BREATH) for s in self._stretches])
        self._chords = chord_starts(self._stretches)
        self._turns = _turns(np.array(self._chords, dtype=np.float64))
        self._full = _ramped(self._stretches, [each.fullness for each in self._stretches])
        beaten = [self._beat_power(stretch) for stretch in self._stretches]
        self._beaten = _ramped(self._stretches, beaten)
        self.powers = self._powers(samples_at(sheet.duration_ms))

    def blocks(self) -> Iterator[Signal]:
        """Give the bed from the start of the track on, without end."""
        strikes = self._strikes()
        coming = next(strikes, None)
        sounding = Sounding()
        for start in count(0, SAMPLE_RATE):
            block = self._held(start)
            while coming is not None and coming.at < start + SAMPLE_RATE:
                gain = np.float32(coming.level * self._level(np.array([coming.at]))[0])
                sounding.begin(coming.at, coming.sound.samples * gain)
                coming = next(strikes, None)
            struck = np.zeros((SAMPLE_RATE, 1), dtype=np.float32)
            sounding.add_to(struck, start)
            block += struck
            yield block

    def _held(self, start: int) -> Signal:
        """Return a second of chords."""
        at = np.arange(start, start + SAMPLE_RATE + 1, CONTROL, dtype=np.float64)
        gain = self._level(at) * self._breath(at)
        voices = _voice_levels(np.interp(at, *self._full))
        turn = np.interp(at, *self._turns)
        from_loop = start % LOOP
        block = np.zeros((SAMPLE_RATE, CHANNELS), dtype=np.float32)
        for number in range(int(turn.min()), int(np.ceil(turn.max())) + 1):
            share = np.cos(np.pi / 2 * np.minimum(1.0, np.abs(turn - number)))
            for voice, level in enumerate(voices):
                moving = gain * share * level
                if moving.max() > 1e-5:
                    loop = _loop(number, voice)[from_loop : from_loop + SAMPLE_RATE]
                    block += loop * _between(moving)
        return block

    def _strikes(self) -> Iterator[Strike]:
        if self._character.beats > 0.0:
            yield from strikes_of(self._stretches, self._sheet, self._chords, self._character.beats)

    def _beat_power(self, stretch: Stretch) -> float:
        """Return the mean power that beats add, against chords of power 1."""
        return stretch.beat_power * self._character.beats**2

    def _level(self, at: Curve) -> Curve:
        """Return the gain that keeps loudness the same, however much sounds."""
        return np.asarray(1.0 / np.sqrt(self._held_power(at) + np.interp(at, *self._beaten)))

    def _held_power(self, at: Curve) -> Curve:
        voices = np.stack(_voice_levels(np.interp(at, *self._full)))
        return np.asarray(np.square(voices).sum(axis=0))

    def _breath(self, at: Curve) -> Curve:
        """Return how the chords swell with each stroke: least at the catch, steady at changes."""
        depth = self._character.breath
        number = np.searchsorted(self._starts, at, side="right") - 1
        since, left = at - self._starts[number], self._ends[number] - at
        settled = np.clip(np.minimum(since, left) / _SETTLED, 0.0, 1.0)
        wave = 1.0 - depth * settled * np.cos(2 * np.pi * since / self._strokes[number])
        return np.asarray(wave / np.sqrt(1.0 + 0.5 * depth**2))

    def _powers(self, length: int) -> Powers:
        """Return the power of the track's every 20 ms, told from the parts."""
        steps = -(-length // STEP)
        at = np.arange(steps, dtype=np.float64) * STEP + STEP / 2.0
        level = self._level(at)
        powers = np.square(level * self._breath(at)) * self._held_power(at) * UNIT_POWER
        for strike in self._strikes():
            added = strike.sound.powers
            first = strike.at // STEP
            room = powers[first : first + len(added)]
            if len(room):
                room += added[: len(room)] * (strike.level * level[first]) ** 2
        return np.asarray(powers, dtype=np.float32)


def _voice_levels(full: Curve) -> tuple[Curve, Curve, Curve]:
    """Return how loud the low, the middle and the bright voices are."""
    return np.ones_like(full), 0.25 + 0.65 * full, 0.7 * full**1.5


def _loop(number: int, voice: int) -> Signal:
    """Return one voice of a chord, turned so that what sounds together adds up in power.

    Voices of a chord, and a voice of two chords that follow each other, stand a quarter
    apart. Neighbouring voices of these two do not: half of them are turned over, so
    that they take away as much as they add.
    """
    which = number % len(_CHORDS)
    over = 2 if voice == 1 and which % 2 else 0
    return chord(_CHORDS[which][voice], _CUTOFFS_HZ[voice], (voice + which) % 2 + over)


def _between(points: Curve) -> Signal:
    """Return gains at control points as one for each sample, in straight lines, (n, 1)."""
    way = np.arange(CONTROL, dtype=np.float32) / CONTROL
    from_points = points[:-1, np.newaxis].astype(np.float32)
    steps = np.diff(points)[:, np.newaxis].astype(np.float32)
    return np.asarray(from_points + steps * way, dtype=np.float32).reshape(-1, 1)


def _ramped(stretches: tuple[Stretch, ...], values: list[float]) -> tuple[Curve, Curve]:
    """Return points of a curve that moves to each stretch's value from its start on."""
    at, value = [0.0], [values[0]]
    for stretch, before, now in zip(stretches[1:], values, values[1:], strict=False):
        ramp = min(RAMP, stretch.end - stretch.start)
        at += [stretch.start, stretch.start + ramp]
        value += [before, now]
    return np.array(at), np.array(value)


def _turns(starts: Curve) -> tuple[Curve, Curve]:
    """Return points of the curve that tells which chord sounds: 1.5 is half way from 1 to 2."""
    number = np.arange(len(starts), dtype=np.float64)
    turned_at = np.minimum(starts + RAMP, np.append(starts[1:], starts[-1] + RAMP))
    at = np.stack([starts, turned_at], axis=1).reshape(-1)
    turned = np.stack([np.maximum(0.0, number - 1.0), number], axis=1).reshape(-1)
    return at, turned
