"""`cuegen takes record`: a page in the browser that records the lines, one after the other."""

from __future__ import annotations

import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.made import note_made
from cuegen.cli.speaking import sheet_of
from cuegen.cli.terminal import ResultsOption, RowerOption, SourceArgument, VoiceOption, WeekOption

if TYPE_CHECKING:
    from cuegen.recorder.server import RecorderServer
    from cuegen.schedule.cuesheet import CueSheet
    from cuegen.takes.lines import TakeLine


def record(
    source: SourceArgument,
    *,
    into: Annotated[Path, typer.Option("--into", help="The folder to put the takes in.")],
    no_open: Annotated[
        bool, typer.Option("--no-open", help="Only print the page's address.")
    ] = False,
    voice: VoiceOption = None,
    results: ResultsOption = None,
    rower: RowerOption = None,
    week: WeekOption = None,
) -> None:
    """Record the lines in the browser, one take a line, each listened to at once.

    The page is served to this machine alone, at an address that nobody can guess, until
    Ctrl-C. Nothing is sent anywhere else.
    """
    sheet = sheet_of(source, voice=voice, results=results, rower=rower, week=week)
    serve(sheet, into, stands=source.suffix.lower() == ".json", is_shown=not no_open)


def serve(sheet: CueSheet, into: Path, *, stands: bool, is_shown: bool) -> None:
    """Serve the recorder's page until Ctrl-C, then say how far it went."""
    from cuegen.recorder.page import recorder_page
    from cuegen.recorder.server import RecorderServer
    from cuegen.recorder.store import Store
    from cuegen.takes.examine import Examiner
    from cuegen.takes.folder import open_folder
    from cuegen.takes.lines import lines_to_record
    from cuegen.takes.listing import numbers_of

    listed = open_folder(into).listed if into.exists() else ()
    lines = lines_to_record(sheet, numbers_of(listed))
    with Examiner(lines, sheet.sound.language) as examiner:
        store = Store(into, lines, examiner, stands=stands, told=_noting(sheet))
        with RecorderServer(
            store, lambda: recorder_page(sheet, lines, store.recorded(), into.resolve().name)
        ) as server:
            _until_interrupted(server, is_shown)
    typer.echo(f"{len(store.recorded())} of {len(lines)} lines have a take in {into}")


def _until_interrupted(server: RecorderServer, is_shown: bool) -> None:
    typer.echo(server.address)
    typer.echo("cuegen: the recorder runs until Ctrl-C; its address is for you alone", err=True)
    if is_shown:  # some browsers of a terminal do not come back before they are closed
        threading.Thread(target=webbrowser.open, args=(server.address,), daemon=True).start()
    try:
        server.serve_forever(poll_interval=0.2)
    except KeyboardInterrupt:
        typer.echo("", err=True)


def _noting(sheet: CueSheet) -> Callable[[Path, TakeLine], None]:
    """Return what notes takes that say the name of the rower whose sheet it is."""
    from cuegen.cli.takes import names_rower

    def note(path: Path, line: TakeLine) -> None:
        if names_rower(sheet, line.text):
            note_made([path], sheet.rower, sheet.rower_say)

    return note
