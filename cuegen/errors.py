"""The errors cuegen raises for input it cannot use.

Every one says what is wrong, where (file, line, column and the offending text,
as far as they are known) and what to do. The command line prints the message
and leaves with exit code 2; a Python caller catches `CuegenError`.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Where:
    """A place in something a person wrote. Lines and columns count from 1."""

    file: str | None = None
    line: int | None = None
    column: int | None = None
    text: str | None = None

    def __str__(self) -> str:
        parts = [self.file] if self.file else []
        if self.line is not None:
            parts.append(f"line {self.line}")
        if self.column is not None:
            parts.append(f"column {self.column}")
        place = ", ".join(parts)
        if self.text:
            return f"{place}: {self.text!r}" if place else repr(self.text)
        return place


class CuegenError(Exception):
    """Something a person can put right.

    `problem` is a sentence without its full stop, `remedy` says what to do.
    """

    def __init__(self, problem: str, *, where: Where | None = None, remedy: str = "") -> None:
        self.problem = problem
        self.where = where or Where()
        self.remedy = remedy
        super().__init__(problem, where, remedy)

    def __str__(self) -> str:
        place = str(self.where)
        lines = [f"{place}: {self.problem}" if place else self.problem]
        if self.remedy:
            lines.append(f"  {self.remedy}")
        return "\n".join(lines)


class PlanError(CuegenError):
    """A plan file, or its whiteboard notation, that cannot be read or rowed."""


class BlockError(CuegenError):
    """A block file that cannot be read, or a week that it does not have."""


class ResultsError(CuegenError):
    """A results file that cannot be read."""


class LogError(CuegenError):
    """A results log that cannot be opened, or an entry that it cannot take."""


class PhraseError(CuegenError):
    """A phrase book that cannot be loaded or whose template cannot be spoken."""


class MemoryFileError(CuegenError):
    """A block's memory of what was heard that cannot be read."""


class ScheduleError(CuegenError):
    """Firm cues that cannot all stand on their instants."""


class SheetError(CuegenError):
    """A cue sheet (JSON or CSV) that does not hold together."""


class VoiceError(CuegenError):
    """A voice that is missing, died twice, or spoke nothing."""


class TakeError(CuegenError):
    """A folder of takes, or a list of them, that cannot be used, or a take that is gone."""


class AudioError(CuegenError):
    """An audio file that cannot be read, or an encoder that refused."""


class OutputError(CuegenError):
    """A place that cannot be written to."""
