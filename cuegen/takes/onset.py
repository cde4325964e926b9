"""Where the first word of a take begins, and where the last one has ended.

Conventions
    Sound is mono at SAMPLE_RATE, repaired; instants are milliseconds of it.

Two steps. The aligner says which sound is the first word, to some tens of milliseconds
and mostly early (median 25 to 36 ms, measured): a breath, a click or a chair before it
is thereby left out. Near there the wave itself says when: the onset is where its
level first stays over ONSET_DB under its loudest, or over the noise of the pauses where
that is higher, as finishing defines the onset of any clip (cuegen.voice.finishing).
Without an aligner the first piece that speaks is taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.takes.cuts import Piece, stretch_of
from cuegen.voice.clip import Samples
from cuegen.voice.finishing import END_DB, ONSET_DB, STAY_MS, WINDOW_MS

BEFORE_MS, AFTER_MS = 90, 150
"""How far around the aligner's start of a word its onset is looked for."""

BIAS_MS = 25
"""How much earlier than the wave the aligner puts a first word, where the wave cannot tell."""

OVER_NOISE_DB = 4.0
"""The onset rises so far over the loudest of the noise (all but 1 % of it)."""

FINE_MS = 1
LEAST_LEAD_MS = 100

CREST_DB = 14.0
"""Single samples of noise stand so far over its mean now and then (4 to 5 deviations)."""

AFTER_LAST_MS = 400
"""A last sound may ring on so long after the last word, as an "s" or "sh" does."""

_STAYS = 0.75

Power = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Threshold:
    """The power over which sound is speech.

    noisy: the noise of the pauses decides it. grainy: single samples of the noise reach it.
    """

    power: float
    noisy: bool = False
    grainy: bool = False


def threshold_of(sound: Samples, pieces: Sequence[Piece], quiet: Sequence[Piece]) -> Threshold:
    """Return what is speech in a take.

    Noise is that of the lead-in, where the onset has to stand out; where there is hardly
    one, that of all pauses. A pause that is too short may be a word fading.
    """
    loudest = float(_power(sound).max(initial=0.0))
    still = loudest * 10 ** (ONSET_DB / 10)
    lead = [span for span in quiet if span.end_ms <= pieces[0].start_ms]
    spans = lead if _length_ms(lead) >= LEAST_LEAD_MS else quiet
    if _length_ms(spans) < LEAST_LEAD_MS:
        return Threshold(still)
    noise = float(np.percentile(_power(stretch_of(sound, SAMPLE_RATE, spans)), 99))
    over = noise * 10 ** (OVER_NOISE_DB / 10)
    return Threshold(max(still, over), over > still, noise * 10 ** (CREST_DB / 10) > still)


def first_word_ms(
    sound: Samples, speech: Threshold, pieces: Sequence[Piece], aligned_ms: int | None
) -> float:
    """Return where the first word begins. aligned_ms: the aligner's start of it, None without."""
    hint_ms = pieces[0].start_ms if aligned_ms is None else aligned_ms
    first = max(0, samples_at(hint_ms - BEFORE_MS))
    power = _power(sound[first : max(0, samples_at(hint_ms + AFTER_MS + STAY_MS))])
    found = _rise(power > speech.power, has_before=first > 0)
    if found is None:
        return hint_ms + BIAS_MS * (aligned_ms is not None)
    # Within that window, the first sample that itself reaches it; in noise, where single
    # samples stand out, the first millisecond. The window's first where none does.
    start = first + found
    fine = samples_at(FINE_MS) if speech.grainy else 1
    inside = _power(sound[start : start + samples_at(WINDOW_MS) + fine], fine) > speech.power
    return (start + int(np.argmax(inside))) * 1000 / SAMPLE_RATE


def last_word_ms(sound: Samples, speech: Threshold, aligned_ms: int | None) -> float:
    """Return where the last sound of the last word has faded."""
    stop = len(sound) if aligned_ms is None else samples_at(aligned_ms + AFTER_LAST_MS)
    power = _power(sound[:stop])
    below_db = 0.0 if speech.noisy else END_DB - ONSET_DB
    loud = np.flatnonzero(power > speech.power * 10 ** (below_db / 10))
    last = int(loud[-1]) + samples_at(WINDOW_MS) if len(loud) else len(power)
    return min(last, len(sound)) * 1000 / SAMPLE_RATE


def _length_ms(spans: Sequence[Piece]) -> int:
    return sum(span.length_ms for span in spans)


def _power(sound: Samples, width: int = samples_at(WINDOW_MS)) -> Power:
    """Return the mean power of the window from each sample on; past the end it is silent."""
    sums = np.concatenate([[0.0], np.cumsum(np.square(sound, dtype=np.float64)), np.zeros(width)])
    sums[len(sound) + 1 :] = sums[len(sound)]
    return np.asarray((sums[width:] - sums[:-width])[: len(sound)] / width)


def _rise(over: NDArray[np.bool_], *, has_before: bool) -> int | None:
    """Return where a level is first reached and then kept; None where it never is.

    What is over it from the start belongs to a sound before the word, and its end is
    waited for; but where nothing was recorded before, the take begins within its word.
    """
    stay = samples_at(STAY_MS)
    if len(over) <= stay:
        return None
    start = 0
    if has_before and over[:stay].mean() >= _STAYS:
        falls = np.flatnonzero(~over)
        if len(falls) == 0:
            return None
        start = int(falls[0])
    held = np.cumsum(np.concatenate([[0], over]))
    share = (held[stay:] - held[:-stay]) / stay
    lasting = np.flatnonzero(over[: len(share)] & (share >= _STAYS))
    lasting = lasting[lasting >= start]
    return int(lasting[0]) if len(lasting) else None
