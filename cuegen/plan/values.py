"""The values of plan fields: from a node of the YAML tree to a checked value.

Conventions
    A reader takes the document and one node and returns the value, or raises the
    document's error at that node. Instants and lengths are whole milliseconds.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable
from typing import TypeVar

from cuegen.clock import MS_PER_S, clock_text, parse_clock
from cuegen.plan import limits
from cuegen.plan.nearest import offer
from cuegen.plan.tree import Document, Listing, Mapping, Node, Scalar

T = TypeVar("T")
Reader = Callable[[Document, Node], T]

_NUMBER = re.compile(r"[+-]?[0-9]{1,9}(?:\.[0-9]{1,30})?(?:[eE][+-]?[0-9]{1,3})?")
_INSTANT = re.compile(r"([0-9:]+)(?:\.([0-9]{1,3}))?")
_LANGUAGE = re.compile(r"[a-z]{2,3}(?:-[A-Za-z0-9]{2,8})*")
_SWITCH = {"on": True, "yes": True, "true": True, "off": False, "no": False, "false": False}


def read_scalar(document: Document, node: Node) -> str:
    """Return the text of a node that is one text, not a list or a mapping."""
    if not isinstance(node, Scalar):
        kind = "a list" if isinstance(node, Listing) else "a mapping"
        raise document.fault(node, f"one value should stand here, not {kind}", "Write it plainly.")
    if node.is_null or not node.value.strip():
        raise document.fault(node, "no value stands here", "Give one, or leave the field out.")
    return node.value.strip()


def words(longest: int = limits.MAX_TEXT_CHARS) -> Reader[str]:
    """Return a reader of a text on one line; white space inside becomes single spaces."""

    def read(document: Document, node: Node) -> str:
        text = " ".join(read_scalar(document, node).split())
        if any(unicodedata.category(char) in ("Cc", "Cs") for char in text):
            raise document.fault(node, "a control character has no place here", "Delete it.")
        if len(text) > longest:
            raise document.fault(
                node, f"this text has {len(text)} characters, over {longest}", "Shorten it."
            )
        return text

    return read


def number(low: float, high: float, *, unit: str = "") -> Reader[float]:
    """Return a reader of a number from low to high; `unit` may stand behind it."""

    def read(document: Document, node: Node) -> float:
        text = read_scalar(document, node)
        bare = text[: -len(unit)].rstrip() if unit and text.lower().endswith(unit) else text
        if not _NUMBER.fullmatch(bare):
            raise document.fault(
                node, "a number should stand here", f"Write one from {low:g} to {high:g}."
            )
        value = float(bare)
        if not low <= value <= high:
            raise document.fault(
                node, "this number is out of range", f"Write one from {low:g} to {high:g}."
            )
        return value

    return read


def whole_number(low: int, high: int) -> Reader[int]:
    """Return a reader of a whole number from low to high."""
    inner = number(low, high)

    def read(document: Document, node: Node) -> int:
        value = inner(document, node)
        if value != int(value):
            raise document.fault(node, "this number should be whole", f"Write {int(value)}.")
        return int(value)

    return read


def share(low: float, high: float) -> Reader[float]:
    """Return a reader of a share, `0.35` or `35%`."""

    def read(document: Document, node: Node) -> float:
        text = read_scalar(document, node)
        percent = text.endswith("%")
        bare = text.removesuffix("%").rstrip()
        if not _NUMBER.fullmatch(bare):
            raise document.fault(node, "a share should stand here", "Write it as 0.35 or 35%.")
        value = float(bare) / 100 if percent else float(bare)
        if not low <= value <= high:
            remedy = f"Write one from {low:g} to {high:g}, or {low:.0%} to {high:.0%}."
            if not percent and low <= value / 100 <= high:
                remedy = f"Did you mean {value:g}%?"
            raise document.fault(node, "this share is out of range", remedy)
        return value

    return read


def choice(names: Iterable[str], make: Callable[[str], T]) -> Reader[T]:
    """Return a reader of one of a few names; `make` turns the name into the value."""
    known = list(names)

    def read(document: Document, node: Node) -> T:
        name = read_scalar(document, node).lower()
        if name not in known:
            raise document.fault(node, "this is not one of the choices", offer(name, known))
        return make(name)

    return read


def switch(document: Document, node: Node) -> bool:
    """Return whether a switch is on: `on`, `yes`, `true` or `off`, `no`, `false`."""
    value = _SWITCH.get(read_scalar(document, node).lower())
    if value is None:
        raise document.fault(node, "this is a switch", "Write on or off.")
    return value


def language(document: Document, node: Node) -> str:
    """Return a language tag such as `en` or `en-GB` (BCP 47, the common part of it)."""
    tag = read_scalar(document, node)
    if not _LANGUAGE.fullmatch(tag):
        raise document.fault(node, "this is no language tag", "Write one such as en or en-GB.")
    return tag


def parse_instant(text: str) -> int | None:
    """Return the milliseconds of `m:ss`, `h:mm:ss`, with up to three decimals, else None."""
    match = _INSTANT.fullmatch(text.strip())
    whole = parse_clock(match[1]) if match else None
    if match is None or whole is None:
        return None
    return whole + int((match[2] or "0").ljust(3, "0"))


def instant_text(ms: int) -> str:
    """Return an instant as the plan writes it, with decimals only where it has some."""
    seconds, thousandths = divmod(ms, MS_PER_S)
    clock = clock_text(seconds * MS_PER_S)
    return f"{clock}.{thousandths:03d}".rstrip("0") if thousandths else clock


def instant(longest_ms: int = limits.MAX_SESSION_MS, shortest_ms: int = 0) -> Reader[int]:
    """Return a reader of an instant or a length on the clock."""

    def read(document: Document, node: Node) -> int:
        ms = parse_instant(read_scalar(document, node))
        if ms is None:
            raise document.fault(
                node, "a time should stand here", "Write m:ss or h:mm:ss, e.g. 0:30."
            )
        if not shortest_ms <= ms <= longest_ms:
            raise document.fault(
                node,
                "this time is out of range",
                f"Write one from {instant_text(shortest_ms)} to {instant_text(longest_ms)}.",
            )
        return ms

    return read


def items(document: Document, node: Node) -> tuple[Node, ...]:
    """Return the items of a list."""
    if not isinstance(node, Listing):
        raise document.fault(node, "a list should stand here", "Begin each item with `- `.")
    return node.items


def part_of(
    document: Document, node: Node, known: tuple[str, ...], required: tuple[str, ...] = ()
) -> dict[str, Node]:
    """Return the fields of a small mapping, all of them known, the required ones there."""
    if not isinstance(node, Mapping):
        raise document.fault(
            node,
            "names with values should stand here",
            f"Write {_mapping_form(required or known)}.",
        )
    found: dict[str, Node] = {}
    for key, value in node.pairs:
        if key.value not in known:
            raise document.fault(key, "this field is not known here", offer(key.value, known))
        found[key.value] = value
    for name in required:
        if name not in found:
            raise document.fault(node, f"{name!r} is missing here", f"Add `{name}: ...`.")
    return found


def _mapping_form(names: tuple[str, ...]) -> str:
    return "{" + ", ".join(f"{name}: ..." for name in names) + "}"
