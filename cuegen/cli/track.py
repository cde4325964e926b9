"""`cuegen track`: plan or sheet -> track, captions, sheet and listening report."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.made import note_made
from cuegen.cli.speaking import Takes, speaking
from cuegen.cli.terminal import (
    EXIT_FAILED,
    EditsOption,
    JsonOption,
    ResultsOption,
    RowerOption,
    TakesOption,
    VoiceOption,
    WeekOption,
    console,
    progress,
)

if TYPE_CHECKING:
    from cuegen.schedule.cuesheet import CueSheet
    from cuegen.verify.report import ListeningReport
    from cuegen.voice.clip import Speaker


def track(
    source: Annotated[
        Path,
        typer.Argument(
            help="A plan or a block (.yaml), or a sheet to render as it stands (.json)."
        ),
    ],
    *,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="The track; its suffix chooses the format (mp3)."),
    ] = None,
    voice: VoiceOption = None,
    results: ResultsOption = None,
    rower: RowerOption = None,
    week: WeekOption = None,
    edits: EditsOption = None,
    takes: TakesOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make a spoken track and prove it: audio, sheet, captions and listening report.

    Leaves with exit code 1 when the finished track fails its verification.
    """
    from cuegen.mix.formats import find_format
    from cuegen.sheet.formats import load_edited, save_sheet

    target = out or Path(f"{track_name(source, week, rower)}.mp3")
    find_format(target)  # a wrong suffix is said before any work is done
    before = None if takes is None else Takes(takes)
    with speaking(source, voice=voice, results=results, rower=rower, week=week, takes=before) as (
        made,
        speaker,
    ):
        sheet = made if edits is None else load_edited(edits, made, speaker.length_ms)
        sheet = _with_takes(sheet, speaker, takes, source, target)
        report = _render_and_verify(sheet, speaker, target)
    save_sheet(sheet, target.with_suffix(".sheet.json"), "json")
    save_sheet(sheet, target.with_suffix(".vtt"), "webvtt")
    save_sheet(sheet, target.with_suffix(".chapters.vtt"), "chapters")
    write_report(report, target.with_suffix(".report.json"))
    memory = _remember(sheet, source.parent)
    files = [target, *(target.with_suffix(suffix) for suffix in _BESIDE)]
    note_made([*files, *([memory] if memory else [])], sheet.rower, sheet.rower_say)
    _tell(report, sheet, target, as_json)
    if report.verdict != "ok":
        raise typer.Exit(EXIT_FAILED)


def track_name(source: Path, week: int | None, rower: str | None) -> str:
    """Return what a track is called where nobody says: its plan, then week and rower."""
    parts = [source.stem.removesuffix(".sheet")]
    if week is not None:
        parts.append(f"week-{week}")
        parts.extend(re.findall(r"[^\W_]+", (rower or "").casefold()))
    return "-".join(parts)


_BESIDE = (".sheet.json", ".vtt", ".chapters.vtt", ".report.json")
"""What lies beside a track."""


def _remember(sheet: CueSheet, folder: Path) -> Path | None:
    """Note what was said in the block's memory; a track is whole without it."""
    from cuegen.errors import OutputError
    from cuegen.heard import remember_sheet

    try:
        return remember_sheet(sheet, folder)
    except OutputError as bad:
        typer.echo(f"cuegen: what was said is not remembered for the block: {bad}", err=True)
        return None


def _with_takes(
    sheet: CueSheet, speaker: Speaker, takes: Path | None, source: Path, target: Path
) -> CueSheet:
    """Return the sheet with the takes that it is spoken with noted in it, if there are any."""
    from cuegen.sheet.checking import check_sheet
    from cuegen.takes.speaker import TakeSpeaker, folder_from, with_takes

    if not isinstance(speaker, TakeSpeaker):
        return sheet
    noted = sheet.sound.takes
    folder = takes or source.parent / (noted.folder if noted else "")
    spoken = with_takes(sheet, speaker.takes, folder_from(folder, target.parent))
    check_sheet(spoken)
    return spoken


def _render_and_verify(sheet: CueSheet, speaker: Speaker, target: Path) -> ListeningReport:
    from cuegen.steps import render_track, verify_track

    with progress("mixing") as show:
        render_track(sheet, target, speaker=speaker, on_progress=show)
    with progress("listening") as show:
        return verify_track(target, sheet, speaker=speaker, on_progress=show)


def write_report(report: ListeningReport, path: Path) -> None:
    """Write a report as JSON."""
    from cuegen.files import write_text

    write_text(path, report.model_dump_json(indent=2) + "\n")


def _tell(report: ListeningReport, sheet: CueSheet, target: Path, as_json: bool) -> None:
    if as_json:
        typer.echo(report.model_dump_json(indent=2))
        return
    out = console()
    for suffix in (target.suffix, *_BESIDE):
        out.print(str(target.with_suffix(suffix)))
    tell_notes(sheet)
    tell_verdict(report)


def tell_notes(sheet: CueSheet) -> None:
    """Print what the plan check and the script have to say about a sheet."""
    out = console()
    for note in sheet.notes:
        out.print(note, style="yellow", markup=False)


def tell_verdict(report: ListeningReport) -> None:
    """Print the faults, worst first, what could be better, and the verdict in one line."""
    out = console()
    for fault in report.faults:
        out.print(str(fault), style="red", markup=False)
    for notice in report.notices:
        out.print(str(notice), style="yellow", markup=False)
    out.print(report.summary(), style="bold", markup=False)
