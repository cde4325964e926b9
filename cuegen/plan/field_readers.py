"""Readers of the plan fields that have parts of their own (the table is in fields.py)."""

from __future__ import annotations

from cuegen.errors import PlanError
from cuegen.plan.limits import MAX_SESSION_MS
from cuegen.plan.model import Bed, Block, Entry, QuietSpan, SayLine
from cuegen.plan.notation import parse_source
from cuegen.plan.scalars import is_folded, scalar_source
from cuegen.plan.tree import Document, Listing, Mapping, Node, Scalar
from cuegen.plan.values import instant, items, number, part_of, read_scalar, whole_number, words

_SESSION_FORM = "Write `session: |` and one entry a line under it, indented by two spaces."
_SAY_FORM = 'Write {at: "10:00", text: ...} or {segment: 2, after: "0:30", text: ...}.'
_name = words()
_when = instant()
_way_in = instant(MAX_SESSION_MS)
_way_back = instant(MAX_SESSION_MS, 1)


def read_session(document: Document, node: Node) -> tuple[Entry, ...]:
    """Return the entries; an error in them points at the line of the file."""
    if not isinstance(node, Scalar) or node.is_null or not node.value.strip():
        raise document.fault(node, "the session is not in whiteboard notation", _SESSION_FORM)
    try:
        return parse_source(scalar_source(document, node))
    except PlanError as bad:
        if is_folded(document, node):  # the likelier cause: several lines became one
            raise PlanError(
                bad.problem, where=bad.where, remedy=f"{bad.remedy} {_SESSION_FORM}".strip()
            ) from None
        raise


def read_rower(document: Document, node: Node) -> tuple[str, str | None]:
    """Return the rower's name, and how it is spoken where the plan says so."""
    if not isinstance(node, Mapping):
        return _name(document, node), None
    parts = part_of(document, node, ("name", "say"), ("name",))
    say = _name(document, parts["say"]) if "say" in parts else None
    return _name(document, parts["name"]), say


def read_bed(document: Document, node: Node) -> Bed:
    """Return the bed, given as a file or as {file, below}."""
    if not isinstance(node, Mapping):
        return Bed(_name(document, node))
    parts = part_of(document, node, ("file", "below"), ("file",))
    file = _name(document, parts["file"])
    if "below" not in parts:
        return Bed(file)
    return Bed(file, number(0, 60, unit="db")(document, parts["below"]))


def read_block(document: Document, node: Node) -> Block:
    """Return the block, {name, week}."""
    parts = part_of(document, node, ("name", "week"), ("name", "week"))
    return Block(_name(document, parts["name"]), whole_number(1, 520)(document, parts["week"]))


def read_say(document: Document, node: Node) -> tuple[SayLine, ...]:
    """Return the coach's own lines, in the order of the plan."""
    return tuple(_say_line(document, item) for item in items(document, node))


def _say_line(document: Document, node: Node) -> SayLine:
    parts = part_of(document, node, ("at", "segment", "after", "before", "text"), ("text",))
    text = _name(document, parts["text"])
    where = document.where(node)
    given = {name for name in ("at", "after", "before") if name in parts}
    if len(given) > 1 or ("segment" in parts) != ("at" not in parts):
        raise document.fault(node, "this line has no single instant", _SAY_FORM)
    if "at" in parts:
        return SayLine(text, at_ms=_when(document, parts["at"]), where=where)
    segment = whole_number(1, 1_000)(document, parts["segment"])
    offset = 0
    if "after" in parts:
        offset = _way_in(document, parts["after"])
    elif "before" in parts:
        offset = -_way_back(document, parts["before"])
    return SayLine(text, segment=segment, offset_ms=offset, where=where)


def read_quiet(document: Document, node: Node) -> tuple[QuietSpan, ...]:
    """Return the quiet spans; one alone needs no list."""
    spans = node.items if isinstance(node, Listing) else (node,)
    return tuple(_quiet_span(document, span) for span in spans)


def _quiet_span(document: Document, node: Node) -> QuietSpan:
    start, end = _span_ends(document, node)
    if start >= end:
        raise document.fault(node, "this span ends before it begins", "Write the earlier first.")
    return QuietSpan(start, end, where=document.where(node))


def _span_ends(document: Document, node: Node) -> tuple[int, int]:
    if isinstance(node, Mapping):
        parts = part_of(document, node, ("from", "to"), ("from", "to"))
        return _when(document, parts["from"]), _when(document, parts["to"])
    text = read_scalar(document, node).replace("\N{EN DASH}", "-")
    assert isinstance(node, Scalar)
    ends = [
        _when(document, Scalar(half.strip(), "'", node.start, node.end)) for half in text.split("-")
    ]
    if len(ends) != 2:
        raise document.fault(node, "a span has two times", "Write it as 10:00-12:00.")
    return ends[0], ends[1]
