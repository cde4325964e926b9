"""Phrases that only name fields, `Rate {{ rate | rate }}.`, filled without a template engine.

Nine phrases in ten are of this form. Compiling one with Jinja2 takes about a
millisecond, which for a book of thousands is seconds before the first cue; this
form means the same in both, and a test holds the two to one another.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

_PLACE = re.compile(r"\{\{\s*([a-z_]+)\s*(?:\|\s*([a-z_]+)\s*)?\}\}")


@dataclass(frozen=True, slots=True)
class Place:
    """A field to be said, by a filter where it is no word."""

    field: str
    filter: str | None


@dataclass(frozen=True, slots=True)
class Placeholders:
    """A phrase in pieces: words, and places for fields."""

    pieces: tuple[str | Place, ...]

    @property
    def places(self) -> tuple[Place, ...]:
        return tuple(piece for piece in self.pieces if isinstance(piece, Place))

    def render(
        self, values: Mapping[str, object], filters: Mapping[str, Callable[[Any], str]]
    ) -> str:
        """Return the words. Raises LookupError for an unknown field, and what a filter raises."""
        return "".join(_said(piece, values, filters) for piece in self.pieces)


def _said(
    piece: str | Place,
    values: Mapping[str, object],
    filters: Mapping[str, Callable[[Any], str]],
) -> str:
    if isinstance(piece, str):
        return piece
    if piece.field not in values:
        raise LookupError(f"{piece.field!r} is undefined")
    value = values[piece.field]
    return filters[piece.filter](value) if piece.filter else str(value)


def placeholders(source: str) -> Placeholders | None:
    """Return a phrase in pieces, None where it is more than words and places."""
    pieces: list[str | Place] = []
    end = 0
    for found in _PLACE.finditer(source):
        pieces += [source[end : found.start()], Place(found[1], found[2])]
        end = found.end()
    pieces.append(source[end:])
    words = "".join(piece for piece in pieces if isinstance(piece, str))
    return None if "{" in words or "}" in words else Placeholders(tuple(pieces))
