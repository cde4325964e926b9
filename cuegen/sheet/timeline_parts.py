"""What a time line is made of: lines of parts, each with a tone.

A tone says what a part is. The command line may colour it; nothing is said by
tone alone.
"""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

from rich.cells import cell_len


class Tone(StrEnum):
    PLAIN = "plain"
    TITLE = "title"
    SOFT = "soft"
    NAME = "name"
    WORK = "work"
    EASY = "easy"
    FIRM = "firm"
    TALK = "talk"
    QUIET = "quiet"
    NOTE = "note"


class Part(NamedTuple):
    text: str
    tone: Tone = Tone.PLAIN


Line = tuple[Part, ...]


def line_text(line: Line) -> str:
    """Return a line without its tones."""
    return "".join(part.text for part in line)


def padded(line: Line, width: int) -> Line:
    """Return a line with spaces up to `width` cells."""
    spare = width - cell_len(line_text(line))
    return (*line, Part(" " * spare)) if spare > 0 else line


def trimmed(line: Line) -> Line:
    """Return a line without spaces at its end."""
    parts = list(line)
    while parts and not parts[-1].text.rstrip():
        parts.pop()
    return (*parts[:-1], parts[-1]._replace(text=parts[-1].text.rstrip())) if parts else ()
