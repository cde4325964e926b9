"""`cuegen progress`: a block looked back on for one rower."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from cuegen.cli.made import note_made
from cuegen.cli.terminal import JsonOption, ResultsOption


def progress(
    path: Annotated[Path, typer.Argument(metavar="BLOCK", help="A block file (.yaml).")],
    *,
    rower: Annotated[str, typer.Option("--rower", help="Whose block it was.")],
    results: ResultsOption = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            help="Write a page (.html), drawings (.svg, .png), a table (.csv) or a note to the "
            "rower (.txt).",
        ),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Look back on a block: splits by rate and week, work per stroke, targets against held.

    Results come from your results log, or from --results.
    """
    from cuegen.cli.progress_show import show_progress
    from cuegen.lookback import history_of
    from cuegen.occasion import given, own_log
    from cuegen.pages.progress_save import save_progress, writer_of
    from cuegen.plan.block_reading import load_block
    from cuegen.targets.rowed import Results

    if out is not None:
        writer_of(out)  # a wrong suffix is said before any work is done
    block = load_block(path)
    held = given(results if results is not None else own_log(), rower) or Results(())
    history = history_of(block, held, rower)
    if out is not None:
        save_progress(history, out)
        note_made([out], history.rower)
        typer.echo(str(out))
    elif as_json:
        typer.echo(json.dumps(asdict(history), indent=2, ensure_ascii=False, default=str).encode())
    else:
        show_progress(history)
