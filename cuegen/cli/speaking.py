"""One speaker for a whole command: what the sheet is made with is mixed and listened for."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from cuegen.cli.terminal import progress

if TYPE_CHECKING:
    from cuegen.occasion import Occasion
    from cuegen.schedule.cuesheet import CueSheet
    from cuegen.takes.speaker import FolderSpeaker
    from cuegen.voice.booth import Booth
    from cuegen.voice.clip import Speaker


def sheet_of(
    source: Path,
    *,
    voice: str | None,
    results: Path | None,
    rower: str | None,
    week: int | None = None,
) -> CueSheet:
    """Return the sheet of a plan, or a sheet file as it stands: that needs no voice."""
    from cuegen.sheet.formats import load_sheet

    if _is_sheet(source):
        _check_finished(voice, results, rower, week)
        return load_sheet(source)
    with speaking(source, voice=voice, results=results, rower=rower, week=week) as (sheet, _):
        return sheet


def _is_sheet(source: Path) -> bool:
    return source.suffix.lower() == ".json"


def _check_finished(*shaping: object) -> None:
    if any(shaping):
        raise typer.BadParameter(
            "--voice, --results, --rower and --week shape a plan; this sheet is finished"
        )


@contextmanager
def speaking(
    source: Path,
    *,
    voice: str | None,
    results: Path | None,
    rower: str | None,
    week: int | None = None,
    takes: Takes | None = None,
) -> Iterator[tuple[CueSheet, Speaker]]:
    """Give the sheet of a plan, or a sheet file as it stands, and what speaks it.

    The booth's warnings (a cache folder that takes nothing) are said at the end.
    """
    if _is_sheet(source):
        from cuegen.sheet.formats import load_sheet
        from cuegen.takes.speaker import noted_speaker

        _check_finished(voice, results, rower, week)
        sheet = load_sheet(source)
        with _booth(sheet.sound.voice, sheet.sound.language) as booth, ExitStack() as open_takes:
            if takes is None:
                noted = noted_speaker(sheet, source.parent, booth)
                yield sheet, open_takes.enter_context(noted)
            else:
                yield sheet, open_takes.enter_context(_taking(takes, sheet, booth, stands=True))
        return
    from cuegen.occasion import load_occasion

    what = load_occasion(source, week=week, results=results, rower=rower)
    with speaking_of(what, voice, takes) as made:
        yield made


@contextmanager
def speaking_of(
    what: Occasion, voice: str | None = None, takes: Takes | None = None
) -> Iterator[tuple[CueSheet, Speaker]]:
    """Give the sheet of a session and what speaks it.

    With takes the sheet is made twice: as the voice alone would speak it, which says which
    lines there are, and then with the takes' lengths.
    """
    from dataclasses import replace

    from cuegen.steps import compile_sheet

    if voice is not None:
        what = replace(what, session=replace(what.session, voice=voice))
    with _booth(what.session.voice, what.session.language) as booth:
        with progress("speaking") as show:
            sheet = compile_sheet(what, speaker=booth, on_progress=show)
        if takes is None:
            yield sheet, booth
            return
        with _taking(takes, sheet, booth, stands=False) as speaker:
            with progress("speaking") as show:
                sheet = compile_sheet(what, speaker=speaker, on_progress=show)
            speaker.settle(sheet)
            yield sheet, speaker


@dataclass(frozen=True, slots=True)
class Takes:
    """A folder of takes that go before the voice.

    afresh: examine every take, and leave it to the caller to say what was found.
    """

    folder: Path
    afresh: bool = False


@contextmanager
def _taking(
    takes: Takes, sheet: CueSheet, booth: Booth, *, stands: bool
) -> Iterator[FolderSpeaker]:
    """Give a speaker with the takes of a folder; what is to be said of them is said at the end."""
    from cuegen.takes.speaker import FolderAsked, folder_speaker

    asked = FolderAsked(takes.folder, stands, takes.afresh)
    with ExitStack() as opened:
        with progress("takes") as show:
            speaker = opened.enter_context(folder_speaker(asked, sheet, booth, show))
        yield speaker
        for warning in () if takes.afresh else speaker.told():
            typer.echo(f"cuegen: {warning}", err=True)


@contextmanager
def _booth(voice: str, language: str) -> Iterator[Booth]:
    from cuegen.voice.booth import open_booth

    with open_booth(voice, language) as booth:
        try:
            yield booth
        finally:
            for warning in booth.warnings:
                typer.echo(f"cuegen: {warning}", err=True)
