"""How clear each line is: STOI of the line as it stands in the track, in the noise of halls.

Conventions
    The clean speech is the line's clip; what is heard is the decoded track at its
    place, bed, tones and coding noise and all, with a hall's noise added
    (cuegen.dsp.hall). The noise lies so far under speech as the hall says, speech
    meaning the usual level of the lines heard so far: a line that is softer than the
    others is closer to the noise, as it would be in a room. Same track, same figures.

    A clip under LEAST_S is heard over and over until so much is full, since STOI
    needs 0.4 s of speech (measured: counted beats then read as longer lines do).

What a figure means: cuegen.dsp.stoi.words_share. HARD_STOI is where by that curve
one word in twenty of everyday sentences is lost; that it is worth a word to the
coach is our own judgement. It warns and never fails a track: it is a model of
listeners, of a hall that was described and not recorded.
"""

from __future__ import annotations

import statistics
from collections import deque
from collections.abc import Iterable, Iterator

import numpy as np

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.hall import HALLS, hall_noise
from cuegen.dsp.signal import Signal
from cuegen.dsp.stoi import STOI_RATE, Reference, words_share
from cuegen.verify.report import HallHeard, HeardCue, Notice
from cuegen.verify.seek import SEEK_RATE, Found, at_rate
from cuegen.voice.clip import CLIP_LUFS

LEAST_S = 1
HARD_STOI = 0.72

_LINES = 25
"""Lines whose level says how loud speech is: enough that one soft line moves nothing."""
_SOFT_DB = 1.5
_BED_FELT_DB = 16.0
"""A bed nearer than this adds to a full hall: at 16 dB a twentieth of its noise."""


class Clearness:
    """Measures lines, one after the other, in each of HALLS."""

    def __init__(self) -> None:
        self._gains: deque[float] = deque(maxlen=_LINES)

    def of(self, found: Found, clip: Signal, start_ms: int) -> tuple[float, ...]:
        """Return STOI in each hall; nothing where there is too little speech to tell."""
        self._gains.append(found.gain)
        level = statistics.median(self._gains)
        clean, heard = _side_by_side(found, clip)
        reference = Reference(clean)
        if level <= 0 or not reference.long_enough:
            return ()
        at = samples_at(start_ms, STOI_RATE) + np.arange(len(heard))
        return tuple(
            round(reference.stoi(heard / np.float32(level) + _noise(number, at)), 4)
            for number in range(len(HALLS))
        )


def _noise(number: int, at: np.typing.NDArray[np.int_]) -> Signal:
    hall = HALLS[number]
    noise = hall_noise(hall, CLIP_LUFS - hall.over_lu, STOI_RATE)
    return np.asarray(noise[at % len(noise)])


def _side_by_side(found: Found, clip: Signal) -> tuple[Signal, Signal]:
    """Return a clip and what the track has in its place, at STOI_RATE and equally long.

    Both are cut off sharply at 5 kHz, which rings where no band of STOI reaches: the last
    ends at 4.3 kHz.
    """
    first = round(found.at * STOI_RATE / SEEK_RATE)
    clean = at_rate(found.planned, STOI_RATE)[: -(-len(clip) * STOI_RATE // SAMPLE_RATE)]
    heard = at_rate(found.track, STOI_RATE)[first : first + len(clean)]
    length = min(len(clean), len(heard))
    times = -(-LEAST_S * STOI_RATE // max(length, 1)) if length < LEAST_S * STOI_RATE else 1
    return np.tile(clean[:length], times), np.tile(heard[:length], times)


def halls_heard(cues: Iterable[HeardCue]) -> tuple[HallHeard, ...]:
    """Return what all lines together are like in each hall."""
    measured = [cue for cue in cues if cue.stoi]
    if not measured:
        return ()
    return tuple(_hall_heard(number, measured) for number in range(len(HALLS)))


def _hall_heard(number: int, measured: list[HeardCue]) -> HallHeard:
    middle = statistics.median(cue.stoi[number] for cue in measured)
    worst = min(measured, key=lambda cue: cue.stoi[number])
    return HallHeard(
        name=HALLS[number].name,
        over_lu=HALLS[number].over_lu,
        median_stoi=round(middle, 3),
        worst_stoi=round(worst.stoi[number], 3),
        worst_cue=worst.id,
        hard=sum(cue.stoi[number] < HARD_STOI for cue in measured),
        words_pct=round(100 * words_share(middle)),
    )


def notices(cues: Iterable[HeardCue]) -> Iterator[Notice]:
    """Yield the lines that would be hard to hear in the loudest hall, the worst first."""
    hard = [cue for cue in cues if cue.stoi and cue.stoi[-1] < HARD_STOI]
    for cue in sorted(hard, key=lambda cue: cue.stoi[-1]):
        lost = round(100 * (1 - words_share(cue.stoi[-1])))
        yield Notice(
            problem=f"{cue.text!r} would be hard to hear in {HALLS[-1].name}: STOI "
            f"{cue.stoi[-1]:.2f}, about {lost} words in 100 lost",
            remedy=_remedy(cue),
            cue=cue.id,
            at_ms=cue.planned_ms,
        )


def _remedy(cue: HeardCue) -> str:
    """Return what would help, by what is measured of the line."""
    if cue.below_db is not None and cue.below_db < _BED_FELT_DB:
        return "Put what sounds under it further down (`below` of the plan's `bed`)."
    if cue.level_db is not None and cue.level_db < -_SOFT_DB:
        return f"It is {-cue.level_db:.1f} dB softer than it was planned: make it louder."
    return "Say it in other words, or have it said by another voice."
