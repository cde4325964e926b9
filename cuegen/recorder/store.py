"""Takes put into a folder as they come, each examined at once.

Conventions
    A line's take is called by its take name (cuegen.takes.names), which is made of the
    line's words: nothing that a request says becomes part of a path. It replaces an
    earlier take of that name, whole or not at all. Files of other names that mean the
    same line (07.m4a) would go before it, so they are moved into the folder EARLIER,
    never removed: a line has exactly one take.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from cuegen.errors import OutputError, Where
from cuegen.files import writing
from cuegen.takes.examine import Examiner
from cuegen.takes.faults import TakeFault, too_long
from cuegen.takes.folder import TakeFolder, matched, open_folder
from cuegen.takes.lines import TakeLine
from cuegen.takes.take import Take

EARLIER = "earlier"


@dataclass(frozen=True, slots=True)
class Kept:
    """A take that was put into the folder, and what was heard of it.

    length_ms: of its words, None where nobody could tell. doubt: what is named though the
    take can be used. moved: earlier files of the line, by name.
    """

    path: Path
    faults: tuple[TakeFault, ...]
    doubt: str
    length_ms: int | None
    moved: tuple[str, ...]


class Store:
    """The folder of takes for the lines of a sheet.

    stands: whether the sheet is finished, so that no line can move to make room. told:
    called with each file that was written and its line.
    """

    def __init__(
        self,
        folder: Path,
        lines: Sequence[TakeLine],
        examiner: Examiner,
        *,
        stands: bool,
        told: Callable[[Path, TakeLine], None] = lambda _path, _line: None,
    ) -> None:
        self.folder = folder
        self.lines = {line.number: line for line in lines}
        self._examiner = examiner
        self._stands = stands
        self._told = told
        self._one_at_a_time = threading.Lock()

    def recorded(self) -> frozenset[int]:
        """Return the numbers of the lines that have a take."""
        takes = matched(self._opened(), self.lines.values()).takes
        return frozenset(n for n, line in self.lines.items() if line.key in takes)

    def file_of(self, number: int) -> Path | None:
        """Return the file of a line's take; None where it has none."""
        line = self.lines[number]
        return matched(self._opened(), self.lines.values()).takes.get(line.key)

    def keep(self, number: int, data: bytes) -> Kept:
        """Put a line's take into the folder and examine it. Raises OutputError, TakeError."""
        line = self.lines[number]
        path = self.folder / f"{line.name}.wav"
        with self._one_at_a_time:
            with writing(path) as part:
                part.write_bytes(data)
            moved = self._make_way(line, path)
            self._told(path, line)
            (take,) = self._examiner.examine([(line.text, path)])
        fault = self._too_long(line, take)
        faults = (*take.faults, *([fault] if fault else []))
        doubt = take.doubt or self._crowding(line, take)
        return Kept(path, faults, "" if faults else doubt, take.length_ms, moved)

    def _opened(self) -> TakeFolder:
        return open_folder(self.folder) if self.folder.exists() else TakeFolder(self.folder, ())

    def _make_way(self, line: TakeLine, path: Path) -> tuple[str, ...]:
        """Move other files of a line aside."""
        numbers = {one.key: one.number for one in self.lines.values()}
        others = [one for one in self._opened().of(line.text, numbers) if one != path]
        for one in others:
            self._move(one, self.folder / EARLIER)
        return tuple(one.name for one in others)

    def _move(self, path: Path, aside: Path) -> None:
        try:
            aside.mkdir(exist_ok=True)
            if aside.resolve().parent != self.folder.resolve():
                raise NotADirectoryError(20, "leads out of the folder of takes")
            path.rename(_free_name(aside / path.name))
        except OSError as bad:
            raise OutputError(
                f"an earlier take of this line could not be moved aside: {bad.strerror}",
                where=Where(file=str(path)),
                remedy="Move it away yourself: of two takes of a line one would be forgotten.",
            ) from None

    def _too_long(self, line: TakeLine, take: Take) -> TakeFault | None:
        most_ms = line.longest_ms if self._stands else line.firm_ms
        if take.length_ms is None or most_ms is None:
            return None
        return too_long(take.length_ms, most_ms)

    def _crowding(self, line: TakeLine, take: Take) -> str:
        """Return what is to be said of a take that other lines have to make room for."""
        if take.length_ms is None or take.length_ms <= line.longest_ms:
            return ""
        return (
            f"lasts {take.length_ms / 1000:.2f} s and has {line.longest_ms / 1000:.2f} s as the "
            "session stands: other lines move, or it finds no place"
        )


def _free_name(path: Path) -> Path:
    """Return a name that nothing has: a.wav, a (2).wav, a (3).wav."""
    number, free = 1, path
    while free.exists():
        number += 1
        free = path.with_name(f"{path.stem} ({number}){path.suffix}")
    return free
