"""`cuegen sheet`: plan -> cue sheet, on the terminal or as a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.speaking import speaking
from cuegen.cli.terminal import (
    JsonOption,
    ResultsOption,
    RowerOption,
    VoiceOption,
    add_row,
    console,
    plain_table,
)
from cuegen.cli.track import tell_notes

if TYPE_CHECKING:
    from cuegen.schedule.cuesheet import CueSheet


def sheet(
    source: Annotated[Path, typer.Argument(help="A plan (.yaml) or a sheet (.json).")],
    *,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", help="Write a file instead: .json, .csv, .md, .vtt or .html (to print)."
        ),
    ] = None,
    voice: VoiceOption = None,
    results: ResultsOption = None,
    rower: RowerOption = None,
    edits: Annotated[
        Path | None,
        typer.Option("--edits", help="A CSV sheet edited by hand, to merge into SOURCE."),
    ] = None,
    script: Annotated[bool, typer.Option("--script", help="Show every line too.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Show what is said and when, or write it as JSON, CSV, Markdown, captions or a page."""
    from cuegen.sheet.formats import load_edited, save_sheet
    from cuegen.sheet.json_format import to_text

    with speaking(source, voice=voice, results=results, rower=rower) as (made, booth):
        cues = made if edits is None else load_edited(edits, made, booth.length_ms)
    if out is not None:
        save_sheet(cues, out)
        typer.echo(str(out))
    elif as_json:
        typer.echo(to_text(cues), nl=False)
    else:
        _show(cues, whole=script)


def _show(cues: CueSheet, *, whole: bool) -> None:
    from cuegen.sheet.timeline_text import outline_rows, script_rows

    out = console()
    out.print(cues.title, style="bold", markup=False)
    outline = plain_table("clock", "segment", "target", "first said")
    for row in outline_rows(cues):
        add_row(outline, row.time, row.what, row.target, row.words)
    out.print(outline)
    if whole:
        script = plain_table("clock", "", "words")
        for line in script_rows(cues):
            add_row(script, line.time, "on" if line.firm else "", line.words)
        out.print(script)
    share = 100 * cues.talk_ms / cues.duration_ms
    out.print(f"{len(cues.cues)} lines, {share:.0f} % talk, {len(cues.left_out)} left out")
    tell_notes(cues)
