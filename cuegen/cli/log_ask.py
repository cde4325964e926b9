"""Asking before something doubtful is kept, or something is removed for good."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import typer

from cuegen.cli.log_typed import today
from cuegen.cli.terminal import EXIT_BAD_INPUT
from cuegen.errors import LogError
from cuegen.log.doubts import Doubt, doubts_about, doubts_of
from cuegen.log.entry import LogEntry
from cuegen.log.store import open_log

MOST_SHOWN = 20
"""So many doubts are shown; of more, only their number is said."""


def ask_about(
    path: Path,
    entries: Sequence[LogEntry],
    places: Sequence[str],
    *,
    yes: bool,
    instead_of: LogEntry | None = None,
) -> None:
    """Ask about whatever is hard to believe of entries, before any of them is kept.

    places: where each of them stands, in words. instead_of: the entry they replace;
    what was odd about it before is not asked again. Leaves with exit code 2 on a no,
    and raises LogError with every doubt where nobody can be asked.
    """
    doubts = _doubts(path, entries, instead_of)
    if not doubts:
        return
    lines = _lines(doubts, places)
    if yes:
        _say("kept as told, though hard to believe:", lines)
    elif _somebody_is_there():
        _say("hard to believe:", lines)
        _confirm("Keep it all the same?")
    else:
        raise LogError(
            "\n  ".join(["hard to believe:", *_shown(lines)]),
            remedy="Put it right, or say --yes to keep it as it is. Nothing was written.",
        )


def _lines(doubts: Sequence[Doubt], places: Sequence[str]) -> list[str]:
    """Return each thing that is odd once, with all the places where it is."""
    where: dict[str, list[str]] = {}
    for doubt in doubts:
        where.setdefault(doubt.what, []).append(places[doubt.index])
    return [f"{_listed(found)}: {what}" for what, found in where.items()]


def _listed(places: Sequence[str]) -> str:
    more = len(places) - 4
    return ", ".join(places) if more <= 0 else f"{', '.join(places[:4])} and {more} more"


def confirm_forgetting(rower: str) -> None:
    """Ask before a rower is forgotten. Raises LogError where nobody can be asked."""
    if not _somebody_is_there():
        raise LogError(
            f"what is forgotten of {rower} cannot be brought back",
            remedy="Say --yes if it is meant. Nothing was written.",
        )
    _confirm(f"Remove every result of {rower} for good?")


def _doubts(path: Path, entries: Sequence[LogEntry], instead_of: LogEntry | None) -> list[Doubt]:
    if not path.exists():  # no log is begun only to be asked
        return doubts_of(entries, (), (), today())
    with open_log(path, create=False) as log:
        number = None if instead_of is None else instead_of.id
        doubts = doubts_about(log, entries, today(), instead_of=number)
        if instead_of is not None:
            before = doubts_about(log, [instead_of], today(), instead_of=number)
            doubts = [doubt for doubt in doubts if doubt not in before]
    return doubts


def _somebody_is_there() -> bool:
    return sys.stdin.isatty() and sys.stderr.isatty()


def _confirm(question: str) -> None:
    if not typer.confirm(question, default=False, err=True):
        typer.echo("Nothing was written.", err=True)
        raise typer.Exit(EXIT_BAD_INPUT)


def _say(head: str, lines: Sequence[str]) -> None:
    typer.echo("\n  ".join([f"cuegen: {head}", *_shown(lines)]), err=True)


def _shown(lines: Sequence[str]) -> list[str]:
    more = len(lines) - MOST_SHOWN
    return [*lines[:MOST_SHOWN], *([f"and {more} more"] if more > 0 else [])]
