"""Finished clips kept on disk, so that a line is spoken once.

Conventions
    An entry is made out to all that decides how a clip sounds (`clip_key`), so it
    never goes stale; it is written beside its place and renamed into it, so two
    runs at once see whole entries only. Its header holds its key, its length and
    a checksum of the samples and of itself: an entry that is cut off, damaged or
    put in the wrong place counts as missing and is made again.

    File: HEADER (little-endian: magic, key, count, CRC-32 of the samples, CRC-32
    of the header before it), then `count` float32 samples.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from platformdirs import user_cache_path

from cuegen.errors import OutputError, Where
from cuegen.files import writing
from cuegen.voice.clip import Samples
from cuegen.voice.finishing import FINISHING_VERSION
from cuegen.voice.table import VoiceChoice

CACHE_VARIABLE = "CUEGEN_CACHE"
"""Environment variable that names another folder for the cache."""

_MAGIC = b"CUECLIP1"
_HEADER = struct.Struct("<8s32sQII")
_CRC = struct.Struct("<I")
_FOLDER = "clips"
_SUFFIX = ".clip"


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

    def length(self, key: bytes) -> int | None:
        """Return a clip's samples by its header and file size alone, None where there is none."""
        path = self._path(key)
        try:
            with path.open("rb") as file:
                count = _count(file.read(_HEADER.size), key)
                size = os.fstat(file.fileno()).st_size
        except OSError:
            return None
        return count if count is not None and size == _HEADER.size + 4 * count else None

    def get(self, key: bytes) -> Samples | None:
        """Return a clip's samples, None where there is no sound entry."""
        try:
            data = self._path(key).read_bytes()
        except OSError:
            return None
        head, body = data[: _HEADER.size], memoryview(data)[_HEADER.size :]
        count = _count(head, key)
        if count is None or len(body) != 4 * count or zlib.crc32(body) != _HEADER.unpack(head)[3]:
            return None
        return np.frombuffer(body, dtype="<f4").astype(np.float32, copy=False)

    def put(self, key: bytes, samples: Samples) -> None:
        """Keep a clip. Raises OutputError where the folder cannot be written to."""
        body = np.ascontiguousarray(samples, dtype="<f4").tobytes()
        head = _HEADER.pack(_MAGIC, key, len(samples), zlib.crc32(body), 0)[: -_CRC.size]
        with writing(self._path(key)) as part, part.open("wb") as file:
            file.write(head + _CRC.pack(zlib.crc32(head)))
            file.write(body)

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


def _count(head: bytes, key: bytes) -> int | None:
    """Return the number of samples that a header states, None where it is not this clip's."""
    if len(head) != _HEADER.size:
        return None
    magic, stated, count, _, crc = _HEADER.unpack(head)
    whole = magic == _MAGIC and stated == key and crc == zlib.crc32(head[: -_CRC.size])
    return int(count) if whole else None


def _size(path: Path) -> int | None:
    try:
        return path.stat().st_size
    except OSError:  # removed by another run meanwhile
        return None
