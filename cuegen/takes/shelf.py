"""Where takes come from: a folder, or the sheet that was made with them.

Contents
    FolderTakes     takes of a folder, examined when first asked for; only good ones are given
    NotedTakes      takes that a sheet was made with, by the keys noted in it
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from cuegen.errors import AudioError, TakeError, Where
from cuegen.schedule.cuesheet import SheetTake, SheetTakes
from cuegen.takes.examine import Examiner
from cuegen.takes.faults import FaultKind, TakeFault
from cuegen.takes.folder import TakeFolder
from cuegen.takes.kept import KeptTake, TakeCache, digest_of, take_key
from cuegen.takes.names import words_key
from cuegen.takes.take import Take
from cuegen.telling import Progress
from cuegen.voice.clip import Samples


class FolderTakes:
    """The takes of a folder that can be used.

    faults: what is wrong with takes that were asked for and are not used, by file. doubts:
    what is to be said of others. examined: what was measured, without the sound, of those
    that were not found in the cache.
    """

    def __init__(
        self,
        folder: TakeFolder,
        examiner: Examiner,
        cache: TakeCache,
        numbers: Mapping[str, int] | None = None,
        *,
        afresh: bool = False,
    ) -> None:
        """numbers: of the sheet's lines, where no list lies in the folder.

        afresh: examine every take, also those that are finished already.
        """
        self.folder = folder
        self.faults: dict[Path, tuple[TakeFault, ...]] = {}
        self.doubts: dict[Path, str] = {}
        self.examined: dict[Path, Take] = {}
        self._examiner = examiner
        self._cache = cache
        self._numbers = dict(numbers or {})
        self._afresh = afresh
        self._found: dict[str, KeptTake | None] = {}

    def find(self, text: str) -> KeptTake | None:
        self.prepare([text])
        return self._found[words_key(text)]

    def samples(self, text: str) -> Samples:
        kept = self._found[words_key(text)]
        found = None if kept is None else self._cache.get(kept.key)
        if found is None:  # its entry was damaged or cleared meanwhile
            del self._found[words_key(text)]
            again = self.find(text)
            found = None if again is None else self._cache.get(again.key)
        if found is None:
            raise TakeError("the take of this line is gone", where=Where(text=text))
        return found

    def prepare(self, texts: Iterable[str], on_progress: Progress | None = None) -> None:
        """Examine the takes of these lines, as far as that was not done.

        What an earlier run finished is found in the cache by the file's content.
        """
        jobs: list[tuple[str, Path, str]] = []
        for text in texts:
            if words_key(text) not in self._found:
                self._found[words_key(text)] = None
                jobs += self._job(text)
        takes = self._examiner.examine(((text, path) for text, path, _ in jobs), on_progress)
        for (text, path, digest), take in zip(jobs, takes, strict=True):
            self._take_in(text, path, digest, take)

    def refuse(self, text: str, fault: TakeFault) -> None:
        """Do not use the take of a line, which is faulty where it stands."""
        self._found[words_key(text)] = None
        self.doubts.pop(self.file_of(text), None)
        self.faults[self.file_of(text)] = (fault,)

    def file_of(self, text: str) -> Path:
        """Return the file of a line that has one."""
        return self.folder.of(text, self._numbers)[-1]

    def _job(self, text: str) -> list[tuple[str, Path, str]]:
        """Return what is to be examined of a line; nothing where its take is kept already."""
        files = self.folder.of(text, self._numbers)
        if not files:
            return []
        try:
            digest = digest_of(files[-1])
        except AudioError as bad:
            self.faults[files[-1]] = (TakeFault(FaultKind.UNREADABLE, bad.problem, bad.remedy),)
            return []
        # Only what the aligner followed is not looked at again: doubts of a take's words are
        # named in every run.
        key = take_key(digest, text, follows=True)
        length = None if self._afresh else self._cache.length(key)
        if length is None:
            return [(text, files[-1], digest)]
        self._found[words_key(text)] = KeptTake(key, length, True)
        return []

    def _take_in(self, text: str, path: Path, digest: str, take: Take) -> None:
        self.examined[path] = replace(take, clip=None)
        if take.faults or take.clip is None:
            self.faults[path] = take.faults
            return
        if take.doubt:
            self.doubts[path] = take.doubt
        key = take_key(digest, text, follows=take.follows)
        self._cache.put(key, take.clip, text)
        self._found[words_key(text)] = KeptTake(key, len(take.clip), take.follows)


class NotedTakes:
    """The takes that a sheet was made with.

    Where the cache was cleared, a clip is made again from the folder, as long as a file of
    the same content lies there. folder: opens it, which is tried only then.
    """

    def __init__(
        self,
        noted: SheetTakes,
        cache: TakeCache,
        folder: Callable[[], TakeFolder],
        examiner: Examiner,
    ) -> None:
        self._noted = {words_key(take.text): take for take in noted.lines}
        self._cache = cache
        self._folder = folder
        self._examiner = examiner

    def find(self, text: str) -> KeptTake | None:
        noted = self._noted.get(words_key(text))
        if noted is None:
            return None
        key = bytes.fromhex(noted.clip)
        length = self._cache.length(key)
        return KeptTake(key, len(self.samples(text)) if length is None else length, noted.follows)

    def samples(self, text: str) -> Samples:
        noted = self._noted[words_key(text)]
        found = self._cache.get(bytes.fromhex(noted.clip))
        return self._made_again(noted) if found is None else found

    def _made_again(self, noted: SheetTake) -> Samples:
        """Return the very clip, made from a file of the same content. Raises TakeError."""
        for path, _ in self._folder().files:
            key = take_key(digest_of(path), noted.text, follows=noted.follows)
            if key.hex() != noted.clip:
                continue
            (take,) = self._examiner.examine([(noted.text, path)])
            if take.clip is not None:
                self._cache.put(key, take.clip, noted.text)
                return take.clip
        raise TakeError(
            "the take of this line is gone, or has been recorded again since",
            where=Where(text=noted.text),
            remedy="Make the track again: cuegen track PLAN --takes FOLDER",
        )
