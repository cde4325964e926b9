"""The command line: `cuegen new | sheet | block | changes | track | takes | check | review |
progress | page | voices | phrases | log | forget`.

Commands are thin: they read options, call the public functions of the package
and print. Each lives in its own module; stages are imported inside the commands,
so that `--help` and completion start at once.
"""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from cuegen import __version__
from cuegen.cli import (
    block,
    changes,
    check,
    forget,
    log,
    new,
    page,
    phrases,
    progress,
    review,
    sheet,
    takes,
    track,
    voices,
)
from cuegen.cli.terminal import EXIT_BAD_INPUT
from cuegen.errors import CuegenError

FIRST_COMMANDS = """\
Where to begin:

an instructor with a group: cuegen new steps > plan.yaml, then cuegen track plan.yaml

a rower alone: cuegen track plan.yaml --results held.csv --rower "Your Name"

a gym with a sheet to hand out: cuegen sheet plan.yaml --out plan.html
"""

app = typer.Typer(
    name="cuegen",
    help="Turn a rowing session plan into a spoken coaching track that is right to the second.",
    epilog=FIRST_COMMANDS,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)


def _print_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"cuegen {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_print_version, is_eager=True, help="Say the version."),
    ] = False,
) -> None:
    """Options that stand before a command."""


app.command("new")(new.new)
app.command("sheet")(sheet.sheet)
app.command("block")(block.block)
app.command("changes")(changes.changes)
app.command("track")(track.track)
app.command("check")(check.check)
app.command("progress")(progress.progress)
app.command("review")(review.review)
app.command("voices")(voices.voices)
app.add_typer(page.app, name="page")
app.add_typer(phrases.app, name="phrases")
app.add_typer(takes.app, name="takes")
app.add_typer(log.app, name="log")
app.command("forget")(forget.forget)


def main() -> None:
    """Run the command line; a CuegenError becomes one clear message and exit code 2.

    Wrong options (exit code 2) and Ctrl-C (130) are seen to by typer itself.
    """
    try:
        app()
    except CuegenError as error:
        typer.echo(f"cuegen: {error}", err=True)
        sys.exit(EXIT_BAD_INPUT)
