"""`cuegen log import | export`: results from a CSV file, and to one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cuegen.cli.log_options import (
    LogOption,
    OfRowerOption,
    SessionOption,
    SinceOption,
    UntilOption,
    YesOption,
    ask_about,
    days_of,
    log_path,
)


def import_results(
    file: Annotated[Path, typer.Argument(help="A results file (.csv).")],
    *,
    yes: YesOption = False,
    log: LogOption = None,
) -> None:
    """Add the results of a CSV file, all or none; those that are there already are passed over.

    The columns are rower, date, rate and split at the least.
    """
    from cuegen.cli.log_show import count_of
    from cuegen.log.store import open_log
    from cuegen.log.table import load_entries

    rows = load_entries(file)
    entries = [row.entry for row in rows]
    path = log_path(log)
    new = list(range(len(rows)))
    if path.exists():
        with open_log(path, create=False) as book:
            new = book.unknown(entries)
    places = [f"row {rows[index].spot.number}" for index in new]
    ask_about(path, [entries[index] for index in new], places, yes=yes)
    with open_log(path) as book:
        done = book.import_entries(entries)
    typer.echo(f"{count_of(done.added)} added, {done.known} there already.")


def export(
    file: Annotated[Path, typer.Argument(help="The CSV file to write (.csv).")],
    *,
    rower: OfRowerOption = None,
    since: SinceOption = None,
    until: UntilOption = None,
    session: SessionOption = None,
    log: LogOption = None,
) -> None:
    """Write results to a CSV file, for a spreadsheet, another machine or `--results`."""
    from cuegen.cli.log_show import count_of
    from cuegen.log.store import open_log
    from cuegen.log.table import save_entries

    if file.suffix.lower() != ".csv":
        raise typer.BadParameter(f"results are written as .csv, not {file.suffix or 'without one'}")
    path = log_path(log)
    with open_log(path, create=False) as book:
        found = book.entries(rower, *days_of(since, until), session)
    if file.exists() and file.samefile(path):
        raise typer.BadParameter(f"{file}: this is the log itself")
    save_entries(found, file)
    typer.echo(f"{file}: {count_of(len(found))}")
