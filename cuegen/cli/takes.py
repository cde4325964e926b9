"""`cuegen takes`: the lines to record, a recorder, what is wrong with takes, a long one cut up."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli import record
from cuegen.cli.made import note_made
from cuegen.cli.speaking import Takes, sheet_of, speaking
from cuegen.cli.terminal import (
    EXIT_FAILED,
    JsonOption,
    ResultsOption,
    RowerOption,
    SourceArgument,
    VoiceOption,
    WeekOption,
    progress,
)

if TYPE_CHECKING:
    from cuegen.schedule.cuesheet import CueSheet

app = typer.Typer(
    help="Your own voice instead of the synthetic one: what to record, and is it good.",
    no_args_is_help=True,
)

FolderArgument = Annotated[Path, typer.Argument(help="The folder of takes.")]


@app.command("list")
def list_lines(
    source: SourceArgument,
    *,
    takes: Annotated[
        Path | None, typer.Option("--takes", help="A folder of takes: what is recorded already.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", help="Write the list: .csv, .txt or .md; best FOLDER/lines.csv."
        ),
    ] = None,
    voice: VoiceOption = None,
    results: ResultsOption = None,
    rower: RowerOption = None,
    week: WeekOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the lines to record, each once: its name, how long it may last, where it is said.

    A list that is written into the folder of takes as lines.csv keeps its numbers when it
    is written again, so that files named by number stay right after an edit.
    """
    from cuegen.cli.takes_show import save_list, show_list
    from cuegen.takes.folder import open_folder, read_list, standings
    from cuegen.takes.lines import lines_to_record
    from cuegen.takes.listing import LIST_NAME, numbers_of

    folder = open_folder(takes) if takes else None
    beside = out.parent if out is not None and out.name == LIST_NAME else None
    before = folder.listed if folder else read_list(beside) if beside else ()
    if folder is None and beside is not None and beside.is_dir():
        folder = open_folder(beside)
    sheet = sheet_of(source, voice=voice, results=results, rower=rower, week=week)
    lines = lines_to_record(sheet, numbers_of(before))
    standing = standings(lines, folder)
    if out is not None:
        save_list(standing, before, sheet.title, out)
        note_made([out], sheet.rower, sheet.rower_say)
        typer.echo(str(out))
    else:
        show_list(standing, as_json=as_json)


app.command("record")(record.record)


@app.command("check")
def check(
    folder: FolderArgument,
    source: SourceArgument,
    *,
    rename: Annotated[
        bool, typer.Option("--rename", help="Give good takes their take names, for good.")
    ] = False,
    voice: VoiceOption = None,
    results: ResultsOption = None,
    rower: RowerOption = None,
    week: WeekOption = None,
    as_json: JsonOption = False,
) -> None:
    """Listen to every take of a folder, and say what is wrong with it, with the figure.

    Leaves with exit code 1 where a take cannot be used.
    """
    from cuegen.cli.takes_show import show_checked
    from cuegen.takes.checking import checked_folder, renamed
    from cuegen.takes.speaker import FolderSpeaker

    with speaking(
        source,
        voice=voice,
        results=results,
        rower=rower,
        week=week,
        takes=Takes(folder, afresh=True),
    ) as (_, speaker):
        assert isinstance(speaker, FolderSpeaker)
        checked = checked_folder(speaker)
    if rename:
        checked = renamed(checked)
    show_checked(checked, as_json=as_json)
    if checked.faulty:
        raise typer.Exit(EXIT_FAILED)


@app.command("cut")
def cut(
    recording: Annotated[Path, typer.Argument(help="One recording of many lines.")],
    source: SourceArgument,
    *,
    into: Annotated[Path, typer.Option("--into", help="The folder to put the takes in.")],
    replace: Annotated[
        bool, typer.Option("--replace", help="Take the place of takes that are there already.")
    ] = False,
    voice: VoiceOption = None,
    results: ResultsOption = None,
    rower: RowerOption = None,
    week: WeekOption = None,
    as_json: JsonOption = False,
) -> None:
    """Cut one long recording at its pauses into takes, in the order of the list.

    Lines may be left out, and said again: the later one is taken. What nobody is sure of
    goes into FOLDER/unsure, to be listened to. Leaves with exit code 1 where some is.
    """
    from cuegen.cli.takes_show import show_cutting
    from cuegen.takes.cutout import cut_into

    sheet = sheet_of(source, voice=voice, results=results, rower=rower, week=week)
    with progress("listening") as show:
        done = cut_into(recording, sheet, into, replace_them=replace, on_progress=show)
    named = (path for take, path in done.files.items() if names_rower(sheet, take.text))
    note_made(named, sheet.rower, sheet.rower_say)
    show_cutting(done, as_json=as_json)
    if done.cutting.unsure:
        raise typer.Exit(EXIT_FAILED)


def names_rower(sheet: CueSheet, text: str) -> bool:
    """Return whether a line says the name of the rower whose sheet it is."""
    from cuegen.takes.names import words_key

    names = [words_key(name) for name in (sheet.rower, sheet.rower_say) if name]
    return any(f" {name} " in f" {words_key(text)} " for name in names)
