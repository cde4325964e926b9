"""Finished takes in the clip cache, and what a take is found by.

Conventions
    A finished take is kept like any spoken line, made out to the file's content, the
    line's words and the versions of what makes it (`take_key`): the key names the very
    samples. So a sheet that notes the key can be spoken and checked without the folder,
    and after files in it were renamed, recorded again or removed.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from cuegen.errors import AudioError, OutputError, Where
from cuegen.takes.names import words_key
from cuegen.takes.take import making_version
from cuegen.voice.cache import ClipCache
from cuegen.voice.clip import Samples, length_ms_of


@dataclass(frozen=True, slots=True)
class KeptTake:
    """A finished take. key: of its clip. length: samples. follows: whether the aligner does."""

    key: bytes
    length: int
    follows: bool

    @property
    def length_ms(self) -> int:
        return length_ms_of(self.length)


class Takes(Protocol):
    """What knows the takes of lines: of a folder, or those that a sheet was made with."""

    def find(self, text: str) -> KeptTake | None:
        """Return the take of a line's words; None where it has none that can be used."""
        ...

    def samples(self, text: str) -> Samples:
        """Return the finished samples of a take that was found."""
        ...


class TakeCache:
    """The clip cache, and in memory what could not be put there. warnings: that it could not."""

    def __init__(self, cache: ClipCache) -> None:
        self.warnings: list[str] = []
        self._cache = cache
        self._unkept: dict[bytes, Samples] = {}

    def length(self, key: bytes) -> int | None:
        unkept = self._unkept.get(key)
        return self._cache.length(key) if unkept is None else len(unkept)

    def get(self, key: bytes) -> Samples | None:
        unkept = self._unkept.get(key)
        return self._cache.get(key) if unkept is None else unkept

    def put(self, key: bytes, samples: Samples, text: str) -> None:
        try:
            self._cache.put(key, samples, text)
        except OutputError as bad:
            self._unkept[key] = samples
            if not self.warnings:
                self.warnings.append(f"finished takes are not kept for next time: {bad.problem}")


def take_key(digest: str, text: str, *, follows: bool) -> bytes:
    """Return the 32-byte key of a finished take."""
    parts = ["take", digest, words_key(text), making_version(), follows]
    return hashlib.sha256(json.dumps(parts).encode()).digest()


def digest_of(path: Path) -> str:
    """Return the SHA-256 of a file's content. Raises AudioError."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as bad:
        raise AudioError(f"cannot be read: {bad.strerror}", where=Where(file=str(path))) from None
