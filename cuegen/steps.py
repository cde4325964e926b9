"""The three steps as functions: compile a sheet, render a track, verify a track.

These are the edges where files are opened; everything they call on the way is
pure, but for the voice's cache and the track itself. `on_progress` gets the work
done and the work in all, in units of its own choosing.

A `speaker` may be handed in (tests do); otherwise the voice that the plan or the
sheet names is opened, and closed again at the end. Each step brings in what it works
with when it is called, after the voice was started: a new voice takes seconds to load.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from cuegen.occasion import Occasion, given, load_occasion
from cuegen.plan.model import Session
from cuegen.targets.results import Results
from cuegen.telling import Progress
from cuegen.voice.booth import open_booth
from cuegen.voice.clip import Speaker

if TYPE_CHECKING:
    from cuegen.mix.render import Rendered
    from cuegen.schedule.cuesheet import CueSheet
    from cuegen.script.memory import Memory
    from cuegen.verify.report import ListeningReport


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
    session, laid = what.session, what.outline()
    with _speaking(speaker, session.voice, session.language) as mouth:
        from cuegen.compiler import compiled
        from cuegen.heard import heard_in_block
        from cuegen.script.phrasebook import find_book

        book = find_book(session.phrase_book, session.language)
        heard = heard_in_block(session, laid.rower, memory)
        return compiled(
            laid, book, mouth, results=what.results, heard=heard, on_progress=on_progress
        )


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
        from cuegen.mix.render import render

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
        from cuegen.verify.listening import listen

        return listen(Path(track), cues, mouth, on_progress=on_progress)


def _sheet(sheet: CueSheet | Path | str) -> CueSheet:
    if not isinstance(sheet, Path | str):
        return sheet
    from cuegen.sheet.formats import load_sheet

    return load_sheet(Path(sheet))


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
    beside = Path(sheet).parent if isinstance(sheet, Path | str) else Path()
    with open_booth(cues.sound.voice, cues.sound.language) as booth:
        from cuegen.takes.speaker import noted_speaker

        with noted_speaker(cues, beside, booth, folder=takes) as mouth:
            yield mouth


@contextmanager
def _speaking(speaker: Speaker | None, voice: str, language: str) -> Iterator[Speaker]:
    if speaker is not None:
        yield speaker
        return
    with open_booth(voice, language) as booth:
        yield booth
