"""Reading back a delivered file: the whole verification, in one pass over its sound.

Conventions
    The file is decoded once, a block at a time. Meters take each block; a line is
    listened to as soon as its stretch is there, and the sound before it is let go,
    so memory does not grow with the track. Words are heard by other processes
    meanwhile. A bad track gives a report with faults; only a file that cannot be
    decoded raises (AudioError).

    A file in which hardly any line is found near its place is gone through once
    more, where its sound as a whole fits the plan best.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path

from cuegen.dsp.decode import AudioSource, open_audio
from cuegen.dsp.signal import Signal, gain_of
from cuegen.errors import VoiceError
from cuegen.hearing.ears import Ears, ears_for
from cuegen.mix.levels import levels_of
from cuegen.schedule.cuesheet import Cue, CueSheet
from cuegen.telling import Progress
from cuegen.verify.clearness import Clearness
from cuegen.verify.judging import report_of
from cuegen.verify.levels import TrackMeters, coarse_shift_ms
from cuegen.verify.lines import LineHeard, Listened, listen_to_line, settled
from cuegen.verify.report import CHECKS, Check, ListeningReport, Skipped
from cuegen.verify.stretches import REACH_MS, stretches
from cuegen.voice.clip import Speaker
from cuegen.voice.table import find_voice

_HARDLY_ANY = 0.2

_UNDER_WAY = 32
"""Lines whose words may still be being heard; more than the ears keep waiting."""


def listen(
    audio: Path,
    sheet: CueSheet,
    speaker: Speaker,
    *,
    ears: Ears | None = None,
    on_progress: Progress | None = None,
) -> ListeningReport:
    """Return what was heard in a file against its sheet. Raises AudioError.

    ears: those that hear the words, for many files in a row; by default some of its own.
    on_progress: told lines listened to.
    """
    source = open_audio(audio)
    skipped = _words_unheard(sheet)
    meters = TrackMeters(source.channels)
    gain = gain_of(levels_of(sheet).speech_db)
    clearness = Clearness()
    wanted = not skipped or _takes_follow(sheet)
    given = nullcontext(ears if wanted else None)
    with Ears(ears_for(len(sheet.cues))) if wanted and ears is None else given as hearing:
        pending: deque[Listened] = deque()
        done: list[LineHeard] = []
        for stretch in stretches(_metered(source, meters), sheet.cues, source.channels):
            line = listen_to_line(
                stretch, speaker, hearing, gain, voice_follows=not skipped, clearness=clearness
            )
            pending.append(line.without_sound())
            if len(pending) > _UNDER_WAY:
                done.append(settled(pending.popleft(), speaker, hearing, gain))
            if on_progress is not None:
                on_progress(len(done) + len(pending), len(sheet.cues))
        lines = (*done, *(settled(line, speaker, hearing, gain) for line in pending))
    measured = meters.measured()
    if _found(lines) < _HARDLY_ANY * len(lines):
        shift_ms = coarse_shift_ms(measured.frames, sheet.cues)
        if abs(shift_ms) > REACH_MS // 2:
            elsewhere = _shifted(source, sheet, speaker, gain, shift_ms)
            lines = elsewhere if _found(elsewhere) > _found(lines) else lines
    return report_of(audio.name, sheet, lines, measured, skipped)


def _metered(source: AudioSource, meters: TrackMeters) -> Iterator[Signal]:
    for block in source.blocks():
        meters.add(block)
        yield block


def _found(lines: tuple[LineHeard, ...]) -> int:
    least = CHECKS[Check.PRESENCE].limit
    return sum(line.cue.match >= least for line in lines)


def _shifted(
    source: AudioSource, sheet: CueSheet, speaker: Speaker, gain: float, shift_ms: int
) -> tuple[LineHeard, ...]:
    """Return the lines as they are found with the whole plan moved; words are not asked for."""
    there = [_moved(cue, shift_ms) for cue in sheet.cues]
    found = (
        listen_to_line(stretch, speaker, None, gain).placed(cue, shift_ms)
        for stretch, cue in zip(
            stretches(source.blocks(), there, source.channels),
            sorted(sheet.cues, key=lambda cue: cue.start_ms),
            strict=True,
        )
    )
    return tuple(settled(line, speaker, None, gain) for line in found)


def _moved(cue: Cue, by_ms: int) -> Cue:
    """Return a cue elsewhere; unlike a sheet's, it may lie before the start of the track."""
    instants = ("at_ms", "start_ms", "end_ms")
    return cue.model_copy(update={name: getattr(cue, name) + by_ms for name in instants})


def _words_unheard(sheet: CueSheet) -> tuple[Skipped, ...]:
    """Return why words are not checked, nothing where they are."""
    try:
        aligns = find_voice(sheet.sound.voice, sheet.sound.language).spec.aligns
    except VoiceError:
        aligns = False  # a fake voice, or one that is gone: its words cannot be relied on
    if aligns and sheet.sound.language.partition("-")[0] == "en":
        return ()
    why = f"the aligner does not follow the voice {sheet.sound.voice!r} reliably (measured)"
    if _takes_follow(sheet):
        why = f"only of takes: {why}"
    return tuple(Skipped(check=check, why=why) for check in (Check.WORDS, Check.NUMBERS))


def _takes_follow(sheet: CueSheet) -> bool:
    """Return whether there are takes whose words the aligner follows, whatever the voice."""
    takes = sheet.sound.takes
    return takes is not None and any(take.follows for take in takes.lines)
