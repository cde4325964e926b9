"""Noting what was made for one rower, so that `cuegen forget` finds it again."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import typer


def note_made(paths: Iterable[Path], rower: str | None, say: str | None = None) -> None:
    """Note files that were made for a rower; what cannot be noted is said, and no more."""
    from cuegen.errors import OutputError
    from cuegen.handouts import note_handout
    from cuegen.log import default_log_path

    if rower is None:
        return
    try:
        for path in paths:
            note_handout(default_log_path(), path, rower, say)
    except OutputError as bad:
        typer.echo(f"cuegen: not noted for `cuegen forget`: {bad}", err=True)
