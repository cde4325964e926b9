"""`cuegen sheet`: plan -> cue sheet, on the terminal or as a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.made import note_made
from cuegen.cli.speaking import speaking
from cuegen.cli.terminal import (
    EditsOption,
    JsonOption,
    ResultsOption,
    RowerOption,
    SourceArgument,
    VoiceOption,
    WeekOption,
    console,
)

if TYPE_CHECKING:
    from cuegen.schedule.cuesheet import CueSheet


def sheet(
    source: SourceArgument,
    *,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            help="Write a file instead: .json, .csv, .md, .vtt, .srt, .txt (notes to publish) "
            "or .html (to print).",
        ),
    ] = None,
    voice: VoiceOption = None,
    results: ResultsOption = None,
    rower: RowerOption = None,
    week: WeekOption = None,
    edits: EditsOption = None,
    script: Annotated[bool, typer.Option("--script", help="Show every line too.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Show what is said and when, or write it as JSON, CSV, Markdown, captions or a page."""
    from cuegen.sheet.formats import load_edited, save_sheet
    from cuegen.sheet.json_format import to_text

    with speaking(source, voice=voice, results=results, rower=rower, week=week) as (made, booth):
        cues = made if edits is None else load_edited(edits, made, booth.length_ms)
    if out is not None:
        save_sheet(cues, out)
        note_made([out], cues.rower, cues.rower_say)
        typer.echo(str(out))
    elif as_json:
        typer.echo(to_text(cues).encode(), nl=False)  # JSON is UTF-8 everywhere (RFC 8259, 8.1)
    else:
        _show(cues, whole=script)


_STYLES = {
    "title": "bold",
    "soft": "dim",
    "name": "bold",
    "work": "bold green",
    "easy": "cyan",
    "firm": "bold",
    "talk": "cyan",
    "quiet": "bold magenta",
    "note": "yellow",
}
"""How tones are shown where colours can be; all of them are clear without."""


def _show(cues: CueSheet, *, whole: bool) -> None:
    from rich.text import Text

    from cuegen.sheet.timeline_strip import ASCII, BLOCKS
    from cuegen.sheet.timeline_text import timeline_lines

    out = console()
    glyphs = BLOCKS if BLOCKS.are_in(out.encoding) else ASCII
    for line in timeline_lines(cues, out.width, glyphs, script=whole):
        text = Text.assemble(*((part.text, _STYLES.get(part.tone, "")) for part in line))
        out.print(text, soft_wrap=True)
