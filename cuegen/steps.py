"""The three steps as functions: compile a sheet, render a track, verify a track.

These are the edges where files are opened; everything they call on the way is
pure, but for the voice's cache and the track itself. `on_progress` gets the work
done and the work in all, in units of its own choosing.

A `speaker` may be handed in (tests do); otherwise the voice that the plan or the
sheet names is opened, and closed again at the end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from cuegen.errors import MemoryFileError
from cuegen.files import read_text, write_text
from cuegen.mix.render import Rendered, render
from cuegen.occasion import Occasion, given, load_occasion
from cuegen.plan.model import Session
from cuegen.schedule.compose import compose
from cuegen.schedule.cuesheet import CueSheet
from cuegen.schedule.offers import Prepare
from cuegen.schedule.place import place
from cuegen.schedule.rules import frame_of
from cuegen.script.candidates import build_candidates
from cuegen.script.memory import (
    Memory,
    file_name,
    forgotten,
    heard_before,
    heard_session,
    memory_of,
    memory_text,
    remembered,
)
from cuegen.script.phrasebook import find_book
from cuegen.sheet.formats import load_sheet
from cuegen.takes.speaker import TakeSpeaker, noted_speaker
from cuegen.targets.advice import advise
from cuegen.targets.results import Results
from cuegen.verify.listening import listen
from cuegen.verify.report import ListeningReport
from cuegen.voice.booth import Booth, open_booth
from cuegen.voice.clip import Speaker

Progress = Callable[[int, int], None]


def compile_sheet(
    plan: Path | str | Session | Occasion,
    *,
    week: int | None = None,
    results: Path | str | Results | None = None,
    rower: str | None = None,
    voice: str | None = None,
    speaker: Speaker | None = None,
    memory: Memory | None = None,
    on_progress: Progress | None = None,
) -> CueSheet:
    """Return the cue sheet of a plan, every line placed by the length of its real clip.

    week: which one, where the plan is a block. results: what was held in earlier sessions,
    for `@last`. rower and voice go before what the plan says. memory: what was heard in
    earlier sessions of its block, by default as the file beside the plan has it. Raises
    CuegenError for anything a person wrote that cannot be used.
    """
    what = _occasion(plan, week, results, rower)
    if voice is not None:
        what = replace(what, session=replace(what.session, voice=voice))
    session, held, laid = what.session, what.results, what.outline()
    advice = tuple(str(item) for item in advise(laid, held))
    with _speaking(speaker, session.voice, session.language) as mouth:
        # A new voice loads while the script is made.
        book = find_book(session.phrase_book, session.language)
        script = build_candidates(laid, book, _heard(session, laid.rower, memory))
        frame = frame_of(laid, script.quiet)
        placement = place(script.candidates, frame, mouth.length_ms, _preparing(mouth, on_progress))
    notes = (*advice, *script.notes)
    return compose(laid, placement, frame, notes, unsaid=script.unsaid)


def forget_heard(path: Path, rower: str) -> None:
    """Take what a rower heard out of a block's memory file; a missing one has nothing."""
    memory = _read_memory(path)
    if memory is not None:
        write_text(path, memory_text(forgotten(memory, rower)))


def _occasion(
    plan: Path | str | Session | Occasion,
    week: int | None,
    results: Path | str | Results | None,
    rower: str | None,
) -> Occasion:
    if isinstance(plan, Occasion):
        return plan
    if isinstance(plan, Session):
        return Occasion(plan, given(results), rower)
    return load_occasion(Path(plan), week=week, results=results, rower=rower)


def render_track(
    sheet: CueSheet | Path | str,
    out: Path | str,
    *,
    speaker: Speaker | None = None,
    on_progress: Progress | None = None,
) -> Rendered:
    """Render a sheet to an audio file; the format follows the name's suffix."""
    cues = _sheet(sheet)
    with _speaking_of(speaker, cues, sheet) as mouth:
        return render(cues, mouth, Path(out), on_progress=on_progress)


def verify_track(
    track: Path | str,
    sheet: CueSheet | Path | str,
    *,
    speaker: Speaker | None = None,
    takes: Path | None = None,
    on_progress: Progress | None = None,
) -> ListeningReport:
    """Return what was heard in a delivered file against what its sheet planned.

    takes: where the takes lie that it was made with, if not where the sheet says. A track
    with faults gives a report with faults; AudioError is for a file that cannot be
    decoded at all.
    """
    cues = _sheet(sheet)
    with _speaking_of(speaker, cues, sheet, takes) as mouth:
        return listen(Path(track), cues, mouth, on_progress=on_progress)


def remember_sheet(sheet: CueSheet, folder: Path) -> Path | None:
    """Note what a sheet says in its block's memory, a file in that folder; None without a block.

    Compiling alone notes nothing: a sheet is remembered once it is handed out.
    """
    if sheet.block is None:
        return None
    path = folder / file_name(sheet.block.name)
    memory = _read_memory(path, sheet.block.name) or Memory(block=sheet.block.name)
    texts = [cue.text for cue in sheet.cues if not cue.firm]
    heard = heard_session(sheet.block.week, sheet.title, sheet.rower, texts)
    write_text(path, memory_text(remembered(memory, heard)))
    return path


def _folder(session: Session) -> Path | None:
    """Return the folder of a session's plan, None where it came from no file."""
    return Path(session.where.file).parent if session.where.file else None


def _heard(session: Session, rower: str | None, memory: Memory | None) -> frozenset[str]:
    """Return the words that a session's floating cues may not repeat."""
    folder, block = _folder(session), session.block
    if block is None:
        return frozenset()
    if memory is None and folder is not None:
        memory = _read_memory(folder / file_name(block.name), block.name)
    if memory is None:
        return frozenset()
    return heard_before(memory, block.week, session.title, rower)


def _read_memory(path: Path, block: str | None = None) -> Memory | None:
    if not path.exists():
        return None
    return memory_of(read_text(path, MemoryFileError, "memory of a block"), str(path), block)


def _sheet(sheet: CueSheet | Path | str) -> CueSheet:
    return sheet if isinstance(sheet, CueSheet) else load_sheet(Path(sheet))


def _preparing(speaker: Speaker, on_progress: Progress | None) -> Prepare | None:
    """Return how a speaker is told of lines to come: a booth speaks them in one go."""
    if not isinstance(speaker, Booth | TakeSpeaker):
        return None
    return lambda lines: speaker.prepare(lines, on_progress)


@contextmanager
def _speaking_of(
    speaker: Speaker | None,
    cues: CueSheet,
    sheet: CueSheet | Path | str,
    takes: Path | None = None,
) -> Iterator[Speaker]:
    """Give what speaks a sheet: its voice, with the takes that it was made with before it."""
    if speaker is not None:
        yield speaker
        return
    beside = Path() if isinstance(sheet, CueSheet) else Path(sheet).parent
    with (
        open_booth(cues.sound.voice, cues.sound.language) as booth,
        noted_speaker(cues, beside, booth, folder=takes) as mouth,
    ):
        yield mouth


@contextmanager
def _speaking(speaker: Speaker | None, voice: str, language: str) -> Iterator[Speaker]:
    if speaker is not None:
        yield speaker
        return
    with open_booth(voice, language) as booth:
        yield booth
