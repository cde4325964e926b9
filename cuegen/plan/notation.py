"""Reading the whiteboard notation (its grammar and EBNF: notation.lark).

Conventions
    Every error is a PlanError whose `where` has the line and column in the file
    and the offending text; it says what would be right. Offsets count characters
    of the session text from 0.

Contents
    parse_notation   the entries of a session text
    parse_source     the same for a text whose places a caller knows better
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from typing import TypeVar

from lark import Lark, Token, Tree
from lark.exceptions import UnexpectedInput

from cuegen.plan import limits
from cuegen.plan.model import SEGMENT_KINDS, Break, Entry, SegmentKind
from cuegen.plan.nearest import offer
from cuegen.plan.notation_checks import (
    check_count,
    check_rest,
    check_rest_length,
    check_steps,
    check_total,
    list_example,
)
from cuegen.plan.notation_tree import (
    PART_NAMES,
    children,
    fault,
    required,
    span,
    subtrees,
    text_of,
)
from cuegen.plan.notation_unread import unexpected
from cuegen.plan.notation_values import read_efforts, read_length, read_rate, read_targets, whole
from cuegen.plan.source import Source, lines_of

T = TypeVar("T")

_LABELS = {kind.value.replace("-", ""): kind for kind in SegmentKind}
_BREAKS = [kind.value for kind, spec in SEGMENT_KINDS.items() if spec.can_break]


def parse_notation(
    text: str, *, file: str | None = None, first_line: int = 1, first_column: int = 1
) -> tuple[Entry, ...]:
    """Return the entries of a session text, in order.

    first_line, first_column: where the text stands in `file`; every line of it
    begins at first_column. Raises PlanError.
    """
    return parse_source(Source(text, lines_of(text, first_line, first_column), file))


def parse_source(source: Source) -> tuple[Entry, ...]:
    """Return the entries of a session text whose places `source` knows."""
    _check_size(source)
    try:
        tree = _parser().parse(source.text)
    except UnexpectedInput as bad:
        raise unexpected(source, bad) from None
    nodes = [node for node in tree.children if isinstance(node, Tree)]
    entries = tuple(_entry(source, node) for node in nodes)
    if not entries:
        raise source.error(
            "the session has no entries",
            0,
            len(source.text),
            "Write at least one line, e.g. 20:00 r18-20.",
        )
    check_total(source, nodes, entries)
    check_steps(source, nodes, entries)
    return entries


@cache
def _parser() -> Lark:
    return Lark.open(
        "notation.lark",
        rel_to=__file__,
        start="session",
        parser="lalr",
        propagate_positions=True,
        maybe_placeholders=False,
    )


def _entry(source: Source, node: Tree[Token]) -> Entry:
    kind, kind_written = _kind(source, node)
    repeats = _repeats(source, node)
    lengths = tuple(read_length(source, child) for child in subtrees(required(node, "lengths")))
    check_count(source, required(node, "lengths"), lengths, repeats, "length")
    parts = _parts(source, node)

    def listed(name: str, read: Callable[[Tree[Token]], tuple[T, ...]]) -> tuple[T, ...]:
        part = parts.get(name)
        if part is None:
            return ()
        values = read(part)
        check_count(source, part, values, repeats, PART_NAMES[name])
        return values

    entry = Entry(
        kind=kind,
        repeats=repeats,
        lengths=lengths,
        rates=listed("rates", lambda part: tuple(read_rate(source, b) for b in subtrees(part))),
        targets=listed("targets", lambda part: read_targets(source, subtrees(part))),
        efforts=listed("efforts", lambda part: read_efforts(source, part)),
        themes=listed("themes", _themes),
        rest=_break(source, node),
        kind_written=kind_written,
        where=source.where(*span(node)),
    )
    if kind is SegmentKind.REST:
        check_rest(source, node, parts, lengths)
    return entry


def _kind(source: Source, node: Tree[Token]) -> tuple[SegmentKind, bool]:
    labels = children(node, "label")
    if not labels:
        return SegmentKind.ROW, False
    kind = _LABELS.get(_plain(labels[0]))
    if kind is None:
        known = [kind.value for kind in SegmentKind]
        raise fault(source, labels[0], "this label is not known", offer(text_of(labels[0]), known))
    return kind, True


def _plain(node: Tree[Token]) -> str:
    return re.sub(r"[\s-]", "", text_of(node).lower())


def _repeats(source: Source, node: Tree[Token]) -> int:
    counts = children(node, "count")
    if not counts:
        return 1
    number = counts[0].children[0]
    assert isinstance(number, Token)
    repeats = whole(source, number, "a number of repeats")
    if not 1 <= repeats <= limits.MAX_REPEATS:
        raise fault(
            source,
            counts[0],
            "nobody rows this many repeats",
            f"Give 1 to {limits.MAX_REPEATS}, e.g. 4 x 4:00.",
        )
    return repeats


def _parts(source: Source, node: Tree[Token]) -> dict[str, Tree[Token]]:
    """Return the parts by name; none may stand twice."""
    parts: dict[str, Tree[Token]] = {}
    for part in children(node, "part"):
        inner = subtrees(part)[0]
        if inner.data in parts:
            name = PART_NAMES[inner.data]
            raise fault(
                source,
                inner,
                f"this entry has a second {name}",
                f"Keep one; a list for the repeats is written with /, {list_example(name)}.",
            )
        parts[inner.data] = inner
    return parts


def _themes(part: Tree[Token]) -> tuple[str, ...]:
    return tuple(" ".join(str(name).split()) for name in part.children)


def _break(source: Source, node: Tree[Token]) -> Break | None:
    pauses = children(node, "pause")
    if not pauses:
        return None
    pause = pauses[0]
    kind = _break_kind(source, pause)
    lengths = subtrees(required(pause, "lengths"))
    if len(lengths) > 1:
        raise fault(
            source,
            required(pause, "lengths"),
            "a break has one length, the same between all repeats",
            "Keep one, or write the repeats on lines of their own.",
        )
    for part in children(pause, "part"):
        raise fault(source, part, "a break has only a length", "Put this before the comma.")
    length = read_length(source, lengths[0])
    check_rest_length(source, lengths[0], kind, length)
    return Break(kind, length)


def _break_kind(source: Source, pause: Tree[Token]) -> SegmentKind:
    labels = children(pause, "label")
    if not labels:
        raise fault(source, pause, "this break has no label", "Write `, paddle` or `, rest`.")
    label = labels[0]
    kind = _LABELS.get(_plain(label))
    if kind is None or not SEGMENT_KINDS[kind].can_break:
        remedy = offer(text_of(label), _BREAKS)
        raise fault(source, label, "only a paddle or a rest is a break", remedy)
    return kind


def _check_size(source: Source) -> None:
    text = source.text
    if len(text) > limits.MAX_SESSION_CHARS:
        raise source.error(
            f"the session text is over {limits.MAX_SESSION_CHARS} characters", 0, 0, "Shorten it."
        )
    lines = text.split("\n")
    if len(lines) > limits.MAX_SESSION_LINES:
        raise source.error(
            f"the session has over {limits.MAX_SESSION_LINES} lines", 0, 0, "Shorten it."
        )
    start = 0
    for line in lines:
        if len(line) > limits.MAX_LINE_CHARS:
            raise source.error(
                f"this line is over {limits.MAX_LINE_CHARS} characters",
                start,
                start + len(line),
                "Write one entry a line.",
            )
        start += len(line) + 1
