"""`cuegen log forget | rowers`: whose results there are, and taking somebody's out for good."""

from __future__ import annotations

from typing import Annotated

import typer

from cuegen.cli.log_options import LogOption, RowerArgument, log_path
from cuegen.cli.terminal import JsonOption


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

    with open_log(log_path(log), create=False) as book:
        book.check_known(rower)
        if not yes:
            confirm_forgetting(rower)
        tell_forgotten(rower, book.forget(rower))


def rowers(*, as_json: JsonOption = False, log: LogOption = None) -> None:
    """Show whose results there are, how many, and of which days."""
    from cuegen.cli.log_show import show_rowers
    from cuegen.log.store import open_log

    with open_log(log_path(log), create=False) as book:
        show_rowers(book.rowers(), as_json=as_json)
