"""Readers of the plan fields that have parts of their own (the table is in fields.py)."""

from __future__ import annotations

from cuegen.errors import PlanError
from cuegen.plan.limits import MAX_SEGMENTS, MAX_SESSION_MS
from cuegen.plan.model import (
    Bed,
    Block,
    ChangeTo,
    Drop,
    Entry,
    OwnBed,
    Pin,
    QuietSpan,
    SayLine,
    ToneSpan,
)
from cuegen.plan.notation import parse_source
from cuegen.plan.scalars import is_folded, scalar_source
from cuegen.plan.tree import Document, Listing, Mapping, Node, Scalar
from cuegen.plan.values import (
    choice,
    instant,
    items,
    number,
    part_of,
    read_scalar,
    switch,
    whole_number,
    words,
)

_SESSION_FORM = "Write `session: |` and one entry a line under it, indented by two spaces."
_SAY_FORM = (
    'Write {at: "10:00", text: ...}, {segment: 2, after: "0:30", text: ...} '
    'or {change: 3, before: "0:20", text: ...}.'
)
_SAY_PLACES = ("at", "segment", "piece", "change")
_PIN_FORM = 'Write {cue: s03.goal, at: "12:30"}, {cue: welcome, text: ...} or both.'
_name = words()
_span = choice([span.value for span in ToneSpan], ToneSpan)
_when = instant()
_way_in = instant(MAX_SESSION_MS)
_way_back = instant(MAX_SESSION_MS, 1)
_number = whole_number(1, MAX_SEGMENTS)


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
    """Return the bed, given as a name, a list of names or as {file or files, below}."""
    if not isinstance(node, Mapping):
        first, *more = _names(document, node)
        return Bed(first, more=tuple(more))
    several = any(key.value == "files" for key, _ in node.pairs)
    required = "files" if several else "file"
    parts = part_of(document, node, ("file", "files", "below"), (required,))
    if "file" in parts and "files" in parts:
        raise document.fault(parts["file"], "`file` and `files` are one too many", "Keep `files`.")
    named = parts[required]
    first, *more = _names(document, named) if several else [_name(document, named)]
    if "below" not in parts:
        return Bed(first, more=tuple(more))
    return Bed(first, number(0, 60, unit="db")(document, parts["below"]), tuple(more))


def _names(document: Document, node: Node) -> list[str]:
    """Return one or more names; one alone needs no list."""
    if not isinstance(node, Listing):
        return [_name(document, node)]
    if not node.items:
        raise document.fault(node, "this list is empty", "Name a file or a folder.")
    names = [_name(document, item) for item in node.items]
    for name, item in zip(names, node.items, strict=True):
        if len(names) > 1 and name in tuple(OwnBed):
            raise document.fault(
                item,
                "a bed that cuegen makes itself goes alone",
                f"Write `bed: {name}`, or ./{name} for a file or folder of that name.",
            )
    return names


def read_tones(document: Document, node: Node) -> tuple[ToneSpan, bool]:
    """Return when stroke tones sound, and whether the recovery does, given as {when, recovery}."""
    if not isinstance(node, Mapping):
        return _span(document, node), False
    parts = part_of(document, node, ("when", "recovery"), ("when",))
    recovery = switch(document, parts["recovery"]) if "recovery" in parts else False
    return _span(document, parts["when"]), recovery


def read_block(document: Document, node: Node) -> Block:
    """Return the block, {name, week}."""
    parts = part_of(document, node, ("name", "week"), ("name", "week"))
    return Block(_name(document, parts["name"]), whole_number(1, 520)(document, parts["week"]))


def read_say(document: Document, node: Node) -> tuple[SayLine, ...]:
    """Return the coach's own lines, in the order of the plan."""
    return tuple(_say_line(document, item) for item in items(document, node))


def _say_line(document: Document, node: Node) -> SayLine:
    parts = part_of(document, node, (*_SAY_PLACES, "after", "before", "text"), ("text",))
    text = _name(document, parts["text"])
    where = document.where(node)
    places = [name for name in _SAY_PLACES if name in parts]
    offsets = [name for name in ("after", "before") if name in parts]
    if len(places) != 1 or len(offsets) > (0 if places == ["at"] else 1):
        raise document.fault(node, "this line has no single instant", _SAY_FORM)
    place = parts[places[0]]
    if places == ["at"]:
        return SayLine(text, at_ms=_when(document, place), where=where)
    offset_ms = _offset(document, parts)
    if places == ["change"]:
        change = _change(document, place)
        return SayLine(text, change=change, offset_ms=offset_ms, where=where)
    number = _number(document, place)
    if places == ["piece"]:
        return SayLine(text, piece=number, offset_ms=offset_ms, where=where)
    return SayLine(text, segment=number, offset_ms=offset_ms, where=where)


def _offset(document: Document, parts: dict[str, Node]) -> int:
    if "after" in parts:
        return _way_in(document, parts["after"])
    return -_way_back(document, parts["before"]) if "before" in parts else 0


def _change(document: Document, node: Node) -> ChangeTo:
    """Return the change to a segment, `3`, or to a piece, `piece 2`."""
    words_of_it = read_scalar(document, node).split()
    assert isinstance(node, Scalar)
    number = Scalar(words_of_it[-1], "'", node.start, node.end)
    if words_of_it[:-1] not in ([], ["piece"], ["segment"]):
        raise document.fault(
            node,
            "this names no change",
            "Write the number of the segment that begins, 3, or of the piece: piece 2.",
        )
    return ChangeTo(_number(document, number), piece=words_of_it[:-1] == ["piece"])


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


def read_drop(document: Document, node: Node) -> tuple[Drop, ...]:
    """Return the ids and kinds that are left out; one alone needs no list."""
    named = node.items if isinstance(node, Listing) else (node,)
    drops = tuple(Drop(_name(document, item), where=document.where(item)) for item in named)
    _refuse_twice(document, [(drop.cue, item) for drop, item in zip(drops, named, strict=True)])
    return drops


def read_pin(document: Document, node: Node) -> tuple[Pin, ...]:
    """Return the cues that are held at an instant, or given words."""
    listed = items(document, node)
    pins = tuple(_pin(document, item) for item in listed)
    _refuse_twice(document, [(pin.cue, item) for pin, item in zip(pins, listed, strict=True)])
    return pins


def _pin(document: Document, node: Node) -> Pin:
    parts = part_of(document, node, ("cue", "at", "text"), ("cue",))
    if len(parts) < 2:
        raise document.fault(node, "this pin gives neither an instant nor words", _PIN_FORM)
    return Pin(
        _name(document, parts["cue"]),
        _clock(document, parts["at"]) if "at" in parts else None,
        _name(document, parts["text"]) if "text" in parts else None,
        where=document.where(node),
    )


def _clock(document: Document, node: Node) -> int:
    """Return an instant of the rowing clock; `-0:20` lies before the first stroke."""
    text = read_scalar(document, node)
    if not text.startswith("-"):
        return _when(document, node)
    assert isinstance(node, Scalar)
    return -_when(document, Scalar(text[1:], "'", node.start, node.end))


def _refuse_twice(document: Document, named: list[tuple[str, Node]]) -> None:
    seen: set[str] = set()
    for name, node in named:
        if name in seen:
            raise document.fault(node, f"{name!r} is named twice", "Keep one of the two.")
        seen.add(name)
