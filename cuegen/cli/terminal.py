"""What every command shares: where words go, progress, options, exit codes.

Results go to standard output, everything said about the work to standard error.
Progress bars are drawn only where standard error is a terminal.

Exit codes: 0 done, 1 a track failed its verification, 2 input that cannot be
used, 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

EXIT_FAILED = 1
EXIT_BAD_INPUT = 2

SourceArgument = Annotated[
    Path, typer.Argument(help="A plan or a block (.yaml) or a sheet (.json).")
]
EditsOption = Annotated[
    Path | None,
    typer.Option("--edits", help="A CSV sheet edited by hand, to merge into SOURCE."),
]
ResultsOption = Annotated[
    Path | None,
    typer.Option("--results", "-r", help="CSV of what was held: rower,date,rate,split."),
]
RowerOption = Annotated[
    str | None, typer.Option("--rower", help="Whose results count; otherwise the plan's rower.")
]
WeekOption = Annotated[
    int | None, typer.Option("--week", "-w", min=1, help="Which week, where SOURCE is a block.")
]
VoiceOption = Annotated[
    str | None, typer.Option("--voice", help="A voice of `cuegen voices`, before the plan's.")
]
TakesOption = Annotated[
    Path | None,
    typer.Option("--takes", help="A folder of takes, used before the voice (see cuegen takes)."),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON, for scripts.")]


def console(*, stderr: bool = False) -> Console:
    """Return a console that colours only a terminal; imported late, for quick start-up.

    What a file or a terminal of an old encoding cannot hold is shown as "?".
    """
    from rich.console import Console

    stream = sys.stderr if stderr else sys.stdout
    if isinstance(stream, TextIOWrapper) and stream.errors == "strict":
        stream.reconfigure(errors="replace")
    return Console(stderr=stderr, highlight=False, soft_wrap=not _is_terminal(stderr))


def _is_terminal(stderr: bool) -> bool:
    return (sys.stderr if stderr else sys.stdout).isatty()


@contextmanager
def progress(title: str) -> Iterator[Callable[[int, int], None]]:
    """Give a callback (done, total) that draws a bar, or nothing when nobody watches."""
    if not sys.stderr.isatty():
        yield lambda _done, _total: None
        return
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description:<10}"), BarColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console(stderr=True), transient=True) as bars:
        task = bars.add_task(title, total=None)

        def show(done: int, total: int) -> None:
            bars.update(task, completed=done, total=total)

        yield show


def plain_table(*columns: str) -> Table:
    """Return a table without frames, for the terminal."""
    from rich.box import SIMPLE
    from rich.table import Table

    return Table(*columns, box=SIMPLE, pad_edge=False)


def add_row(table: Table, *cells: str, bold: bool = False) -> None:
    """Add a row of plain texts: brackets in a plan's words are never read as mark-up."""
    from rich.text import Text

    table.add_row(*(Text(cell) for cell in cells), style="bold" if bold else None)
