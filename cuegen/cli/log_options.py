"""What the commands of `cuegen log` share: options, which file, which days, asking first."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from datetime import date

    from cuegen.log.entry import LogEntry

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


def ask_about(
    path: Path,
    entries: list[LogEntry],
    places: list[str],
    *,
    yes: bool,
    instead_of: LogEntry | None = None,
) -> None:
    """Ask about what is hard to believe (cuegen.cli.log_ask), which is imported late."""
    from cuegen.cli import log_ask

    log_ask.ask_about(path, entries, places, yes=yes, instead_of=instead_of)


def log_path(log: Path | None) -> Path:
    """Return the log that is named, else the user's own."""
    from cuegen.log.place import default_log_path

    return default_log_path() if log is None else log


def days_of(since: str | None, until: str | None) -> tuple[date | None, date | None]:
    """Return the days that were typed. Raises LogError."""
    from cuegen.cli.log_typed import day_of

    return (
        None if since is None else day_of("--since", since),
        None if until is None else day_of("--until", until),
    )
