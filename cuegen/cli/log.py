"""`cuegen log add | list | correct | remove | undo | import | export | forget | rowers`.

What rowers held, kept in one file on this machine. Whatever a command changes it
says, and `undo` takes it back; only `forget` is for good.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.terminal import JsonOption

if TYPE_CHECKING:
    from datetime import date

    from cuegen.log.entry import LogEntry

app = typer.Typer(
    help="Keep what rowers held: add, look up, correct, bring in and hand out results.",
    no_args_is_help=True,
)

LogOption = Annotated[
    Path | None,
    typer.Option("--log", help="The results log; otherwise $CUEGEN_LOG, or this user's own."),
]
YesOption = Annotated[
    bool, typer.Option("--yes", "-y", help="Keep what is hard to believe without asking.")
]
RowerArgument = Annotated[str, typer.Argument(metavar="ROWER", help="The rower's name.")]
OfRowerOption = Annotated[str | None, typer.Option("--rower", help="Only this rower.")]
SinceOption = Annotated[
    str | None, typer.Option("--since", help="Only from this day on, such as 2031-05-24.")
]
UntilOption = Annotated[str | None, typer.Option("--until", help="Only up to this day.")]
SessionOption = Annotated[
    str | None, typer.Option("--session", help="Only sessions with this in their title.")
]


@app.command("add")
def add(
    rower: RowerArgument,
    held: Annotated[
        list[str],
        typer.Argument(
            metavar="RESULT",
            help="For each piece of work, in order: 2:14.2, 180W, 896m, or - if not rowed.",
        ),
    ],
    *,
    plan: Annotated[
        Path | None, typer.Option("--plan", help="The plan that was rowed: rates and lengths.")
    ] = None,
    rates: Annotated[
        str | None, typer.Option("--rates", help="The rates that were rowed: 17/19/21/23.")
    ] = None,
    lengths: Annotated[
        str | None, typer.Option("--lengths", help="How long the pieces were: 4:00.")
    ] = None,
    heart_rate: Annotated[
        str | None, typer.Option("--heart-rate", help="Beats per minute: 148/155/163/171.")
    ] = None,
    felt: Annotated[
        str | None, typer.Option("--felt", help="How hard each felt, in per cent: 70/75/85/95.")
    ] = None,
    day: Annotated[str | None, typer.Option("--day", help="The day; today if not given.")] = None,
    session: Annotated[
        str | None, typer.Option("--session", help="The session's title, before the plan's.")
    ] = None,
    note: Annotated[str | None, typer.Option("--note", help="Anything worth keeping.")] = None,
    yes: YesOption = False,
    log: LogOption = None,
) -> None:
    """Add what a rower held in a session, one result for each piece of work."""
    from cuegen.cli.log_show import show_entries, tell_batch
    from cuegen.cli.log_typed import day_of, today
    from cuegen.log.session import Given, pieces_of, session_entries
    from cuegen.log.store import open_log
    from cuegen.plan.reading import load_plan

    planned = None if plan is None else load_plan(plan)
    given = Given(
        rower=rower,
        day=today() if day is None else day_of("--day", day),
        held=held,
        rates=rates,
        lengths=lengths,
        heart_rates=heart_rate,
        felt=felt,
        session=session or (planned.title if planned else None),
        note=note,
    )
    entries = session_entries(given, None if planned is None else pieces_of(planned))
    path = _path(log)
    _ask_about(path, entries, [f"segment {entry.segment}" for entry in entries], yes=yes)
    with open_log(path) as book:
        batch = book.add(entries)
        added = [entry for entry in book.entries(rower) if entry.batch == batch]
    show_entries(added)
    tell_batch("added", added)


@app.command("list")
def list_entries(
    rower: OfRowerOption = None,
    *,
    since: SinceOption = None,
    until: UntilOption = None,
    session: SessionOption = None,
    as_json: JsonOption = False,
    log: LogOption = None,
) -> None:
    """Show results, oldest first."""
    from cuegen.cli.log_show import print_json, show_entries
    from cuegen.log.store import open_log

    with open_log(_path(log), create=False) as book:
        found = book.entries(rower, *_days(since, until), session)
    if as_json:
        print_json(found)
    elif found:
        show_entries(found)
    else:
        typer.echo("No results.")


@app.command("correct")
def correct(
    number: Annotated[int, typer.Argument(metavar="ID", help="The result's number in the list.")],
    *,
    split: Annotated[str | None, typer.Option("--split", help="Such as 2:09.0.")] = None,
    watts: Annotated[str | None, typer.Option("--watts", help="Such as 163.")] = None,
    metres: Annotated[str | None, typer.Option("--metres", help="Such as 930.")] = None,
    duration: Annotated[str | None, typer.Option("--duration", help="Such as 4:00.")] = None,
    rate: Annotated[str | None, typer.Option("--rate", help="Such as 19.")] = None,
    heart_rate: Annotated[str | None, typer.Option("--heart-rate", help="Such as 155.")] = None,
    felt: Annotated[str | None, typer.Option("--felt", help="In per cent, such as 80.")] = None,
    rower: Annotated[str | None, typer.Option("--rower", help="Whose it is.")] = None,
    day: Annotated[str | None, typer.Option("--day", help="Such as 2031-05-24.")] = None,
    session: Annotated[str | None, typer.Option("--session", help="The session's title.")] = None,
    segment: Annotated[str | None, typer.Option("--segment", help="Its number, from 1.")] = None,
    label: Annotated[str | None, typer.Option("--label", help="What the segment was.")] = None,
    kind: Annotated[str | None, typer.Option("--kind", help="Such as row or warm-up.")] = None,
    note: Annotated[str | None, typer.Option("--note", help="Anything worth keeping.")] = None,
    yes: YesOption = False,
    log: LogOption = None,
) -> None:
    """Change one result. A value of "-" takes away what was noted.

    Watts follow a corrected split where they went with it; a split follows corrected
    watts, or metres where the time is known.
    """
    from cuegen.cli.log_show import tell_changes
    from cuegen.cli.log_typed import changes_of
    from cuegen.log.store import open_log

    changes = changes_of(
        rower=rower, day=day, session=session, segment=segment, label=label, kind=kind,
        rate=rate, split_ms=split, watts=watts, metres=metres, duration_ms=duration,
        heart_rate=heart_rate, felt_pct=felt, note=note,
    )  # fmt: skip
    path = _path(log)
    with open_log(path, create=False) as book:
        before = book.entry(number)
        after = book.corrected(before, changes)
    _ask_about(path, [after], [f"number {number}"], yes=yes, instead_of=before)
    with open_log(path, create=False) as book:
        tell_changes(before, book.correct(number, **changes))


@app.command("remove")
def remove(
    numbers: Annotated[list[int], typer.Argument(metavar="ID", help="Numbers in the list.")],
    *,
    log: LogOption = None,
) -> None:
    """Remove results; `cuegen log undo` brings them back."""
    from cuegen.cli.log_show import show_entries, tell_batch
    from cuegen.log.store import open_log

    with open_log(_path(log), create=False) as book:
        removed = book.remove(numbers)
    show_entries(removed)
    tell_batch("removed", removed)


@app.command("undo")
def undo(*, log: LogOption = None) -> None:
    """Take back the last change, and once more the one before."""
    from cuegen.cli.log_show import tell_undone
    from cuegen.log.store import open_log

    with open_log(_path(log), create=False) as book:
        tell_undone(book.undo())


@app.command("import")
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
    path = _path(log)
    new = list(range(len(rows)))
    if path.exists():
        with open_log(path, create=False) as book:
            new = book.unknown(entries)
    places = [f"row {rows[index].spot.number}" for index in new]
    _ask_about(path, [entries[index] for index in new], places, yes=yes)
    with open_log(path) as book:
        done = book.import_entries(entries)
    typer.echo(f"{count_of(done.added)} added, {done.known} there already.")


@app.command("export")
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
    path = _path(log)
    with open_log(path, create=False) as book:
        found = book.entries(rower, *_days(since, until), session)
    if file.exists() and file.samefile(path):
        raise typer.BadParameter(f"{file}: this is the log itself")
    save_entries(found, file)
    typer.echo(f"{file}: {count_of(len(found))}")


@app.command("forget")
def forget(
    rower: RowerArgument,
    *,
    yes: Annotated[bool, typer.Option("--yes", "-y", help="Do not ask whether it is meant.")] = (
        False
    ),
    log: LogOption = None,
) -> None:
    """Remove a rower for good: every result, and all that undo knows of them."""
    from cuegen.cli.log_ask import confirm_forgetting
    from cuegen.cli.log_show import tell_forgotten
    from cuegen.log.store import open_log

    with open_log(_path(log), create=False) as book:
        book.check_known(rower)
        if not yes:
            confirm_forgetting(rower)
        tell_forgotten(rower, book.forget(rower))


@app.command("rowers")
def rowers(*, as_json: JsonOption = False, log: LogOption = None) -> None:
    """Show whose results there are, how many, and of which days."""
    from cuegen.cli.log_show import show_rowers
    from cuegen.log.store import open_log

    with open_log(_path(log), create=False) as book:
        show_rowers(book.rowers(), as_json=as_json)


def _ask_about(
    path: Path,
    entries: list[LogEntry],
    places: list[str],
    *,
    yes: bool,
    instead_of: LogEntry | None = None,
) -> None:
    from cuegen.cli.log_ask import ask_about

    ask_about(path, entries, places, yes=yes, instead_of=instead_of)


def _path(log: Path | None) -> Path:
    from cuegen.log.place import default_log_path

    return default_log_path() if log is None else log


def _days(since: str | None, until: str | None) -> tuple[date | None, date | None]:
    from cuegen.cli.log_typed import day_of

    return (
        None if since is None else day_of("--since", since),
        None if until is None else day_of("--until", until),
    )
