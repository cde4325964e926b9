"""YAML as a tree of texts with their places; what a plan has no use for is refused.

Conventions
    Nothing is interpreted: a scalar stays the text that stands in the file, so
    `6:00`, `off` and `0.35` mean what the field that reads them says, whatever
    the YAML version. Anchors, aliases and tags are refused before they could
    expand into anything; depth and the number of nodes are bounded. Offsets
    count characters of `Document.text` from 0.

Source: YAML 1.2.2 (yaml.org/spec/1.2.2), read by ruamel.yaml's event parser. The files of
ours that are long are read by libyaml instead, where it is installed: 16 times faster, and
the same tree, which the tests compare. What a person writes is not, since libyaml knows
YAML 1.1 and words its errors otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from cuegen.errors import CuegenError, PlanError, Where
from cuegen.plan import limits
from cuegen.plan.source import Source, lines_of
from cuegen.plan.tree_unread import malformed

MAX_DEPTH = 8
MAX_NODES = 20_000
_NULLS = {"", "~", "null", "Null", "NULL"}


@dataclass(frozen=True, slots=True)
class Scalar:
    """One text. style: None for plain, else one of ' \" | >."""

    value: str
    style: str | None
    start: int
    end: int

    @property
    def is_null(self) -> bool:
        return self.style is None and self.value in _NULLS


@dataclass(frozen=True, slots=True)
class Listing:
    items: tuple[Node, ...]
    flow: bool
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Mapping:
    pairs: tuple[tuple[Scalar, Node], ...]
    flow: bool
    start: int
    end: int


Node = Scalar | Listing | Mapping


@dataclass(frozen=True, slots=True)
class Document:
    """A YAML text as a tree. `error` is the kind of error this kind of file raises."""

    root: Node
    source: Source
    error: type[CuegenError] = PlanError

    @property
    def text(self) -> str:
        return self.source.text

    def where(self, node: Node) -> Where:
        """Return the place of a node, with the text that stands there."""
        return self.source.where(node.start, node.end)

    def fault(self, node: Node, problem: str, remedy: str = "") -> CuegenError:
        """Return (not raise) the error about a node."""
        return self.error(problem, where=self.where(node), remedy=remedy)


def normalised(text: str) -> str:
    """Return text without byte-order mark and with line feeds alone."""
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")


def read_tree(
    text: str,
    *,
    file: str | None = None,
    error: type[CuegenError] = PlanError,
    ours: bool = False,
) -> Document | None:
    """Return the one document of a YAML text, None where there is nothing in it.

    ours: whether it comes with cuegen, and the tests have read it.
    """
    text = normalised(text)
    if len(text) > limits.MAX_FILE_CHARS:
        raise error(
            f"this file is over {limits.MAX_FILE_CHARS} characters",
            where=Where(file=file),
            remedy="A file like this has a few hundred; check that it is the right one.",
        )
    builder = _Builder(Source(text, lines_of(text), file), error)
    try:
        root = builder.document(YAML(typ="safe", pure=not ours).parse(text))
    except YAMLError as bad:
        raise malformed(builder.source, bad, error) from None
    return None if root is None else Document(root, builder.source, error)


class _Builder:
    """Builds the tree from events, counting nodes as it goes."""

    def __init__(self, source: Source, error: type[CuegenError]) -> None:
        self.source = source
        self.error = error
        self.nodes = 0

    def document(self, events: Iterator[Event]) -> Node | None:
        root: Node | None = None
        for event in events:
            if isinstance(event, DocumentStartEvent):
                if root is not None:
                    raise self.fault(
                        event, "a second document begins here", "Keep one plan in a file."
                    )
            elif isinstance(event, NodeEvent):
                root = self.node(event, events, 1)
        return root

    def node(self, event: Event, events: Iterator[Event], depth: int) -> Node:
        self.nodes += 1
        self.check(event, depth)
        start, end = event.start_mark.index, event.end_mark.index
        if isinstance(event, MappingStartEvent):
            pairs, closing = self.pairs(events, depth)
            return Mapping(pairs, bool(event.flow_style), start, closing.end_mark.index)
        if isinstance(event, SequenceStartEvent):
            items = []
            for item in events:
                if isinstance(item, SequenceEndEvent):
                    end = item.end_mark.index
                    break
                items.append(self.node(item, events, depth + 1))
            return Listing(tuple(items), bool(event.flow_style), start, end)
        assert isinstance(event, ScalarEvent)
        return Scalar(event.value, event.style or None, start, end)

    def pairs(
        self, events: Iterator[Event], depth: int
    ) -> tuple[tuple[tuple[Scalar, Node], ...], Event]:
        pairs: list[tuple[Scalar, Node]] = []
        seen: set[str] = set()
        for event in events:
            if isinstance(event, MappingEndEvent):
                return tuple(pairs), event
            key = self.node(event, events, depth + 1)
            if not isinstance(key, Scalar):
                raise self.fault(
                    event,
                    "a field name is one text",
                    "Write `name: value`; a text that begins with { stands in quotes.",
                )
            if key.value in seen:
                raise self.fault(event, "this field stands twice", "Keep one of them.")
            seen.add(key.value)
            value = self.node(next(events), events, depth + 1)
            if value.start == value.end and isinstance(value, Scalar):  # nothing stands there
                value = replace(value, start=key.start, end=key.end)
            pairs.append((key, value))
        raise AssertionError("a mapping always ends")

    def check(self, event: Event, depth: int) -> None:
        if isinstance(event, AliasEvent) or getattr(event, "anchor", None) is not None:
            raise self.fault(
                event,
                "anchors (&name) and aliases (*name) have no place here",
                "Write the value out; a text that begins with & or * stands in quotes.",
            )
        if getattr(event, "ctag", None) is not None:
            raise self.fault(
                event,
                "tags (!name) have no place here",
                "Leave it out; a text that begins with ! stands in quotes.",
            )
        if depth > MAX_DEPTH:
            raise self.fault(
                event, "this is nested too deeply", "Nothing here needs so many levels."
            )
        if self.nodes > MAX_NODES:
            raise self.fault(event, "this file has too many parts", "Shorten it.")

    def fault(self, event: Event, problem: str, remedy: str) -> CuegenError:
        start, end = event.start_mark.index, event.end_mark.index
        return self.error(problem, where=self.source.where(start, end), remedy=remedy)
