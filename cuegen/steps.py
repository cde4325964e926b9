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

from cuegen.mix.render import Rendered, render
from cuegen.plan.model import Session
from cuegen.plan.reading import load_plan
from cuegen.schedule.compose import compose
from cuegen.schedule.cuesheet import CueSheet
from cuegen.schedule.place import place
from cuegen.schedule.rules import frame_of
from cuegen.script.candidate import Candidate, Line
from cuegen.script.candidates import build_candidates
from cuegen.script.phrasebook import find_book
from cuegen.sheet.formats import load_sheet
from cuegen.targets.advice import advise
from cuegen.targets.resolve import outline as outline_of
from cuegen.targets.results import Results, load_results
from cuegen.verify.listening import listen
from cuegen.verify.report import ListeningReport
from cuegen.voice.booth import Booth, open_booth
from cuegen.voice.clip import Speaker

Progress = Callable[[int, int], None]


def compile_sheet(
    plan: Path | str | Session,
    *,
    results: Path | str | Results | None = None,
    rower: str | None = None,
    voice: str | None = None,
    speaker: Speaker | None = None,
    on_progress: Progress | None = None,
) -> CueSheet:
    """Return the cue sheet of a plan, every line placed by the length of its real clip.

    results: what was held in earlier sessions, for `@last`. rower and voice go
    before what the plan says. Raises CuegenError for anything a person wrote
    that cannot be used.
    """
    session = plan if isinstance(plan, Session) else load_plan(Path(plan))
    if voice is not None:
        session = replace(session, voice=voice)
    held = results if results is None or isinstance(results, Results) else _load(results)
    laid = outline_of(session, held, rower=rower)
    script = build_candidates(laid, find_book(session.phrase_book, session.language))
    advice = tuple(str(item) for item in advise(laid, held))
    frame = frame_of(laid, script.quiet)
    with _speaking(speaker, session.voice, session.language) as mouth:
        if isinstance(mouth, Booth):
            mouth.prepare(_likely_lines(script.candidates), on_progress)
        placement = place(script.candidates, frame, mouth.length_ms)
    notes = (*advice, *script.notes)
    return compose(laid, placement, frame, notes, unsaid=script.unsaid)


def render_track(
    sheet: CueSheet | Path | str,
    out: Path | str,
    *,
    speaker: Speaker | None = None,
    on_progress: Progress | None = None,
) -> Rendered:
    """Render a sheet to an audio file; the format follows the name's suffix."""
    cues = _sheet(sheet)
    with _speaking(speaker, cues.sound.voice, cues.sound.language) as mouth:
        return render(cues, mouth, Path(out), on_progress=on_progress)


def verify_track(
    track: Path | str,
    sheet: CueSheet | Path | str,
    *,
    speaker: Speaker | None = None,
    on_progress: Progress | None = None,
) -> ListeningReport:
    """Return what was heard in a delivered file against what its sheet planned.

    A track with faults gives a report with faults; AudioError is for a file that
    cannot be decoded at all.
    """
    cues = _sheet(sheet)
    with _speaking(speaker, cues.sound.voice, cues.sound.language) as mouth:
        return listen(Path(track), cues, mouth, on_progress=on_progress)


def _sheet(sheet: CueSheet | Path | str) -> CueSheet:
    return sheet if isinstance(sheet, CueSheet) else load_sheet(Path(sheet))


def _load(results: Path | str) -> Results:
    return load_results(Path(results))


def _likely_lines(candidates: tuple[Candidate, ...]) -> tuple[Line, ...]:
    """Return each candidate's first wording, spoken ahead in one go.

    Most cues get it; the others are spoken when placement asks for their length,
    so that a first run does not speak two lines for each one that is heard.
    """
    return tuple(Line(candidate.wordings[0].text) for candidate in candidates)


@contextmanager
def _speaking(speaker: Speaker | None, voice: str, language: str) -> Iterator[Speaker]:
    if speaker is not None:
        yield speaker
        return
    with open_booth(voice, language) as booth:
        yield booth
