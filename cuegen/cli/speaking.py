"""One booth for a whole command: what is spoken for the sheet is what is mixed and listened for."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from cuegen.cli.terminal import progress

if TYPE_CHECKING:
    from cuegen.occasion import Occasion
    from cuegen.schedule.cuesheet import CueSheet
    from cuegen.voice.booth import Booth


@contextmanager
def speaking(
    source: Path,
    *,
    voice: str | None,
    results: Path | None,
    rower: str | None,
    week: int | None = None,
) -> Iterator[tuple[CueSheet, Booth]]:
    """Give the sheet of a plan, or a sheet file as it stands, and the booth that speaks it.

    The booth's warnings (a cache folder that takes nothing) are said at the end.
    """
    from cuegen.sheet.formats import load_sheet

    if source.suffix.lower() == ".json":
        if voice or results or rower or week:
            raise typer.BadParameter(
                "--voice, --results, --rower and --week shape a plan; this sheet is finished"
            )
        sheet = load_sheet(source)
        with _booth(sheet.sound.voice, sheet.sound.language) as booth:
            yield sheet, booth
        return
    from cuegen.occasion import load_occasion

    what = load_occasion(source, week=week, results=results, rower=rower)
    with speaking_of(what, voice) as made:
        yield made


@contextmanager
def speaking_of(what: Occasion, voice: str | None = None) -> Iterator[tuple[CueSheet, Booth]]:
    """Give the sheet of a session and the booth that speaks it."""
    from dataclasses import replace

    from cuegen.steps import compile_sheet

    if voice is not None:
        what = replace(what, session=replace(what.session, voice=voice))
    with _booth(what.session.voice, what.session.language) as booth:
        with progress("speaking") as show:
            sheet = compile_sheet(what, speaker=booth, on_progress=show)
        yield sheet, booth


@contextmanager
def _booth(voice: str, language: str) -> Iterator[Booth]:
    from cuegen.voice.booth import open_booth

    with open_booth(voice, language) as booth:
        try:
            yield booth
        finally:
            for warning in booth.warnings:
                typer.echo(f"cuegen: {warning}", err=True)
