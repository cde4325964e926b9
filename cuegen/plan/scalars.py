r"""Where each character of a YAML text stands in its file.

A folded, quoted or indented text differs from its source only in white space and
escapes, so the visible characters of both are the same in the same order: they
are paired one by one, and white space takes the column after the character
before it.
"""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.plan.source import Place, Source
from cuegen.plan.tree import Document, Scalar

_SPACE_ESCAPES = set("ntrvf N_LP\t\n")
_HEX_ESCAPES = {"x": 2, "u": 4, "U": 8}


def scalar_source(document: Document, scalar: Scalar) -> Source:
    """Return the value of a scalar as a source whose places are those of the file."""
    return Source(scalar.value, _places(document, scalar), document.source.file)


def is_folded(document: Document, scalar: Scalar) -> bool:
    """Whether the lines of the file are not the lines of the value."""
    return scalar.style != "|" and "\n" in document.text[scalar.start : scalar.end].rstrip()


def _places(document: Document, scalar: Scalar) -> Place:
    visible = _visible(document.text, scalar)
    offsets: list[int] = []
    here = scalar.start
    for char in scalar.value:
        if not char.isspace():
            here = next(visible, here)
        offsets.append(here)
        here += 1
    offsets.append(here)

    def place(offset: int) -> tuple[int, int]:
        line, column = document.source.place(min(offsets[offset], len(document.text)))
        return line, column

    return place


def _visible(text: str, scalar: Scalar) -> Iterator[int]:
    """Yield the offset in the file of each character of the value that is not white space."""
    at, end = scalar.start, scalar.end
    if scalar.style in ("|", ">"):
        at = text.find("\n", at) + 1 or end
    elif scalar.style is not None:
        at, end = at + 1, end - 1
    while at < end:
        width, visible = _character(text, at, scalar.style)
        if visible:
            yield at
        at += width


def _character(text: str, at: int, style: str | None) -> tuple[int, bool]:
    """Return how many characters of the file make one of the value, and whether it shows."""
    char = text[at]
    if style == "'" and char == "'":
        return 2, True
    if style == '"' and char == "\\":
        escape = text[at + 1 : at + 2]
        digits = _HEX_ESCAPES.get(escape, 0)
        if digits:
            code = int(text[at + 2 : at + 2 + digits], 16)
            return 2 + digits, not chr(code).isspace()
        return 2, escape not in _SPACE_ESCAPES
    return 1, not char.isspace()
