"""`cuegen log add | list | correct | remove | undo | import | export | forget | rowers`.

What rowers held, kept in one file on this machine. Whatever a command changes it
says, and `undo` takes it back; only `forget` is for good. Import and export stand in
cuegen.cli.log_files, forget and rowers in cuegen.cli.log_people.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cuegen.cli import log_files, log_people
from cuegen.cli.log_options import (
    LogOption,
    OfRowerOption,
    RowerArgument,
    SessionOption,
    SinceOption,
    UntilOption,
    YesOption,
    ask_about,
    days_of,
    log_path,
)
from cuegen.cli.terminal import JsonOption, WeekOption

app = typer.Typer(
    help="Keep what rowers held: add, look up, correct, bring in and hand out results.",
    no_args_is_help=True,
)


MOST_LISTED = 500
"""So many results are shown unless all are asked for: a screen holds no more anyway."""


@app.command("add")
def add(
    rower: RowerArgument,
    held: Annotated[
        list[str],
        typer.Argument(
            metavar="RESULT",
            help="For each piece of work, in order: 2:14.2, 180W, 896m, or - if not rowed. "
            "Splits joined by commas, 2:14.2,2:13.8, are the equally long parts of one piece.",
        ),
    ],
    *,
    plan: Annotated[
        Path | None,
        typer.Option("--plan", help="The plan or block that was rowed: rates, lengths, title."),
    ] = None,
    week: WeekOption = None,
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
    """Add what a rower held in a session, one result for each piece of work.

    The splits of a piece's parts, equally long and in their order, are joined by commas
    without a blank; the split of the whole follows from them. Parts are equal in time,
    or in metres where the piece is given in metres.
    """
    from cuegen.cli.log_show import show_entries, tell_batch
    from cuegen.cli.log_typed import day_of, today
    from cuegen.log.session import Given, pieces_of, session_entries
    from cuegen.log.store import open_log
    from cuegen.occasion import load_session

    if week is not None and plan is None:
        raise typer.BadParameter("--week is one of a block: name the block with --plan")
    planned = None if plan is None else load_session(plan, week)
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
    path = log_path(log)
    ask_about(path, entries, [f"segment {entry.segment}" for entry in entries], yes=yes)
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
    everything: Annotated[
        bool, typer.Option("--all", help=f"All of them, not the newest {MOST_LISTED} alone.")
    ] = False,
    as_json: JsonOption = False,
    log: LogOption = None,
) -> None:
    """Show results, oldest first; of many, the newest."""
    from cuegen.cli.log_show import print_json, show_entries
    from cuegen.log.store import open_log

    with open_log(log_path(log), create=False) as book:
        newest = None if everything or as_json else MOST_LISTED
        found = book.entries(rower, *days_of(since, until), session, newest)
    if as_json:
        print_json(found)
    elif found:
        show_entries(found)
        if len(found) == newest:
            typer.echo(f"These are the newest {newest}; --all shows all there are.")
    else:
        typer.echo("No results.")


@app.command("correct")
def correct(
    number: Annotated[int, typer.Argument(metavar="ID", help="The result's number in the list.")],
    *,
    split: Annotated[str | None, typer.Option("--split", help="Such as 2:09.0.")] = None,
    parts: Annotated[
        str | None, typer.Option("--parts", help="Of equal length: 2:09.4,2:08.6.")
    ] = None,
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
    parts, watts, or metres where the time is known.
    """
    from cuegen.cli.log_show import tell_changes
    from cuegen.cli.log_typed import changes_of
    from cuegen.log.store import open_log

    changes = changes_of(
        rower=rower, day=day, session=session, segment=segment, label=label, kind=kind,
        rate=rate, split_ms=split, parts_ms=parts, watts=watts, metres=metres, duration_ms=duration,
        heart_rate=heart_rate, felt_pct=felt, note=note,
    )  # fmt: skip
    path = log_path(log)
    with open_log(path, create=False) as book:
        before = book.entry(number)
        after = book.corrected(before, changes)
    ask_about(path, [after], [f"number {number}"], yes=yes, instead_of=before)
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

    with open_log(log_path(log), create=False) as book:
        removed = book.remove(numbers)
    show_entries(removed)
    tell_batch("removed", removed)


@app.command("undo")
def undo(*, log: LogOption = None) -> None:
    """Take back the last change, and once more the one before."""
    from cuegen.cli.log_show import tell_undone
    from cuegen.log.store import open_log

    with open_log(log_path(log), create=False) as book:
        tell_undone(book.undo())


app.command("import")(log_files.import_results)
app.command("export")(log_files.export)
app.command("forget")(log_people.forget)
app.command("rowers")(log_people.rowers)
