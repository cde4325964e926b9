"""Which files were made for a rower, so that all of them can be found again and removed.

Conventions
    Beside the results log stands a folder of small notes, one for each file made for one
    rower: a track and what lies beside it, a page, a note, a block's memory. A note holds
    the file's place, whose it is and how the name is spoken. Notes are whole files of
    their own, so two runs at once do not disturb each other; a file that is made again
    keeps its note. Only the owner may read them.

Contents
    Handout             one note
    note_handout        writes one; what cannot be noted is a warning, not an end
    handouts_of         all of one rower
    remove_handout      a file and its note
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from cuegen.errors import CuegenError, OutputError, Where
from cuegen.files import read_text, writing
from cuegen.targets.rowed import name_key

_SUFFIX = ".made"
_OWNER_ONLY = 0o600


@dataclass(frozen=True, slots=True)
class Handout:
    """A file made for a rower. say: how the name is spoken in it, where that differs."""

    path: Path
    rower: str
    say: str | None
    note: Path

    @property
    def names(self) -> tuple[str, ...]:
        return (self.rower,) if self.say is None else (self.rower, self.say)


def notes_folder(log: Path) -> Path:
    """Return where the notes of a results log's user lie."""
    return log.with_name(f"{log.stem}{_SUFFIX}")


def note_handout(log: Path, path: Path, rower: str, say: str | None = None) -> None:
    """Note that a file was made for a rower. Raises OutputError where nothing can be kept."""
    place = path.resolve()
    name = sha256(f"{name_key(rower)}\n{place}".encode()).hexdigest()[:32]
    text = json.dumps({"path": str(place), "rower": rower, "say": say}, ensure_ascii=False)
    with writing(notes_folder(log) / f"{name}.json") as part:
        part.chmod(_OWNER_ONLY)
        part.write_text(text + "\n", encoding="utf-8")


def handouts_of(log: Path, rower: str) -> tuple[Handout, ...]:
    """Return what was made for a rower, whatever the capitals of the name, by place."""
    key = name_key(rower)
    found = [one for one in _handouts(log) if name_key(one.rower) == key]
    return tuple(sorted(found, key=lambda one: one.path))


def remove_handout(handout: Handout) -> bool:
    """Remove a file and then its note; says whether the file was still there.

    Raises OutputError where it cannot be removed: then its note stays too.
    """
    try:
        there = handout.path.exists()
        handout.path.unlink(missing_ok=True)
        handout.note.unlink(missing_ok=True)
    except OSError as bad:
        raise OutputError(
            f"this file could not be removed: {bad.strerror}",
            where=Where(file=str(handout.path)),
            remedy="Remove it yourself, or check who owns its folder.",
        ) from None
    return there


def _handouts(log: Path) -> Iterator[Handout]:
    """Yield every note that can be read; one that is damaged names nobody."""
    for note in notes_folder(log).glob("*.json"):
        try:
            kept = json.loads(read_text(note, OutputError, "note"))
            yield Handout(Path(kept["path"]), str(kept["rower"]), kept["say"], note)
        except (CuegenError, ValueError, KeyError, TypeError):
            continue
