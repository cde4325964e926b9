"""Results on the terminal, as a table or as JSON, and what was done to them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

import typer
from rich.cells import cell_len

from cuegen.cli.terminal import add_row, console, plain_table
from cuegen.clock import split_text
from cuegen.log.entry import FIELDS, Field, LogEntry, exact_duration, exact_parts

if TYPE_CHECKING:
    from cuegen.log.outcomes import Forgotten, Rower, Undone

_Cell = Callable[[LogEntry], Any]

_COLUMNS: dict[str, _Cell] = {
    "id": lambda entry: entry.id,
    "day": lambda entry: entry.day,
    "rower": lambda entry: entry.rower,
    "session": lambda entry: entry.session,
    "segment": lambda entry: entry.segment,
    "what": lambda entry: entry.label,
    "kind": lambda entry: None if entry.kind == "row" else entry.kind,
    "rate": lambda entry: entry.rate,
    "split": lambda entry: split_text(entry.split_ms),
    "parts": lambda entry: exact_parts(entry.parts_ms),
    "watts": lambda entry: entry.watts and f"{entry.watts:.0f}",
    "metres": lambda entry: entry.metres and f"{entry.metres:.0f}",
    "time": lambda entry: entry.duration_ms and _time(entry.duration_ms),
    "heart": lambda entry: entry.heart_rate,
    "felt": lambda entry: None if entry.felt_pct is None else f"{entry.felt_pct} %",
    "note": lambda entry: entry.note,
}
"""What a table shows; a column without a single value is left out."""

_TEXTS = ("day", "rower", "session", "what", "kind", "parts", "note")


def show_entries(entries: Iterable[LogEntry]) -> None:
    """Print entries as a table. Plain padding, since there may be thousands of them."""
    rows = [{name: _text(cell(entry)) for name, cell in _COLUMNS.items()} for entry in entries]
    names = [name for name in _COLUMNS if any(row[name] for row in rows)]
    rows.insert(0, {name: name for name in names})
    widths = {name: max(cell_len(row[name]) for row in rows) for name in names}
    lines = ("  ".join(_padded(name, row[name], widths[name]) for name in names) for row in rows)
    console().print("\n".join(line.rstrip() for line in lines), markup=False, soft_wrap=True)


def _text(value: Any) -> str:
    return "" if value is None else str(value)


def _time(duration_ms: int) -> str:
    """Return `m:ss`, with hours only where there are any, and decimals where there are any."""
    text = exact_duration(duration_ms).removeprefix("0:")
    return text[1:] if text.startswith("0") else text


def _padded(name: str, text: str, width: int) -> str:
    room = " " * (width - cell_len(text))
    return text + room if name in _TEXTS else room + text


def print_json(entries: Sequence[LogEntry]) -> None:
    """Print entries as JSON: their fields as they are, and the split in words too."""
    found = [_plain(entry) for entry in entries]
    typer.echo(json.dumps({"results": found}, indent=2, ensure_ascii=False).encode())


def _plain(entry: LogEntry) -> dict[str, Any]:
    found: dict[str, Any] = {"id": entry.id}
    for name in FIELDS:
        found[name] = getattr(entry, name)
    found["day"] = entry.day.isoformat()
    found["split"] = split_text(entry.split_ms)
    found["added"] = entry.added and entry.added.isoformat()
    found["batch"] = entry.batch
    return found


def show_rowers(rowers: Sequence[Rower], *, as_json: bool) -> None:
    """Print whose results there are."""
    if as_json:
        found = [
            {
                "rower": one.name,
                "results": one.results,
                "first": one.first.isoformat(),
                "last": one.last.isoformat(),
            }
            for one in rowers
        ]
        typer.echo(json.dumps({"rowers": found}, indent=2, ensure_ascii=False).encode())
        return
    if not rowers:
        typer.echo("No results.")
        return
    table = plain_table("rower", "results", "first", "last")
    for one in rowers:
        add_row(table, one.name, str(one.results), str(one.first), str(one.last))
    console().print(table)


# ------------------------------------------------------- what was done


def count_of(number: int) -> str:
    return f"{number} result{'' if number == 1 else 's'}"


def tell_batch(what: str, entries: Sequence[LogEntry]) -> None:
    """Say what was done to entries, and that it can be taken back."""
    typer.echo(f"{count_of(len(entries))} {what}; `cuegen log undo` takes it back.")


def tell_changes(before: LogEntry, after: LogEntry) -> None:
    """Say which fields of an entry are different."""
    same = True
    for name, spec in FIELDS.items():
        old, new = (getattr(entry, name) for entry in (before, after))
        if old != new:
            typer.echo(f"{spec.column}: {_said(spec, old)} -> {_said(spec, new)}")
            same = False
    if same:
        typer.echo("It says so already; nothing was written.")
    else:
        typer.echo(f"number {after.id} corrected; `cuegen log undo` takes it back.")


def _said(spec: Field, value: Any) -> str:
    if value == spec.nothing:
        return "nothing"
    return str(value) if spec.types == (str,) else spec.write(value)


_DONE = {"add": "added", "import": "brought in", "correct": "corrected", "remove": "removed"}


def tell_undone(undone: Undone) -> None:
    """Say what was taken back."""
    when = datetime.fromisoformat(undone.made).astimezone()
    rowers = ", ".join(undone.rowers[:5]) + (", and others" if len(undone.rowers) > 5 else "")
    typer.echo(
        f"Undone: {count_of(undone.results)} of {rowers}, {_DONE[undone.action]} on "
        f"{when:%Y-%m-%d} at {when:%H:%M}."
    )


def tell_forgotten(rower: str, forgotten: Forgotten) -> None:
    """Say what was removed for good, and where the name still stands."""
    typer.echo(f"{count_of(forgotten.results)} of {rower} removed for good.")
    for copy in forgotten.backups:
        typer.echo(f"Removed too, a copy from before an update: {copy}")
    if forgotten.mentions:
        numbers = ", ".join(map(str, forgotten.mentions[:20]))
        typer.echo(
            f"The name still stands in what is noted on results of others: {numbers}. "
            "Change those notes, or remove them, if it should not."
        )
