"""Finished clips on disk, found again by what they are made of.

Conventions
    An entry's name is the SHA-256 of everything its sound depends on: voice,
    versions, settings, language, the text as the engine is given it, pace, and
    FINISHING_VERSION. One file holds one clip: a header of fixed size (magic,
    number of samples, SHA-256 of what follows), then little-endian float32
    samples. An entry is written beside its place and renamed, so two runs may
    share a folder; one that does not match its own checksum is made again.

    A folder that cannot be written to costs time, not the track: `put` then
    returns False and the caller goes on without.
"""

from __future__ import annotations

import hashlib
import json
import os
import struct
import tempfile
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from platformdirs import user_cache_dir

from cuegen.voice.clip import Samples
from cuegen.voice.finishing import FINISHING_VERSION
from cuegen.voice.table import VoiceChoice

_HEADER = struct.Struct("<8sQ32s")
_MAGIC = b"cueclip1"
_SUFFIX = ".clip"
FOLDER_VARIABLE = "CUEGEN_CACHE"
"""Environment variable that names another cache folder."""


def default_folder() -> Path:
    """Return the cache folder of this user on this platform, or the one named."""
    named = os.environ.get(FOLDER_VARIABLE)
    return Path(named) if named else Path(user_cache_dir("cuegen", appauthor=False)) / "clips"


def key_of(voice: VoiceChoice, given: str, speed: float) -> str:
    """Return the name of an entry. `given` is the text as the engine is given it."""
    made_of = {
        "voice": voice.identity,
        "version": voice.version,
        # A voice file is known by its contents (identity), wherever it lies.
        "settings": [pair for pair in voice.settings if pair[0] not in {"model", "config"}],
        "language": voice.language,
        "text": given,
        "speed": f"{speed:.4f}",
        "finishing": FINISHING_VERSION,
    }
    whole = json.dumps(made_of, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(whole.encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class ClipCache:
    """The entries of one folder."""

    folder: Path

    def length(self, key: str) -> int | None:
        """Return the number of samples of an entry, None where there is no whole one.

        Reads the header alone; `get` is what looks at the checksum.
        """
        try:
            path = self._path(key)
            with path.open("rb") as file:
                count, _ = _read_header(file.read(_HEADER.size))
            return count if path.stat().st_size == _HEADER.size + 4 * count else None
        except (OSError, ValueError):
            return None

    def get(self, key: str) -> Samples | None:
        """Return the samples of an entry, None where it is missing or damaged."""
        try:
            whole = self._path(key).read_bytes()
            count, digest = _read_header(whole[: _HEADER.size])
        except (OSError, ValueError):
            return None
        body = memoryview(whole)[_HEADER.size :]
        if len(body) != 4 * count or hashlib.sha256(body).digest() != digest:
            return None
        return np.frombuffer(body, dtype="<f4").astype(np.float32)

    def put(self, key: str, samples: Samples) -> bool:
        """Keep the samples of an entry; False where the folder does not take them."""
        body = np.ascontiguousarray(samples, dtype="<f4").tobytes()
        header = _HEADER.pack(_MAGIC, len(samples), hashlib.sha256(body).digest())
        path = self._path(key)
        part: Path | None = None
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(prefix=".part-", dir=path.parent)
            part = Path(name)
            with os.fdopen(handle, "wb") as file:
                file.write(header + body)
            part.replace(path)
        except OSError:
            return False
        finally:
            if part is not None:
                with suppress(OSError):
                    part.unlink(missing_ok=True)
        return True

    def size(self) -> tuple[int, int]:
        """Return the number of entries and their bytes."""
        sizes = [path.stat().st_size for path in self._entries()]
        return len(sizes), sum(sizes)

    def clear(self) -> int:
        """Remove every entry; return how many there were."""
        entries = self._entries()
        for path in entries:
            path.unlink(missing_ok=True)
        return len(entries)

    def _entries(self) -> list[Path]:
        return sorted(self.folder.glob(f"??/*{_SUFFIX}"))

    def _path(self, key: str) -> Path:
        return self.folder / key[:2] / f"{key}{_SUFFIX}"


def _read_header(header: bytes) -> tuple[int, bytes]:
    """Return the number of samples and their checksum. Raises ValueError."""
    if len(header) != _HEADER.size:
        raise ValueError("cut short")
    magic, count, digest = _HEADER.unpack(header)
    if magic != _MAGIC:
        raise ValueError("not an entry")
    return count, digest
