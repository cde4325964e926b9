"""`cuegen forget`: everything of one rower on this machine, for good."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.log_options import LogOption, RowerArgument, log_path

if TYPE_CHECKING:
    from cuegen.handouts import Handout

MEMORY_SUFFIX = ".heard.json"


def forget(
    rower: RowerArgument,
    *,
    yes: Annotated[
        bool, typer.Option("--yes", "-y", help="Do not ask whether it is meant.")
    ] = False,
    log: LogOption = None,
) -> None:
    """Remove a rower from this machine: results, tracks, pages and notes made for them,
    what they heard of a block, and spoken lines with their name.

    Copies that were moved, renamed or handed out are beyond its reach.
    """
    from cuegen.handouts import handouts_of, remove_handout
    from cuegen.log import default_log_path

    path = log_path(log)
    made = handouts_of(default_log_path(), rower)
    logged = _is_logged(path, rower)
    if not made and not logged:
        _nothing_known(path, rower)
    if not yes:
        _confirm(rower, made)
    if logged:
        _forget_results(path, rower)
    names = {rower, *(name for one in made for name in one.names)}
    _forget_lines(names)
    for one in made:
        if one.path.name.endswith(MEMORY_SUFFIX):
            _forget_heard(one, rower)
        elif remove_handout(one):
            typer.echo(f"Removed: {one.path}")


def _is_logged(path: Path, rower: str) -> bool:
    from cuegen.errors import LogError
    from cuegen.log.store import open_log

    if not path.exists():
        return False
    with open_log(path, create=False) as book:
        try:
            book.check_known(rower)
        except LogError:
            return False
    return True


def _nothing_known(path: Path, rower: str) -> None:
    from cuegen.errors import LogError, Where
    from cuegen.log.store import open_log

    if path.exists():
        with open_log(path, create=False) as book:
            book.check_known(rower)  # names the nearest
    raise LogError(
        "nothing is known of a rower of that name",
        where=Where(text=rower),
        remedy="`cuegen log rowers` names those in the log.",
    )


def _confirm(rower: str, made: tuple[Handout, ...]) -> None:
    from cuegen.cli.log_ask import confirm_forgetting

    for one in made:
        typer.echo(f"  {one.path}", err=True)
    confirm_forgetting(rower)


def _forget_results(path: Path, rower: str) -> None:
    from cuegen.cli.log_show import tell_forgotten
    from cuegen.log.store import open_log

    with open_log(path, create=False) as book:
        tell_forgotten(rower, book.forget(rower))


def _forget_lines(names: set[str]) -> None:
    from cuegen.voice.cache import ClipCache, default_cache_dir

    removed = ClipCache(default_cache_dir()).remove_naming(names)
    if removed:
        plural = "" if removed == 1 else "s"
        typer.echo(f"{removed} spoken line{plural} with the name removed from the cache.")


def _forget_heard(memory: Handout, rower: str) -> None:
    from cuegen.heard import forget_heard

    forget_heard(memory.path, rower)
    memory.note.unlink(missing_ok=True)
    typer.echo(f"What {rower} heard was taken out of {memory.path}")
