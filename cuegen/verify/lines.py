"""One line, listened to: found by its clip, its words aligned, its numbers recognised."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from cuegen.schedule.cuesheet import Cue
from cuegen.script.candidate import Line
from cuegen.verify.lexicon import tokens
from cuegen.verify.numbers import number_runs
from cuegen.verify.report import CHECKS, Check, CueVerdict, Fault, HeardCue
from cuegen.verify.seek import SEEK_RATE, Found, Mono, seek
from cuegen.verify.stretches import Stretch, at_seek_rate
from cuegen.verify.words import LEAD_IN_MS, TAIL_MS, Aligner, Judgement, judge
from cuegen.voice.clip import Speaker

_LEAD_IN = LEAD_IN_MS * SEEK_RATE // 1000
_TAIL = TAIL_MS * SEEK_RATE // 1000

_SAME_SOUND = 0.9
"""Likeness above which the track holds a clip and nothing else of weight (measured: 0.98
and more through each codec, 0.99 with a bed 20 dB under it)."""


@dataclass(frozen=True, slots=True)
class LineHeard:
    """What was heard of a line. fault None: nothing wrong. has_numbers: they were recognised."""

    cue: HeardCue
    fault: Fault | None
    has_numbers: bool = False


def limit_ms(cue: Cue) -> float:
    """Return how far from its instant a cue may be heard."""
    spec = CHECKS[Check.PLACEMENT]
    assert spec.firm_limit is not None
    return spec.firm_limit if cue.firm else spec.limit


def listen_to_line(
    stretch: Stretch, speaker: Speaker, ear: Aligner | None, gain: float
) -> LineHeard:
    """Listen to one line. gain: what the mix made of its clip. ear None: words are not checked."""
    cue = stretch.cue
    clip = at_seek_rate(speaker.clip(Line(cue.text, cue.speed)).samples)
    found = seek(stretch.sound, clip, stretch.planned)
    if found.likeness < CHECKS[Check.PRESENCE].limit:
        why = f"{cue.text!r} is not there (likeness {found.likeness:.2f})"
        return _line(cue, found, CueVerdict.MISSING, Check.PRESENCE, why)
    if abs(found.offset_ms) > limit_ms(cue):
        late = "late" if found.offset_ms > 0 else "early"
        why = f"{cue.text!r} is {abs(found.offset_ms):.1f} ms {late}"
        return _line(cue, found, CueVerdict.MOVED, Check.PLACEMENT, why, gain=gain)
    words = _words(stretch, found, clip, ear)
    if words is not None and not words.judgement.right:
        check = Check.NUMBERS if words.judgement.numbers_right is False else Check.WORDS
        why = f"{cue.text!r}: {words.judgement.why}"
        return _line(cue, found, CueVerdict.WRONG_WORDS, check, why, words=words, gain=gain)
    if found.weakest < CHECKS[Check.SAMENESS].limit:
        why = (
            f"{cue.text!r} sounds unlike its clip {found.weakest_ms} ms in "
            f"(likeness {found.weakest:.2f})"
        )
        return _line(cue, found, CueVerdict.REPLACED, Check.SAMENESS, why, words=words, gain=gain)
    return _line(cue, found, CueVerdict.OK, None, "", words=words, gain=gain)


@dataclass(frozen=True, slots=True)
class _Words:
    planned: tuple[str, ...]
    judgement: Judgement


def _words(stretch: Stretch, found: Found, clip: Mono, ear: Aligner | None) -> _Words | None:
    """Return the words of a line as they were heard; None where they are not checked.

    A codec can blur a short word into its neighbour ("four", "forty"). Where the
    words are not those planned but the sound is its clip's from end to end, the
    clip itself is listened to: what it says, the track says.
    """
    planned = tokens(stretch.cue.text) if ear else None
    if ear is None or not planned:
        return None
    heard = ear.hear(planned, _pcm(_window(stretch, found, len(clip))))
    if heard.unknown:
        return None
    judgement = judge(planned, heard)
    if not judgement.right and _is_its_clip(found):
        judgement = judge(planned, ear.hear(planned, _pcm(_padded(clip))))
    return _Words(planned, judgement)


def _padded(clip: Mono) -> Mono:
    return np.concatenate([np.zeros(_LEAD_IN), clip, np.zeros(_TAIL)])


def _pcm(sound: Mono) -> bytes:
    """Return sound as the aligner takes it: 16 bits, its peak at half of full scale."""
    peak = float(np.abs(sound).max(initial=0.0))
    return np.rint(sound * (16_384 / peak if peak > 0 else 0.0)).astype("<i2").tobytes()


def _is_its_clip(found: Found) -> bool:
    return found.likeness > _SAME_SOUND and found.weakest >= CHECKS[Check.SAMENESS].limit


def _window(stretch: Stretch, found: Found, length: int) -> Mono:
    """Return the line where it was heard, with the quiet that the aligner wants around it."""
    start = stretch.planned + round(found.offset_ms * SEEK_RATE / 1000)
    return stretch.sound[max(0, start - _LEAD_IN) : start + length + _TAIL]


def _line(
    cue: Cue,
    found: Found,
    verdict: CueVerdict,
    check: Check | None,
    why: str,
    *,
    words: _Words | None = None,
    gain: float | None = None,
) -> LineHeard:
    missing = verdict is CueVerdict.MISSING
    report = HeardCue(
        id=cue.id,
        kind=cue.kind,
        firm=cue.firm,
        text=cue.text,
        planned_ms=cue.at_ms,
        heard_ms=None if missing else round(cue.at_ms + found.offset_ms, 3),
        offset_ms=None if missing else round(found.offset_ms, 3),
        limit_ms=limit_ms(cue),
        match=round(found.likeness, 4),
        level_db=None if missing or gain is None else round(_db(abs(found.gain) / gain), 2),
        below_db=None if missing else round(found.rest_db, 1),
        planned_words=None if words is None else len(words.planned),
        heard_words=None if words is None else words.judgement.found,
        verdict=verdict,
        why=why,
    )
    fault = Fault(check=check, problem=why, cue=cue.id, at_ms=cue.at_ms) if check else None
    return LineHeard(report, fault, words is not None and bool(number_runs(words.planned)))


def _db(ratio: float) -> float:
    return 20 * math.log10(max(ratio, 1e-6))
