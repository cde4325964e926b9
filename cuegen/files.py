"""Reading and writing at the edges: nothing half-written is ever left behind.

`writing` hands out a path beside the target; only when the block ends without
an error is it renamed over the target, so a reader sees the old file or the
whole new one. On any error, Ctrl-C included, the part file is removed.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

from cuegen.errors import CuegenError, OutputError, Where

Kind = TypeVar("Kind")


def read_text(path: Path, error: type[CuegenError], what: str) -> str:
    """Return a UTF-8 text (a byte-order mark is dropped), or raise `error`.

    `what` names the kind of file in the message: "plan", "results file".
    """
    where = Where(file=str(path))
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise error(f"there is no such {what}", where=where, remedy="Check the name.") from None
    except IsADirectoryError:
        raise error(
            f"this is a folder, not a {what}", where=where, remedy="Name a file in it."
        ) from None
    except UnicodeDecodeError as bad:
        raise error(
            f"this {what} is not UTF-8 text (byte {bad.start + 1})",
            where=where,
            remedy="Save it as UTF-8.",
        ) from None
    except OSError as bad:
        raise error(f"this {what} cannot be read: {bad.strerror}", where=where) from None


def by_suffix(path: Path, known: Mapping[str, Kind], what: str) -> Kind:
    """Return what a table has for a file's suffix. Raises OutputError, `what` being the file."""
    found = known.get(path.suffix.lower())
    if found is None:
        raise OutputError(
            f"{what} cannot be written as {path.suffix!r}"
            if path.suffix
            else f"the name of {what} needs a suffix that says its format",
            where=Where(file=str(path)),
            remedy=f"Use one of {', '.join(known)}.",
        )
    return found


@contextmanager
def writing(path: Path) -> Iterator[Path]:
    """Give a part file beside `path`, renamed to it when the block succeeds.

    The part file keeps the suffix of `path`, since encoders choose by it.
    Raises OutputError where the place cannot be written.
    """
    part = _part_file(path)
    try:
        yield part
        part.replace(path)
    except OSError as bad:
        raise OutputError(
            f"could not write: {bad.strerror or bad}",
            where=Where(file=str(path)),
            remedy="Check free space and permissions, or name another place with --out.",
        ) from bad
    finally:
        part.unlink(missing_ok=True)


def write_text(path: Path, text: str) -> None:
    """Write UTF-8 text whole or not at all."""
    with writing(path) as part:
        part.write_text(text, encoding="utf-8", newline="\n")


def _part_file(path: Path) -> Path:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_dir():
            raise IsADirectoryError(21, "a folder of that name is there")
        handle, name = tempfile.mkstemp(
            prefix=f".{path.stem}-", suffix=f".part{path.suffix}", dir=path.parent
        )
    except OSError as bad:
        raise OutputError(
            f"could not write: {bad.strerror or bad}",
            where=Where(file=str(path)),
            remedy="Check the folder and its permissions, or name another place with --out.",
        ) from bad
    os.close(handle)
    part = Path(name)
    part.chmod(0o666 & ~_umask())
    return part


def _umask() -> int:
    """Return the process's umask; mkstemp makes files private, a track is for handing out."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
