"""One line, listened to: found by its clip, its words aligned, its numbers recognised.

In two steps, since words are heard elsewhere meanwhile (cuegen.hearing.ears):
`listen_to_line` finds the clip and sends the words off, `settled` waits for them
and judges.
"""

from __future__ import annotations

import math
from concurrent.futures import Future
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from cuegen.clock import samples_at
from cuegen.dsp.signal import Signal
from cuegen.hearing.ears import EarsLostError
from cuegen.hearing.lexicon import tokens
from cuegen.hearing.numbers import number_runs
from cuegen.hearing.words import LEAD_IN_MS, TAIL_MS, Hearing, Judgement, judge, pcm_of
from cuegen.schedule.cuesheet import Cue
from cuegen.script.candidate import Line
from cuegen.verify.clearness import Clearness
from cuegen.verify.report import CHECKS, Check, CueVerdict, Fault, HeardCue
from cuegen.verify.seek import SEEK_RATE, Found, Mono, seek
from cuegen.verify.stretches import PLANNED, Stretch
from cuegen.voice.clip import CLIP_LUFS, Clip, Speaker

NEAR_MS = 350
"""Lines are looked for here first, and farther away only where they are not."""

_BEFORE_MS, _AFTER_MS = 150, 400
"""For how long around a line a bed is down as under it."""

_SAME_SOUND = 0.9
"""Likeness above which the track holds a clip and nothing else of weight (measured: 0.98
and more through each codec, 0.99 with a bed 20 dB under it)."""

_HALF_ANOTHER = 0.7
"""A line less like its clip than this is only in part its clip (0.93 and more with a bed 6 dB
under it, measured)."""

_GONE_DB = -20.0
"""Where a line is not found and its place is so far under its level, nothing sounds there."""

_ANSWER_S = 60.0


class Hearer(Protocol):
    """What hears words: cuegen.hearing.ears.Ears."""

    def hear(self, words: tuple[str, ...], pcm: bytes) -> Future[Hearing]: ...


@dataclass(frozen=True, slots=True)
class Words:
    """planned words, and what became of them. judgement None: not checked, `why` says why."""

    planned: tuple[str, ...]
    judgement: Judgement | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class LineHeard:
    """What was heard of a line. fault None: nothing wrong. words None: nobody asked for them.

    speech_power: gated K-weighted mean square of the line. rest_power, spoken_power,
    coding: cuegen.verify.seek.Found.
    """

    cue: HeardCue
    fault: Fault | None
    words: Words | None
    rest_power: float
    spoken_power: float
    coding: float
    speech_power: float
    length_ms: int

    @property
    def has_numbers(self) -> bool:
        """Return whether numbers of this line were recognised."""
        checked = self.words is not None and self.words.judgement is not None
        return checked and self.words is not None and bool(number_runs(self.words.planned))


@dataclass(frozen=True, slots=True, eq=False)
class Listened:
    """A line that was looked for; its words may still be on their way.

    unasked: why its words are not asked for, None where they are. stoi: how clear it is
    in each hall, nothing where that was not measured.
    """

    cue: Cue
    offset_ms: float
    found: Found
    channels: int
    sounds: bool
    asked: Future[Hearing] | None
    planned: tuple[str, ...] | None
    unasked: str | None = None
    stoi: tuple[float, ...] = ()

    def without_sound(self) -> Listened:
        """Return the line without its window, for keeping."""
        nothing, none = np.zeros(0, dtype=np.float32), np.zeros(0, dtype=np.complex64)
        return replace(self, found=replace(self.found, sound=nothing, track=none, planned=none))

    def placed(self, cue: Cue, by_ms: int) -> Listened:
        """Return the line as one of the sheet, found so far from a place that was moved."""
        return replace(self, cue=cue, offset_ms=self.offset_ms + by_ms)


def limit_ms(cue: Cue) -> float:
    """Return how far from its instant a cue may be heard."""
    spec = CHECKS[Check.PLACEMENT]
    assert spec.firm_limit is not None
    return spec.firm_limit if cue.firm else spec.limit


def listen_to_line(
    stretch: Stretch,
    speaker: Speaker,
    ears: Hearer | None,
    gain: float,
    *,
    voice_follows: bool = True,
    clearness: Clearness | None = None,
) -> Listened:
    """Look for a line. gain: what the mix made of its clip. ears None: words are not checked.

    voice_follows: whether the aligner follows the voice; a take says so of itself.
    """
    cue = stretch.cue
    spoken = speaker.clip(Line(cue.text, cue.speed))
    clip, unasked = spoken.samples, _unasked(spoken, voice_follows)
    found, offset_ms = _sought(stretch, clip, NEAR_MS)
    if found.likeness < CHECKS[Check.PRESENCE].limit:
        farther, farther_ms = _sought(stretch, clip, None)
        if farther.likeness >= CHECKS[Check.PRESENCE].limit:
            found, offset_ms = farther, farther_ms
    planned = tokens(cue.text) if ears and unasked is None else None
    there = _sounds(stretch, clip, gain)
    asked = None
    if ears and planned and there:
        asked = ears.hear(planned, pcm_of(_window(stretch, found, len(clip))))
    stoi: tuple[float, ...] = ()
    if clearness and found.likeness >= CHECKS[Check.PRESENCE].limit:
        stoi = clearness.of(found, clip, cue.start_ms)
    channels = stretch.sound.shape[1]
    return Listened(cue, offset_ms, found, channels, there, asked, planned, unasked, stoi)


def _unasked(spoken: Clip, voice_follows: bool) -> str | None:
    """Return why the words of a clip are not asked for: it is known by its sound alone.

    Nothing is said of a line of a voice that the aligner does not follow: the report says
    so once.
    """
    if spoken.follows is None:
        return None if voice_follows else ""
    return None if spoken.follows else "the aligner does not follow this take"


def settled(line: Listened, speaker: Speaker, ears: Hearer | None, gain: float) -> LineHeard:
    """Wait for a line's words and say what was heard."""
    cue, found, off_ms = line.cue, line.found, line.offset_ms
    if found.likeness < CHECKS[Check.PRESENCE].limit and not line.sounds:
        why = f"{cue.text!r} is missing, its place is silent"
        return _heard(line, CueVerdict.MISSING, Check.PRESENCE, why, gain=gain)
    words = _words(line, speaker, ears)
    said = words.judgement.why if words and words.judgement else ""
    if found.likeness < CHECKS[Check.PRESENCE].limit:
        why = f"{cue.text!r} is not there (likeness {found.likeness:.2f})"
        if said:
            why = f"{why}: {said}"
        elif words and words.judgement:
            why = f"{why}, though its words are: another recording of them"
        return _heard(line, CueVerdict.MISSING, Check.PRESENCE, why, gain=gain, words=words)
    if abs(off_ms) > limit_ms(cue):
        why = f"{cue.text!r} is {abs(off_ms):.1f} ms {'late' if off_ms > 0 else 'early'}"
        return _heard(line, CueVerdict.MOVED, Check.PLACEMENT, why, gain=gain, words=words)
    if said and words and words.judgement:
        check = Check.NUMBERS if words.judgement.numbers_right is False else Check.WORDS
        why = f"{cue.text!r} {said}"
        return _heard(line, CueVerdict.WRONG_WORDS, check, why, gain=gain, words=words)
    if not _is_all_alike(found):
        why = (
            f"{cue.text!r} sounds unlike its clip {found.weakest_ms} ms in "
            f"(likeness {max(0.0, found.weakest):.2f}, of the whole {found.likeness:.2f})"
        )
        return _heard(line, CueVerdict.REPLACED, Check.SAMENESS, why, gain=gain, words=words)
    return _heard(line, CueVerdict.OK, None, "", gain=gain, words=words)


def _clip(speaker: Speaker, cue: Cue) -> Signal:
    return speaker.clip(Line(cue.text, cue.speed)).samples


def _sought(stretch: Stretch, clip: Signal, near_ms: int | None) -> tuple[Found, float]:
    """Return where the clip is, up to so far from its place, and its offset in ms."""
    room = PLANNED if near_ms is None else samples_at(near_ms)
    first = PLANNED - room
    found = seek(
        stretch.sound[first : PLANNED + len(clip) + room],
        clip,
        before=min(_BEFORE_MS, stretch.clear_before_ms) * SEEK_RATE // 1000,
        after=min(_AFTER_MS, stretch.clear_after_ms) * SEEK_RATE // 1000,
    )
    return found, found.at * 1000 / SEEK_RATE - (PLANNED - first) * 1000 / samples_at(1000)


def _sounds(stretch: Stretch, clip: Signal, gain: float) -> bool:
    """Return whether anything of a line's weight sounds where it was planned."""
    there = stretch.sound[PLANNED : PLANNED + len(clip)].mean(axis=1)
    power, wanted = float(there @ there), float(clip @ clip) * gain**2
    return 10 * math.log10(max(power, 1e-12) / max(wanted, 1e-12)) > _GONE_DB


def _words(line: Listened, speaker: Speaker, ears: Hearer | None) -> Words | None:
    """Return what became of a line's words; None where nobody asked for them.

    A codec can blur a short word into its neighbour ("four", "forty"), music can
    hide one. Where the words are not those planned but the sound is its clip's
    from end to end, the clip itself is listened to: what it says, the track says.
    """
    if ears is None:
        return None
    planned = line.planned
    if line.unasked is not None or not planned:
        unread = "it is written so that its reading cannot be told"
        return Words((), None, unread if line.unasked is None else line.unasked)
    if line.asked is None:
        return Words(planned, None, "nothing sounds")
    try:
        heard = line.asked.result(_ANSWER_S)
        if heard.unknown:
            unknown = ", ".join(heard.unknown)
            return Words(planned, None, f"no pronunciation is known of {unknown}")
        judgement = judge(planned, heard)
        if not judgement.right and _is_its_clip(line.found):
            again = ears.hear(planned, pcm_of(_padded(_clip(speaker, line.cue))))
            judgement = judge(planned, again.result(_ANSWER_S))
    except (EarsLostError, TimeoutError):
        return Words(planned, None, "the aligner stopped at it")
    return Words(planned, judgement)


def _is_all_alike(found: Found) -> bool:
    return found.likeness >= _HALF_ANOTHER and found.weakest >= CHECKS[Check.SAMENESS].limit


def _is_its_clip(found: Found) -> bool:
    return found.likeness > _SAME_SOUND and _is_all_alike(found)


def _padded(clip: Signal) -> Mono:
    """Return a clip at the aligner's rate with the quiet that it wants around it."""
    lead, tail = samples_at(LEAD_IN_MS), samples_at(TAIL_MS)
    window = np.concatenate([np.zeros(lead), clip, np.zeros(tail)]).astype(np.float32)
    return seek(window[:, np.newaxis], clip, before=0, after=0).sound


def _window(stretch: Stretch, found: Found, length: int) -> Mono:
    """Return the line where it was heard, with the quiet that the aligner wants around it.

    What belongs to the lines beside it is taken away.
    """
    lead, tail = LEAD_IN_MS * SEEK_RATE // 1000, TAIL_MS * SEEK_RATE // 1000
    start = round(found.at)
    stop = start + length * SEEK_RATE // samples_at(1000)
    sound = np.concatenate([np.zeros(lead), found.sound, np.zeros(tail)]).astype(np.float32)
    window = sound[start : stop + lead + tail].copy()
    clear_before = stretch.clear_before_ms * SEEK_RATE // 1000
    clear_after = stretch.clear_after_ms * SEEK_RATE // 1000
    window[: max(0, lead - clear_before)] = 0.0
    window[len(window) - max(0, tail - clear_after) :] = 0.0
    return window


def _heard(
    line: Listened,
    verdict: CueVerdict,
    check: Check | None,
    why: str,
    *,
    gain: float,
    words: Words | None = None,
) -> LineHeard:
    cue, found = line.cue, line.found
    missing = verdict is CueVerdict.MISSING
    judgement = words.judgement if words else None
    speech = 10 ** ((CLIP_LUFS + 0.691) / 10) * found.gain**2 * line.channels
    report = HeardCue(
        id=cue.id,
        kind=cue.kind,
        firm=cue.firm,
        text=cue.text,
        planned_ms=cue.at_ms,
        heard_ms=None if missing else round(cue.at_ms + line.offset_ms, 3),
        offset_ms=None if missing else round(line.offset_ms, 3),
        limit_ms=limit_ms(cue),
        match=round(found.likeness, 4),
        level_db=None if missing else round(20 * math.log10(max(found.gain / gain, 1e-6)), 2),
        stoi=line.stoi,
        planned_words=len(words.planned) if words and judgement else None,
        heard_words=judgement.found if judgement else None,
        verdict=verdict,
        why=why,
    )
    fault = Fault(check=check, problem=why, cue=cue.id, at_ms=cue.at_ms) if check else None
    return LineHeard(
        cue=report,
        fault=fault,
        words=words,
        rest_power=found.rest_power,
        spoken_power=found.spoken_power,
        coding=found.coding,
        speech_power=speech,
        length_ms=cue.end_ms - cue.start_ms,
    )
