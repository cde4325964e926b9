"""Where in a JSON text the value at a path begins, for messages that name a line.

The text is known to be valid JSON when this is asked. Grammar: RFC 8259.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

_BLANK = re.compile(r"[ \t\n\r]*")
_decoder = json.JSONDecoder()

PathStep = str | int


def path_text(path: Sequence[PathStep]) -> str:
    """Return `cues[3].at_ms`, or "the sheet" for the empty path."""
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)
    return text.removeprefix(".") or "the sheet"


def line_and_column(text: str, path: Sequence[PathStep]) -> tuple[int, int]:
    """Return the place, from 1, of the value at a path.

    A step that does not exist (a missing field) leaves the place at what should
    have held it.
    """
    offset = _skip(text, 0)
    for step in path:
        found = _member(text, offset, step)
        if found is None:
            break
        offset = found
    return text.count("\n", 0, offset) + 1, offset - text.rfind("\n", 0, offset)


def _skip(text: str, offset: int) -> int:
    match = _BLANK.match(text, offset)
    assert match is not None, "the pattern matches nothing, too"
    return match.end()


def _member(text: str, offset: int, step: PathStep) -> int | None:
    """Return where the member of the object or list at `offset` begins."""
    opening = text[offset]
    if opening not in "{[" or (opening == "{") != isinstance(step, str):
        return None
    cursor = _skip(text, offset + 1)
    index = 0
    while text[cursor] not in "}]":
        key: PathStep = index
        if opening == "{":
            key, cursor = _decoder.raw_decode(text, cursor)
            cursor = _skip(text, _skip(text, cursor) + 1)
        if key == step:
            return cursor
        cursor = _skip(text, _decoder.raw_decode(text, cursor)[1])
        if text[cursor] == ",":
            cursor = _skip(text, cursor + 1)
        index += 1
    return None
