"""One booth for a whole command: what is spoken for the sheet is what is mixed and listened for."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from cuegen.cli.terminal import progress

if TYPE_CHECKING:
    from cuegen.schedule.cuesheet import CueSheet
    from cuegen.voice.booth import Booth


@contextmanager
def speaking(
    source: Path, *, voice: str | None, results: Path | None, rower: str | None
) -> Iterator[tuple[CueSheet, Booth]]:
    """Give the sheet of a plan, or a sheet file as it stands, and the booth that speaks it.

    The booth's warnings (a cache folder that takes nothing) are said at the end.
    """
    from cuegen.sheet.formats import load_sheet

    if source.suffix.lower() == ".json":
        if voice or results or rower:
            raise typer.BadParameter(
                "--voice, --results and --rower shape a plan; this sheet is finished already"
            )
        sheet = load_sheet(source)
        with _booth(sheet.sound.voice, sheet.sound.language) as booth:
            yield sheet, booth
        return
    with _compiled(source, voice, results, rower) as made:
        yield made


@contextmanager
def _compiled(
    plan: Path, voice: str | None, results: Path | None, rower: str | None
) -> Iterator[tuple[CueSheet, Booth]]:
    from dataclasses import replace

    from cuegen.plan.reading import load_plan
    from cuegen.steps import compile_sheet

    session = load_plan(plan)
    session = session if voice is None else replace(session, voice=voice)
    with _booth(session.voice, session.language) as booth:
        with progress("speaking") as show:
            sheet = compile_sheet(
                session, results=results, rower=rower, speaker=booth, on_progress=show
            )
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
