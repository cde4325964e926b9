"""One line, listened to: found by its clip, its words aligned, its numbers recognised."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from cuegen.schedule.cuesheet import Cue
from cuegen.script.candidate import Line
from cuegen.verify.hear import LEAD_IN_MS, Ear
from cuegen.verify.numbers import number_runs
from cuegen.verify.report import CHECKS, Check, CueVerdict, Fault, HeardCue
from cuegen.verify.seek import SEEK_RATE, Found, Mono, seek
from cuegen.verify.stretches import Stretch, at_seek_rate
from cuegen.voice.clip import Speaker

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


def listen_to_line(stretch: Stretch, speaker: Speaker, ear: Ear | None, gain: float) -> LineHeard:
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
    words = planned, heard = _words(stretch, found, clip, ear)
    if planned and heard != planned:
        check = Check.NUMBERS if heard and number_runs(planned) else Check.WORDS
        said = f"heard {' '.join(heard)!r}" if heard else "its words do not align"
        why = f"{cue.text!r}: {said}"
        return _line(cue, found, CueVerdict.WRONG_WORDS, check, why, words=words, gain=gain)
    if found.weakest < CHECKS[Check.SAMENESS].limit:
        why = (
            f"{cue.text!r} sounds unlike its clip {found.weakest_ms} ms in "
            f"(likeness {found.weakest:.2f})"
        )
        return _line(cue, found, CueVerdict.REPLACED, Check.SAMENESS, why, words=words, gain=gain)
    return _line(cue, found, CueVerdict.OK, None, "", words=words, gain=gain)


Words = tuple[str, ...] | None


def _words(stretch: Stretch, found: Found, clip: Mono, ear: Ear | None) -> tuple[Words, Words]:
    """Return the words planned and heard; (None, None) where they are not checked.

    A codec can blur a short word into its neighbour ("four", "forty"). Where the
    words are not those planned but the sound is its clip's from end to end, the
    clip itself is listened to: what it says, the track says.
    """
    planned = ear.words_of(stretch.cue.text) if ear else None
    if ear is None or planned is None:
        return None, None
    heard = ear.heard(_window(stretch, found, len(clip)), planned)
    if heard != planned and _is_its_clip(found):
        margin = np.zeros(LEAD_IN_MS * SEEK_RATE // 1000)
        heard = ear.heard(np.concatenate([margin, clip, margin]), planned)
    return planned, heard


def _is_its_clip(found: Found) -> bool:
    return found.likeness > _SAME_SOUND and found.weakest >= CHECKS[Check.SAMENESS].limit


def _window(stretch: Stretch, found: Found, length: int) -> Mono:
    """Return the line where it was heard, with the aligner's lead-in on both sides."""
    start = stretch.planned + round(found.offset_ms * SEEK_RATE / 1000)
    margin = LEAD_IN_MS * SEEK_RATE // 1000
    return stretch.sound[max(0, start - margin) : start + length + margin]


def _line(
    cue: Cue,
    found: Found,
    verdict: CueVerdict,
    check: Check | None,
    why: str,
    *,
    words: tuple[Words, Words] = (None, None),
    gain: float | None = None,
) -> LineHeard:
    planned, heard = words
    missing = verdict is CueVerdict.MISSING
    right = sum(a == b for a, b in zip(planned or (), heard or (), strict=False))
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
        planned_words=None if planned is None else len(planned),
        heard_words=None if planned is None else right,
        verdict=verdict,
        why=why,
    )
    fault = Fault(check=check, problem=why, cue=cue.id, at_ms=cue.at_ms) if check else None
    return LineHeard(report, fault, planned is not None and bool(number_runs(planned)))


def _db(ratio: float) -> float:
    return 20 * math.log10(max(ratio, 1e-6))
