"""`cuegen page hall | prompter | picture`: a session for a big screen, to say, for a post."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.made import note_made
from cuegen.cli.speaking import sheet_of
from cuegen.cli.terminal import ResultsOption, RowerOption, SourceArgument, VoiceOption, WeekOption

if TYPE_CHECKING:
    from cuegen.pages.hall_sound import HallSound
    from cuegen.schedule.cuesheet import CueSheet

app = typer.Typer(
    name="page",
    help="Make a session a page for a hall's screen, one to say it from, or a picture for a post.",
    no_args_is_help=True,
)


@app.command("hall")
def hall(
    source: SourceArgument,
    *,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="The page (.html); by default NAME.hall.html."),
    ] = None,
    audio: Annotated[
        Path | None,
        typer.Option(
            "--audio", help="The session's track; without it, the one beside the sheet, if any."
        ),
    ] = None,
    embed_audio: Annotated[
        bool,
        typer.Option("--embed-audio", help="Put the track into the page: one file to carry."),
    ] = False,
    no_audio: Annotated[
        bool, typer.Option("--no-audio", help="No sound: the page keeps time by itself.")
    ] = False,
    voice: VoiceOption = None,
    results: ResultsOption = None,
    rower: RowerOption = None,
    week: WeekOption = None,
) -> None:
    """Make the page that a hall looks up at: what is on, what is next, what is being said.

    One file without a network: it opens from a USB stick in any current browser.
    """
    from cuegen.pages.beside import printed_beside
    from cuegen.pages.hall import save_hall_page

    page = _page_name(out, source, week, rower, "hall")
    _check_options(audio, embed_audio, no_audio)
    sheet = sheet_of(source, voice=voice, results=results, rower=rower, week=week)
    track = None if no_audio else _track(source, audio, embed_audio)
    sound = None if track is None else _sound(track, sheet, page, embed_audio)
    save_hall_page(sheet, page, sound, printed_beside(source, sheet, page))
    note_made([page], sheet.rower, sheet.rower_say)
    typer.echo(str(page))
    _tell(sound, wanted_none=no_audio)


@app.command("prompter")
def prompter(
    source: SourceArgument,
    *,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="The page (.html); by default NAME.prompter.html."),
    ] = None,
    voice: VoiceOption = None,
    results: ResultsOption = None,
    rower: RowerOption = None,
    week: WeekOption = None,
) -> None:
    """Make the page that a coach says the session from: the next line, and when.

    One file without a network. It leads to the printed sheet where that lies beside SOURCE.
    """
    from cuegen.pages.beside import printed_beside
    from cuegen.pages.prompter import save_prompter_page

    page = _page_name(out, source, week, rower, "prompter")
    sheet = sheet_of(source, voice=voice, results=results, rower=rower, week=week)
    save_prompter_page(sheet, page, printed_beside(source, sheet, page))
    note_made([page], sheet.rower, sheet.rower_say)
    typer.echo(str(page))


@app.command("picture")
def picture(
    source: SourceArgument,
    *,
    out: Annotated[Path, typer.Option("--out", "-o", help="The picture (.svg or .png).")],
    voice: VoiceOption = None,
    results: ResultsOption = None,
    rower: RowerOption = None,
    week: WeekOption = None,
) -> None:
    """Draw a session's shape: rate and effort over time, cues and quiet marked.

    It holds no name and no result, and may be posted.
    """
    from cuegen.pages.picture import save_picture, writer_of

    writer_of(out)  # a wrong suffix is said before any work is done
    sheet = sheet_of(source, voice=voice, results=results, rower=rower, week=week)
    save_picture(sheet, out)
    typer.echo(str(out))


def _check_options(audio: Path | None, embed_audio: bool, no_audio: bool) -> None:
    if no_audio and (audio is not None or embed_audio):
        raise typer.BadParameter("--no-audio leaves out what --audio and --embed-audio put in")


def _page_name(
    out: Path | None, source: Path, week: int | None, rower: str | None, kind: str
) -> Path:
    """Return where a page goes. Raises OutputError for a name that browsers show as text."""
    from cuegen.cli.track import track_name
    from cuegen.errors import OutputError, Where

    if out is None:
        return Path(f"{track_name(source, week, rower)}.{kind}.html")
    if out.suffix.lower() not in {".html", ".htm"}:
        raise OutputError(
            "a page's name ends in .html",
            where=Where(file=str(out)),
            remedy="Name it so, or a browser shows its text.",
        )
    return out


def _track(source: Path, audio: Path | None, embed_audio: bool) -> Path | None:
    """Return the track that is named, else the one beside the sheet."""
    from cuegen.errors import AudioError, Where
    from cuegen.pages.hall_sound import find_track

    track = audio or find_track(source)
    if track is None and embed_audio:
        raise AudioError(
            "there is no track beside this to put into the page",
            where=Where(file=str(source)),
            remedy="Name it with --audio, or make it first: cuegen track.",
        )
    return track


def _sound(track: Path, sheet: CueSheet, out: Path, embed_audio: bool) -> HallSound:
    from cuegen.pages.hall_sound import sound_beside, sound_inside

    return sound_inside(track, sheet) if embed_audio else sound_beside(track, sheet, out)


def _tell(sound: HallSound | None, *, wanted_none: bool) -> None:
    """Say on standard error what a coach has to know before walking into the hall."""
    if sound is None and not wanted_none:
        typer.echo("cuegen: no track lies beside the sheet: the page has no sound", err=True)
    if sound is not None and sound.is_beside:
        typer.echo(f"cuegen: keep {sound.name} where it is beside the page", err=True)
