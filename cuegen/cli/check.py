"""`cuegen check`: a finished track against its sheet, or a plan before it is rowed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.made import note_made
from cuegen.cli.terminal import (
    EXIT_FAILED,
    JsonOption,
    ResultsOption,
    RowerOption,
    VoiceOption,
    WeekOption,
    progress,
)
from cuegen.cli.track import tell_verdict, write_report

if TYPE_CHECKING:
    from cuegen.verify.report import ListeningReport


def check(
    what: Annotated[Path, typer.Argument(help="A track (.mp3, ...) or a plan or block (.yaml).")],
    *,
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", help="The track's sheet; otherwise NAME.sheet.json beside it."),
    ] = None,
    results: ResultsOption = None,
    rower: RowerOption = None,
    week: WeekOption = None,
    voice: VoiceOption = None,
    test: Annotated[
        list[str] | None,
        typer.Option(
            "--test",
            "-t",
            help='A test of the rower, "2k 7:32.4" or "30min 7650m"; may come again.',
        ),
    ] = None,
    takes: Annotated[
        Path | None,
        typer.Option("--takes", help="Where the track's takes lie, if not where its sheet says."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="Write the report too: .json or .html.")
    ] = None,
    clearness: Annotated[
        bool,
        typer.Option("--clearness", help="Show how clear each line is, the worst first."),
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Listen to a track again, or say what a plan adds up to, what it leaves out, what is odd.

    Leaves with exit code 1 when a track fails.
    """
    if what.suffix.lower() in (".yaml", ".yml"):
        from cuegen.cli.plancheck import PlanCheck, check_plan

        asked = PlanCheck(what, results, rower, voice, tuple(test or ()), week)
        check_plan(asked, as_json=as_json)
        return
    if test:
        raise typer.BadParameter("--test weighs a plan against a rower's tests, not a track")
    beside = sheet or what.with_suffix(".sheet.json")
    _check_track(what, beside, takes, out, as_json, clearness=clearness)


def _write(report: ListeningReport, out: Path, track: Path, sheet: Path) -> None:
    """Write the report as its name asks; it holds the words said to a rower, so it is noted."""
    from cuegen.sheet.formats import load_sheet

    if out.suffix.lower() in {".html", ".htm"}:
        from cuegen.pages.beside import pages_beside
        from cuegen.pages.report import save_report_page

        save_report_page(report, out, pages_beside(track, out, report.title))
    else:
        write_report(report, out)
    cues = load_sheet(sheet)
    note_made([out], cues.rower, cues.rower_say)


def _check_track(
    track: Path,
    sheet: Path,
    takes: Path | None,
    out: Path | None,
    as_json: bool,
    *,
    clearness: bool,
) -> None:
    from cuegen.steps import verify_track

    with progress("listening") as show:
        report = verify_track(track, sheet, takes=takes, on_progress=show)
    if out is not None:
        _write(report, out, track, sheet)
    if as_json:
        typer.echo(report.model_dump_json(indent=2))
    else:
        if clearness:
            from cuegen.cli.clearness_show import tell_clearness

            tell_clearness(report)
        tell_verdict(report)
    if report.verdict != "ok":
        raise typer.Exit(EXIT_FAILED)
