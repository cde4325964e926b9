"""Finished clips kept on disk, so that a line is spoken once.

Conventions
    An entry is made out to all that decides how a clip sounds (`clip_key`), so it
    never goes stale; it is written beside its place and renamed into it, so two
    runs at once see whole entries only. Its header holds its key, its length and
    a checksum of the samples and of itself: an entry that is cut off, damaged or
    put in the wrong place counts as missing and is made again.

    File: HEADER (little-endian: magic, key, count, CRC-32 of the samples, bytes of the
    text, CRC-32 of the header before it and of the text), then the text that is spoken
    (UTF-8, filled up with spaces to whole samples), then `count` float32 samples. The
    text is there so that lines with a rower's name can be found and removed.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import struct
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from platformdirs import user_cache_path

from cuegen.errors import OutputError, Where
from cuegen.files import writing
from cuegen.voice.clip import FINISHING_VERSION, Samples
from cuegen.voice.table import VoiceChoice

CACHE_VARIABLE = "CUEGEN_CACHE"
"""Environment variable that names another folder for the cache."""

_MAGIC = b"CUECLIP2"
_HEADER = struct.Struct("<8s32sQIII")
_CRC = struct.Struct("<I")
_FOLDER = "clips"
_SUFFIX = ".clip"
_SAMPLE = 4
_MOST_TEXT = 1 << 16


def default_cache_dir() -> Path:
    """Return $CUEGEN_CACHE, or the operating system's folder for caches."""
    named = os.environ.get(CACHE_VARIABLE)
    return Path(named) if named else user_cache_path("cuegen")


def clip_key(voice: VoiceChoice, given: str, speed: float) -> bytes:
    """Return the 32-byte key of a clip: voice, version, settings, text as given, speed, finish."""
    # Files of a voice are told by their content (identity), not by the folder they lie in.
    settings = [pair for pair in voice.settings if pair[0] not in ("model", "config")]
    parts = [voice.identity, voice.version, settings, given, f"{speed:.4f}", FINISHING_VERSION]
    return hashlib.sha256(json.dumps(parts).encode()).digest()


@dataclass(frozen=True, slots=True)
class CacheSize:
    entries: int
    size_bytes: int


class ClipCache:
    """Clips in a folder. Reading never fails: what cannot be read is not there."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    @property
    def is_empty(self) -> bool:
        """Whether nothing is kept here yet."""
        return next(self._files(), None) is None

    def length(self, key: bytes) -> int | None:
        """Return a clip's samples by its header and file size alone, None where there is none."""
        try:
            with self._path(key).open("rb") as file:
                head = _read_head(file)
                size = os.fstat(file.fileno()).st_size
        except OSError:
            return None
        if head is None or head.key != key or size != head.size + _SAMPLE * head.count:
            return None
        return head.count

    def get(self, key: bytes) -> Samples | None:
        """Return a clip's samples, None where there is no sound entry."""
        try:
            with self._path(key).open("rb") as file:
                head, body = _read_head(file), file.read()
        except OSError:
            return None
        if head is None or head.key != key or len(body) != _SAMPLE * head.count:
            return None
        if zlib.crc32(body) != head.crc:
            return None
        return np.frombuffer(body, dtype="<f4").astype(np.float32, copy=False)

    def put(self, key: bytes, samples: Samples, text: str = "") -> None:
        """Keep a clip of a text. Raises OutputError where the folder cannot be written to."""
        body = np.ascontiguousarray(samples, dtype="<f4").tobytes()
        said = text.encode("utf-8", "replace")[: _MOST_TEXT - _SAMPLE]
        said += b" " * (-len(said) % _SAMPLE)
        fields = (_MAGIC, key, len(samples), zlib.crc32(body), len(said), 0)
        head = _HEADER.pack(*fields)[: -_CRC.size]
        with writing(self._path(key)) as part, part.open("wb") as file:
            file.write(head + _CRC.pack(zlib.crc32(said, zlib.crc32(head))) + said)
            file.write(body)

    def remove_naming(self, names: Iterable[str]) -> int:
        """Remove the clips in whose text one of these names stands; returns how many.

        Capitals do not matter. Entries that cannot be read any more, whose text nobody
        can tell, go as well, uncounted. Raises OutputError.
        """
        wanted = [
            re.compile(rf"(?<!\w){re.escape(name.casefold())}(?!\w)")
            for name in names
            if name.strip()
        ]
        removed = 0
        for path in list(self._files()):
            head = _head_of(path)
            if head is None or any(name.search(head.text.casefold()) for name in wanted):
                _remove(path)
                removed += head is not None
        return removed

    def size(self) -> CacheSize:
        """Return how much is kept."""
        sizes = [size for path in self._files() if (size := _size(path)) is not None]
        return CacheSize(len(sizes), sum(sizes))

    def clear(self) -> CacheSize:
        """Remove every clip, and nothing else. Raises OutputError; returns what was there."""
        before = self.size()
        try:
            shutil.rmtree(self.folder / _FOLDER)
        except FileNotFoundError:
            pass
        except OSError as bad:
            raise OutputError(
                f"the clips could not be removed: {bad.strerror}",
                where=Where(file=str(bad.filename)),
                remedy="Check who owns the folder.",
            ) from None
        return before

    def _path(self, key: bytes) -> Path:
        name = key.hex()
        return self.folder / _FOLDER / name[:2] / f"{name}{_SUFFIX}"

    def _files(self) -> Iterator[Path]:
        return (path for path in (self.folder / _FOLDER).glob(f"*/*{_SUFFIX}") if path.is_file())


@dataclass(frozen=True, slots=True)
class _Head:
    """What an entry says of itself. size: bytes before the samples. crc: of the samples."""

    key: bytes
    count: int
    crc: int
    text: str
    size: int


def _read_head(file: BinaryIO) -> _Head | None:
    """Return the head of an entry, None where it is none or damaged; leaves at the samples."""
    head = file.read(_HEADER.size)
    if len(head) != _HEADER.size:
        return None
    magic, key, count, crc, length, own_crc = _HEADER.unpack(head)
    if magic != _MAGIC or length > _MOST_TEXT:
        return None
    said = file.read(length)
    if own_crc != zlib.crc32(said, zlib.crc32(head[: -_CRC.size])):
        return None
    text = said.decode("utf-8", "replace").rstrip()
    return _Head(key, int(count), int(crc), text, _HEADER.size + length)


def _head_of(path: Path) -> _Head | None:
    try:
        with path.open("rb") as file:
            return _read_head(file)
    except OSError:
        return None


def _remove(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError as bad:
        raise OutputError(
            f"this clip could not be removed: {bad.strerror}",
            where=Where(file=str(path)),
            remedy="Check who owns the folder.",
        ) from None


def _size(path: Path) -> int | None:
    try:
        return path.stat().st_size
    except OSError:  # removed by another run meanwhile
        return None
