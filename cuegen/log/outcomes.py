"""What the log says of a rower, and of what was done to it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Rower:
    """What the log has of one rower: name as first spelled, how many results, which days."""

    name: str
    results: int
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class Imported:
    """added: how many were new; known: how many were there already. batch: None if all were."""

    batch: int | None
    added: int
    known: int


@dataclass(frozen=True, slots=True)
class Forgotten:
    """results: how many there were; mentions: ids of others' whose texts hold the name still."""

    results: int
    mentions: tuple[int, ...]
    backups: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Undone:
    """action: add, import, correct or remove; made: its instant in UTC; results: how many."""

    batch: int
    action: str
    made: str
    results: int
    rowers: tuple[str, ...]
