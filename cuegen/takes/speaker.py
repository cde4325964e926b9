"""A speaker with the coach's own voice: takes where there are some, a voice for all else.

Conventions
    A take is found by a line's words and lasts as long as it lasts: it is never sped up,
    whatever pace the line asks for. A folder is seen from where a sheet lies, so that both
    can be moved together.

Contents
    TakeSpeaker      takes before another speaker
    folder_speaker   with the takes of a folder, for the lines of a sheet
    noted_speaker    with the takes that a sheet was made with
    with_takes       a sheet, with the takes that it is spoken with noted in it
    folder_from      a folder as it is noted
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from cuegen.schedule.cuesheet import CueSheet, SheetTake, SheetTakes
from cuegen.script.candidate import Line
from cuegen.takes.examine import Examiner
from cuegen.takes.faults import too_long
from cuegen.takes.folder import open_folder
from cuegen.takes.kept import TakeCache, Takes
from cuegen.takes.lines import TakeLine, lines_to_record
from cuegen.takes.listing import numbers_of
from cuegen.takes.names import words_key
from cuegen.takes.shelf import FolderTakes, NotedTakes
from cuegen.telling import Progress
from cuegen.voice.cache import ClipCache, default_cache_dir
from cuegen.voice.clip import Clip, Preparing, Speaker


class TakeSpeaker:
    """A Speaker that says a line with its take, and with another speaker where there is none.

    takes: where it has them from.
    """

    def __init__(self, takes: Takes, voice: Speaker) -> None:
        self.takes = takes
        self._voice = voice

    def length_ms(self, line: Line) -> int:
        """Return the length of a take, whatever pace the line asks for; else the voice's."""
        kept = self.takes.find(line.text)
        return self._voice.length_ms(line) if kept is None else kept.length_ms

    def clip(self, line: Line) -> Clip:
        """Return the finished take, or the finished clip of the voice."""
        kept = self.takes.find(line.text)
        if kept is None:
            return self._voice.clip(line)
        return Clip(line, self.takes.samples(line.text), follows=kept.follows)

    def prepare(self, lines: Iterable[Line], on_progress: Progress | None = None) -> None:
        """Have the voice speak, in one go, the lines that have no take."""
        if isinstance(self._voice, Preparing):
            self._voice.prepare(
                [line for line in lines if self.takes.find(line.text) is None], on_progress
            )


class FolderSpeaker(TakeSpeaker):
    """A TakeSpeaker with the takes of a folder. lines: those of the sheet it was opened for."""

    def __init__(
        self, takes: FolderTakes, voice: Speaker, cache: TakeCache, lines: tuple[TakeLine, ...]
    ) -> None:
        super().__init__(takes, voice)
        self.shelf, self.lines, self._cache = takes, lines, cache

    def settle(self, sheet: CueSheet) -> None:
        """Note which takes found no place in the sheet that was made with them."""
        said = {words_key(cue.text) for cue in sheet.cues}
        for line in self.lines:
            kept = self.takes.find(line.text)
            if kept is None or line.key in said:
                continue
            fault = too_long(kept.length_ms, line.longest_ms)
            if fault is not None:
                self.shelf.refuse(line.text, fault)
            else:
                doubt = "has no place in the session any more, since other takes are longer"
                self.shelf.doubts[self.shelf.file_of(line.text)] = doubt

    def told(self) -> list[str]:
        """Return what is to be said of the takes: those not used and why, those in doubt."""
        unused = [
            f"{path.name} is not used: {fault}"
            for path, faults in sorted(self.shelf.faults.items())
            for fault in faults
        ]
        doubts = [f"{path.name}: {doubt}" for path, doubt in sorted(self.shelf.doubts.items())]
        return [*unused, *doubts, *self._cache.warnings]


@dataclass(frozen=True, slots=True)
class FolderAsked:
    """A folder of takes. stands: its lines may not move, since the sheet is finished.

    afresh: examine every take, also those that are finished already.
    """

    path: Path
    stands: bool
    afresh: bool = False
    cache_dir: Path | None = None


@contextmanager
def folder_speaker(
    asked: FolderAsked, sheet: CueSheet, voice: Speaker, on_progress: Progress | None = None
) -> Iterator[FolderSpeaker]:
    """Give a speaker with the takes in a folder of the lines of a sheet. Raises TakeError.

    A take longer than its place is not used: where the sheet stands, the place that it
    has there; otherwise the room between two firm cues.
    """
    folder = open_folder(asked.path)
    lines = lines_to_record(sheet, numbers_of(folder.listed))
    cache = TakeCache(ClipCache(asked.cache_dir or default_cache_dir()))
    with Examiner(lines, sheet.sound.language) as examiner:
        numbers = {line.key: line.number for line in lines}
        takes = FolderTakes(folder, examiner, cache, numbers, afresh=asked.afresh)
        takes.prepare((line.text for line in lines), on_progress)
        for line in lines:
            kept = takes.find(line.text)
            most_ms = line.longest_ms if asked.stands else line.firm_ms
            if kept is None or most_ms is None:
                continue
            fault = too_long(kept.length_ms, most_ms)
            if fault is not None:
                takes.refuse(line.text, fault)
        yield FolderSpeaker(takes, voice, cache, lines)


@contextmanager
def noted_speaker(
    sheet: CueSheet,
    beside: Path,
    voice: Speaker,
    *,
    folder: Path | None = None,
    cache_dir: Path | None = None,
) -> Iterator[Speaker]:
    """Give a speaker with the takes that a sheet was made with, `voice` itself where none are.

    beside: the folder in which the sheet lies. folder: of the takes, before what it says.
    """
    noted = sheet.sound.takes
    if noted is None:
        yield voice
        return
    cache = TakeCache(ClipCache(cache_dir or default_cache_dir()))
    with Examiner(lines_to_record(sheet), sheet.sound.language) as examiner:
        place = beside / noted.folder if folder is None else folder
        takes = NotedTakes(noted, cache, lambda: open_folder(place), examiner)
        yield TakeSpeaker(takes, voice)


def with_takes(sheet: CueSheet, takes: Takes, folder: str) -> CueSheet:
    """Return a sheet with the takes that its lines are spoken with noted in it.

    folder: as it is noted (`folder_from`). A line with a take ends when its take does.
    """
    noted: dict[str, SheetTake] = {}
    cues = []
    for cue in sheet.cues:
        kept = takes.find(cue.text)
        if kept is None:
            cues.append(cue)
            continue
        take = SheetTake(text=cue.text, clip=kept.key.hex(), follows=kept.follows)
        noted.setdefault(words_key(cue.text), take)
        cues.append(cue.model_copy(update={"end_ms": cue.start_ms + kept.length_ms}))
    lines = tuple(noted.values())
    found = SheetTakes(folder=folder, lines=lines) if lines else None
    sound = sheet.sound.model_copy(update={"takes": found})
    return sheet.model_copy(update={"sound": sound, "cues": tuple(cues)})


def folder_from(folder: Path, sheet_folder: Path) -> str:
    """Return a folder as seen from where a sheet lies, with forward slashes."""
    try:
        return Path(os.path.relpath(folder.resolve(), sheet_folder.resolve())).as_posix()
    except ValueError:  # another drive of Windows
        return folder.resolve().as_posix()
