"""Changing lines of a plan's text: where its fields stand, and edits that keep comments.

Conventions
    Lines count from 0 here; a span and an edit cover the lines [start, stop).
    Edits do not overlap and are applied from the last line up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher

from cuegen.plan.model import Entry
from cuegen.plan.notation_text import entry_text
from cuegen.plan.tree import Document, Listing, Mapping, Node, Scalar


@dataclass(frozen=True, slots=True)
class FieldSpan:
    """The lines of one field, without the blank and comment lines that follow it."""

    key: Scalar
    value: Node
    start: int
    stop: int

    @property
    def is_block(self) -> bool:
        """Whether the value is a literal block, `|`, whose lines are those of the file."""
        return isinstance(self.value, Scalar) and self.value.style == "|"


@dataclass(frozen=True, slots=True)
class Edit:
    """Put `lines` in the place of the lines [start, stop)."""

    start: int
    stop: int
    lines: tuple[str, ...]


def apply_edits(text: str, edits: Iterable[Edit]) -> str:
    """Return text with the edits made; it ends with a line end."""
    lines = text.split("\n")
    if lines[-1] == "":
        lines.pop()
    for edit in sorted(edits, key=lambda edit: (edit.start, edit.stop), reverse=True):
        lines[edit.start : edit.stop] = edit.lines
    return "".join(f"{line}\n" for line in lines)


def field_spans(document: Document) -> dict[str, FieldSpan]:
    """Return where each field of a plan stands."""
    root = document.root
    assert isinstance(root, Mapping)
    lines = document.text.split("\n")
    spans: dict[str, FieldSpan] = {}
    for key, value in root.pairs:
        start = _line(document, key.start)
        spans[key.value] = FieldSpan(key, value, start, _stop(document, lines, key, value))
    return spans


def _stop(document: Document, lines: list[str], key: Scalar, value: Node) -> int:
    """Return the line after the last that holds something of the value."""
    last = max(value.end - 1, value.start, key.start)
    stop = _line(document, min(last, len(document.text))) + 1
    first = _line(document, value.start)
    block = isinstance(value, Scalar) and value.style in ("|", ">")
    while stop - 1 > first and (
        not lines[stop - 1].strip() or (not block and lines[stop - 1].lstrip().startswith("#"))
    ):
        stop -= 1
    return stop


def field_edit(document: Document, span: FieldSpan, written: str) -> Edit:
    """Return the edit that writes one field again ("" takes it out), keeping its comments."""
    new = written.splitlines()
    comments = list(_comments(document, span))
    if len(new) == 1 and span.stop - span.start == 1 and comments:
        return Edit(span.start, span.stop, (f"{new[0]}  {comments[0]}",))
    if not new:
        return Edit(span.start, span.stop, ())
    return Edit(span.start, span.stop, (*comments, *new))


def _comments(document: Document, span: FieldSpan) -> Iterator[str]:
    """Yield the comments among the lines of a field, in order."""
    lines = document.text.split("\n")
    ends = {document.source.place(end) for end in _ends(span.value)}
    ends.add(document.source.place(span.key.end + 1))
    for number in range(span.start, span.stop):
        line = lines[number]
        if line.lstrip().startswith("#"):
            yield line.strip()
            continue
        behind = [line[column - 1 :].lstrip(" ,:]}") for row, column in ends if row == number + 1]
        yield from [rest.strip() for rest in behind if rest.startswith("#")][:1]


def _ends(node: Node) -> Iterator[int]:
    yield node.end
    if isinstance(node, Listing):
        for item in node.items:
            yield from _ends(item)
    elif isinstance(node, Mapping):
        for _, value in node.pairs:
            yield from _ends(value)


def session_edits(
    document: Document, before: tuple[Entry, ...], after: tuple[Entry, ...]
) -> Iterator[Edit]:
    """Yield the edits of the notation's lines: only entries that differ are touched."""
    lines = document.text.split("\n")
    rows = [(entry.where.line or 1) - 1 for entry in before]
    indent = lines[rows[0]][: len(lines[rows[0]]) - len(lines[rows[0]].lstrip())]
    end = rows[-1] + 1
    for kind, old_from, old_to, new_from, new_to in SequenceMatcher(
        None, before, after, autojunk=False
    ).get_opcodes():
        if kind == "equal":
            continue
        paired = min(old_to - old_from, new_to - new_from)
        for step in range(paired):
            row = rows[old_from + step]
            yield Edit(row, row + 1, (_again(lines[row], indent, after[new_from + step]),))
        for row in rows[old_from + paired : old_to]:
            yield Edit(row, row + 1, ())
        extra = tuple(indent + entry_text(entry) for entry in after[new_from + paired : new_to])
        if extra:
            at = rows[old_from + paired - 1] + 1 if paired else _before(rows, old_from, end)
            yield Edit(at, at, extra)


def _before(rows: list[int], index: int, end: int) -> int:
    return rows[index] if index < len(rows) else end


def _again(line: str, indent: str, entry: Entry) -> str:
    """Return an entry in the place of an old line, with that line's comment."""
    _, mark, comment = line.partition("#")
    return f"{indent}{entry_text(entry)}" + (f"  #{comment}".rstrip() if mark else "")


def _line(document: Document, offset: int) -> int:
    return document.source.place(offset)[0] - 1
