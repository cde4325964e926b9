"""A whole folder of takes checked against the lines of a sheet.

Contents
    checked_folder  every take with its measures and faults, every file accounted for
    renamed         the same, with good takes called by their take names
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from cuegen.errors import OutputError, Where
from cuegen.takes.faults import Measures
from cuegen.takes.folder import matched
from cuegen.takes.lines import TakeLine
from cuegen.takes.shelf import FolderTakes
from cuegen.takes.speaker import FolderSpeaker
from cuegen.takes.take import Take


@dataclass(frozen=True, slots=True, eq=False)
class CheckedTake:
    """A line, the file of its take and what was found out about it."""

    line: TakeLine
    path: Path
    take: Take
    doubt: str = ""

    @property
    def is_good(self) -> bool:
        return not self.take.faults


@dataclass(frozen=True, slots=True, eq=False)
class CheckedFolder:
    """doubles: files that another goes before. strangers: files of no line of the sheet."""

    takes: tuple[CheckedTake, ...]
    missing: tuple[TakeLine, ...]
    doubles: tuple[Path, ...]
    strangers: tuple[Path, ...]

    @property
    def faulty(self) -> tuple[CheckedTake, ...]:
        return tuple(one for one in self.takes if not one.is_good)


def checked_folder(speaker: FolderSpeaker) -> CheckedFolder:
    """Return what was found out about the takes of the lines that a speaker was opened for."""
    found = matched(speaker.shelf.folder, speaker.lines)
    there = [line for line in speaker.lines if line.key in found.takes]
    return CheckedFolder(
        tuple(_checked(speaker.shelf, line, found.takes[line.key]) for line in there),
        tuple(line for line in speaker.lines if line.key not in found.takes),
        found.doubles,
        found.strangers,
    )


def _checked(shelf: FolderTakes, line: TakeLine, path: Path) -> CheckedTake:
    """Return a take with the faults that it has by itself and those that it has in its place."""
    take = shelf.examined.get(path) or Take(line.text, None, Measures(float("-inf"), 0), ())
    in_place = shelf.faults.get(path, ())
    faults = (*take.faults, *(fault for fault in in_place if fault not in take.faults))
    doubt = take.doubt or shelf.doubts.get(path, "")
    return CheckedTake(line, path, replace(take, faults=faults), doubt)


def renamed(checked: CheckedFolder) -> CheckedFolder:
    """Give good takes their take names on disk; returns them where they now lie.

    A name that is taken is left alone. Raises OutputError.
    """
    return replace(checked, takes=tuple(_renamed(one) for one in checked.takes))


def _renamed(one: CheckedTake) -> CheckedTake:
    path = one.path.with_name(one.line.name + one.path.suffix.lower())
    if not one.is_good or one.path == path or path.exists():
        return one
    try:
        one.path.rename(path)
    except OSError as bad:
        raise OutputError(
            f"this take could not be renamed: {bad.strerror}", where=Where(file=str(one.path))
        ) from None
    return replace(one, path=path)
