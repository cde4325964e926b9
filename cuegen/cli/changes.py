"""`cuegen changes`: what is different between two sheets, or between a sheet and a plan."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.terminal import (
    JsonOption,
    ResultsOption,
    RowerOption,
    add_row,
    console,
    plain_table,
)

if TYPE_CHECKING:
    from cuegen.schedule.cuesheet import CueSheet
    from cuegen.sheet.difference import Difference

EXIT_DIFFERENT = 1


def changes(
    old: Annotated[Path, typer.Argument(help="A sheet (.json or .csv), or a plan (.yaml).")],
    new: Annotated[Path, typer.Argument(help="What to compare it with, of any of these kinds.")],
    *,
    results: ResultsOption = None,
    rower: RowerOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show what is new, gone, moved or reworded from one sheet to another.

    Leaves with exit code 0 where nothing differs, 1 where something does. --results and
    --rower are for plans. A CSV holds lines alone: segments and sound are not compared.
    """
    from cuegen.sheet.difference import difference

    before, after, on_track = _both(old, new, results, rower)
    found = difference(before, after)
    if as_json:
        typer.echo(_json(found, "track" if on_track else "rowing"))
    else:
        _show(found, on_track=on_track)
    if not found.is_none:
        raise typer.Exit(EXIT_DIFFERENT)


def _both(
    old: Path, new: Path, results: Path | None, rower: str | None
) -> tuple[CueSheet, CueSheet, bool]:
    """Return both sheets, and whether their times are the track's: of two CSVs they are."""
    if _is_csv(old) and _is_csv(new):
        before = _csv_sheet(old, None)
        return before, _csv_sheet(new, before), True
    if _is_csv(old):
        after = _sheet(new, results, rower)
        return _csv_sheet(old, after), after, False
    before = _sheet(old, results, rower)
    after = _csv_sheet(new, before) if _is_csv(new) else _sheet(new, results, rower)
    return before, after, False


def _is_csv(path: Path) -> bool:
    return path.suffix.lower() == ".csv"


def _csv_sheet(path: Path, beside: CueSheet | None) -> CueSheet:
    from cuegen.errors import SheetError
    from cuegen.files import read_text
    from cuegen.sheet.csv_compare import as_sheet

    return as_sheet(read_text(path, SheetError, "CSV sheet"), beside, str(path))


def _sheet(path: Path, results: Path | None, rower: str | None) -> CueSheet:
    from cuegen.cli.speaking import speaking
    from cuegen.sheet.formats import load_sheet

    if path.suffix.lower() not in (".yaml", ".yml"):
        return load_sheet(path)
    with speaking(path, voice=None, results=results, rower=rower) as (sheet, _):
        return sheet


def _show(found: Difference, *, on_track: bool) -> None:
    from cuegen.sheet.difference_text import difference_rows, summary

    out = console()
    if not found.is_none:
        table = plain_table("track" if on_track else "clock", "what", "change")
        for row in difference_rows(found):
            add_row(table, row.time, row.what, row.how)
        out.print(table)
    out.print(summary(found), markup=False)


def _json(found: Difference, clock: str) -> str:
    import json
    from dataclasses import asdict

    report = {"different": not found.is_none, "clock": clock, **asdict(found)}
    return json.dumps(report, indent=2, ensure_ascii=False)
