"""A folder of takes: which file is the take of which line. Looks at names, not at sound.

Conventions
    A file means a line by its take name (`rate-up-twenty-kdwpr.wav`, with anything before
    it), by its words (`Rate up, twenty.m4a`) or by its number in the list (`07.flac`): the
    list that lies in the folder (cuegen.takes.listing), else the list of the sheet. Of
    several files for one line the last by name is taken, and the others are named.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from rapidfuzz import fuzz

from cuegen.errors import TakeError, Where
from cuegen.files import read_text
from cuegen.takes.lines import TakeLine
from cuegen.takes.listing import LIST_NAME, Listed, Standing, State, from_csv, numbers_of
from cuegen.takes.names import FileName, letters_of, read_name, words_key

SUFFIXES = (".wav", ".mp3", ".m4a", ".flac", ".ogg", ".opus")
_ALIKE = 70.0
"""Words this much alike (rapidfuzz's ratio, of 100) are an edit of one another."""


@dataclass(frozen=True, slots=True)
class TakeFolder:
    """The files of a folder with what their names mean, and the list that lies beside them."""

    path: Path
    files: tuple[tuple[Path, FileName], ...]
    listed: tuple[Listed, ...] = ()

    def of(self, text: str, numbers: dict[str, int] | None = None) -> tuple[Path, ...]:
        """Return the files that mean a line, the one to be taken last.

        numbers: of the lines of a sheet, where no list lies in the folder.
        """
        key = words_key(text)
        letters = letters_of(key)
        number = (numbers_of(self.listed) if self.listed else numbers or {}).get(key)
        return tuple(
            path
            for path, name in self.files
            if name.key == key
            or name.letters == letters
            or (number is not None and name.number == number)
        )


@dataclass(frozen=True, slots=True)
class Matched:
    """What the files of a folder mean for the lines of a sheet.

    takes: the file of each line that has one, by key. doubles: files that another goes
    before. strangers: files that mean none of the lines.
    """

    takes: dict[str, Path]
    doubles: tuple[Path, ...]
    strangers: tuple[Path, ...]


def open_folder(path: Path) -> TakeFolder:
    """Look into a folder of takes. Raises TakeError where it is none."""
    where = Where(file=str(path))
    try:
        found = [one for one in path.iterdir() if one.suffix.lower() in SUFFIXES]
    except NotADirectoryError:
        raise TakeError(
            "this is a file, not a folder of takes",
            where=where,
            remedy="Name the folder it lies in; `cuegen takes cut` cuts one long recording.",
        ) from None
    except OSError as bad:
        raise TakeError(
            f"this folder of takes cannot be read: {(bad.strerror or str(bad)).lower()}",
            where=where,
            remedy="Check the name; `cuegen takes list` says what is to be recorded.",
        ) from None
    files = sorted((one for one in found if not one.name.startswith(".")), key=_in_order)
    return TakeFolder(path, tuple((one, read_name(one.stem)) for one in files), read_list(path))


def read_list(folder: Path) -> tuple[Listed, ...]:
    """Return the list that lies in a folder, nothing where none does. Raises TakeError."""
    path = folder / LIST_NAME
    if not path.is_file():
        return ()
    return from_csv(read_text(path, TakeError, "list of lines"), str(path))


def matched(folder: TakeFolder, lines: Iterable[TakeLine]) -> Matched:
    """Return which files are the takes of which lines."""
    wanted = list(lines)
    numbers = {line.key: line.number for line in wanted}
    takes: dict[str, Path] = {}
    doubles: list[Path] = []
    for line in wanted:
        files = folder.of(line.text, numbers)
        if files:
            takes[line.key] = files[-1]
            doubles += files[:-1]
    known = {*takes.values(), *doubles}
    strangers = tuple(path for path, _ in folder.files if path not in known)
    return Matched(takes, tuple(doubles), strangers)


def standings(lines: Sequence[TakeLine], folder: TakeFolder | None) -> tuple[Standing, ...]:
    """Return which lines are recorded, missing, or an edit of one that is recorded."""
    if folder is None:
        return tuple(Standing(line, State.MISSING) for line in lines)
    found = matched(folder, lines)
    old = _old_words(folder, found.strangers)
    return tuple(_standing(line, found, folder, old) for line in lines)


def _standing(line: TakeLine, found: Matched, folder: TakeFolder, old: dict[str, str]) -> Standing:
    if line.key in found.takes:
        return Standing(line, State.RECORDED)
    same_cue = [
        row.text for row in folder.listed if row.key in old and set(row.cues) & set(line.cues)
    ]
    alike = [text for key, text in old.items() if fuzz.ratio(key, line.key) >= _ALIKE]
    was = next(iter([*same_cue, *alike]), "")
    return Standing(line, State.CHANGED if was else State.MISSING, was)


def _old_words(folder: TakeFolder, strangers: Sequence[Path]) -> dict[str, str]:
    """Return the words of the takes that mean no line of the sheet, by key.

    The list knows them; without it, the readable part of a take's name has to do.
    """
    left = set(strangers)
    names = {path: name for path, name in folder.files if path in left}
    words: dict[str, str] = {}
    for row in folder.listed:
        if left & set(folder.of(row.text)):
            words[row.key] = row.text
    listed = {path for text in words.values() for path in folder.of(text)}
    for path, name in names.items():
        if path not in listed and not name.number:
            readable = name.key.removesuffix(name.letters or "").strip()
            words[readable] = readable
    return words


def _in_order(path: Path) -> tuple[tuple[tuple[int, str], ...], str]:
    """Return a key by which 2 comes before 10, and "a" before "a (2)"."""
    parts = re.findall(r"\d+|\D+", path.stem.casefold())
    return tuple((int(p), "") if p.isdigit() else (-1, p) for p in parts), path.suffix
