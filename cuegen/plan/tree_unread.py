"""What to say of text that is no YAML: in a coach's words, at the place that needs mending."""

from __future__ import annotations

from typing import NamedTuple

from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.reader import ReaderError

from cuegen.errors import CuegenError
from cuegen.plan.source import Source


class _Advice(NamedTuple):
    """sign: what the parser's own text holds. at_start: point to where the trouble began."""

    sign: str
    at_start: bool
    problem: str
    remedy: str


_ADVICE = (
    _Advice(
        "mapping values are not allowed",
        False,
        "a colon stands where none can",
        "Put a text that has a colon in quotes; begin each field on a line of its own.",
    ),
    _Advice(
        "quoted scalar",
        True,
        "this quotation mark is not closed, or what it holds cannot be read",
        "Close it, and write a backslash only in single quotes.",
    ),
    _Advice(r"character '\t'", False, "a tab stands where spaces should", "Indent with spaces."),
    _Advice(
        "cannot start any token",
        False,
        "YAML keeps this character for itself at the start of a text",
        "Put the text in quotes.",
    ),
    _Advice(
        "could not find expected ':'",
        True,
        "this line has no colon after a field name",
        "Write `name: value`, or indent the line under the field it belongs to.",
    ),
    _Advice(
        "while parsing a flow", True, "this bracket is not closed", "Close it, or check its commas."
    ),
    _Advice(
        "expected <block end>",
        False,
        "this does not fit in with the lines around it",
        "Fields of one level begin in the same column.",
    ),
    _Advice(
        "expected the node content",
        False,
        "a value is missing here",
        "Give one, or check brackets and commas.",
    ),
)
_OTHERWISE = _Advice(
    "",
    False,
    "this is not well-formed YAML",
    "Check the indentation, the colons after field names, and open quotes or brackets.",
)


def malformed(source: Source, bad: YAMLError, error: type[CuegenError]) -> CuegenError:
    """Return our own error for what the YAML parser could not read."""
    if isinstance(bad, ReaderError):
        return error(
            "a character here is not text",
            where=source.where(bad.position, bad.position + 1),
            remedy="Delete it; save the file as UTF-8 text.",
        )
    if not isinstance(bad, MarkedYAMLError):
        return error(_OTHERWISE.problem, where=source.where(0, 0), remedy=_OTHERWISE.remedy)
    said = f"{bad.problem} {bad.context}"
    advice = next((advice for advice in _ADVICE if advice.sign in said), _OTHERWISE)
    mark = (bad.context_mark if advice.at_start else bad.problem_mark) or bad.problem_mark
    at = 0 if mark is None else min(mark.index, len(source.text))
    start, end = _line_at(source.text, at)
    where = source.where(start, end)
    line, column = source.place(at)
    return error(
        advice.problem,
        where=type(where)(where.file, line, column, where.text),
        remedy=advice.remedy,
    )


def _line_at(text: str, at: int) -> tuple[int, int]:
    """Return the span of the line around an offset."""
    start = text.rfind("\n", 0, at) + 1
    end = text.find("\n", at)
    return start, len(text) if end < 0 else end
