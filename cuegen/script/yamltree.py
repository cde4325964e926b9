"""YAML as a tree of nodes with line numbers, for the files that hold words.

Conventions
    Only mappings, lists and texts; a number stays the text that it is. Aliases and
    tags are refused, so that a file is never larger than it looks. Lines and
    columns count from 1. Every error is a PhraseError.
"""

from __future__ import annotations

from collections.abc import Iterator

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import AliasEvent, NodeEvent
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from cuegen.errors import PhraseError, Where
from cuegen.plan.nearest import offer

MAX_CHARS = 1_000_000


def read_tree(text: str, file: str) -> Node:
    """Return the root node of a YAML text. Raises PhraseError."""
    if len(text) > MAX_CHARS:
        raise PhraseError(
            f"this file has {len(text)} characters, over {MAX_CHARS}", where=Where(file=file)
        )
    try:
        _refuse_aliases(text, file)
        root: Node | None = YAML(typ="safe", pure=True).compose(text)
    except MarkedYAMLError as bad:
        raise PhraseError(
            f"this is not YAML: {bad.problem or bad.context}",
            where=_mark_where(bad.problem_mark, file),
            remedy="A line with a colon, or one that begins with {{, stands in quotation marks.",
        ) from None
    except (YAMLError, RecursionError, ValueError) as bad:
        reason = "it is nested too deeply" if isinstance(bad, RecursionError) else str(bad)
        raise PhraseError(f"this is not YAML: {reason}", where=Where(file=file)) from None
    if root is None:
        raise PhraseError("this file is empty", where=Where(file=file))
    return root


def where_of(node: Node, file: str, text: str | None = None) -> Where:
    """Return the place of a node."""
    mark = node.start_mark
    return Where(file=file, line=mark.line + 1, column=mark.column + 1, text=text)


def mapping(node: Node, file: str, what: str) -> Iterator[tuple[str, Node, Where]]:
    """Yield the keys of a mapping with their values; refuses a key that stands twice."""
    if not isinstance(node, MappingNode):
        raise PhraseError(
            f"{what} should be names with values",
            where=where_of(node, file),
            remedy="Write `name: value`.",
        )
    seen: set[str] = set()
    for key_node, value in node.value:
        key = scalar(key_node, file, "a name")
        where = where_of(key_node, file, key)
        if key in seen:
            raise PhraseError(f"{key!r} stands twice", where=where, remedy="Keep one of them.")
        seen.add(key)
        yield key, value, where


def known_mapping(
    node: Node, file: str, what: str, known: tuple[str, ...]
) -> dict[str, tuple[Node, Where]]:
    """Return a mapping all of whose names are known."""
    found: dict[str, tuple[Node, Where]] = {}
    for key, value, where in mapping(node, file, what):
        if key not in known:
            raise PhraseError(f"{what} has no {key!r}", where=where, remedy=offer(key, known))
        found[key] = (value, where)
    return found


def items(node: Node, file: str, what: str) -> list[Node]:
    """Return the items of a list."""
    if not isinstance(node, SequenceNode):
        raise PhraseError(
            f"{what} should be a list", where=where_of(node, file), remedy="Begin each line with -."
        )
    return list(node.value)


def scalar(node: Node, file: str, what: str) -> str:
    """Return a text that is not empty."""
    if not isinstance(node, ScalarNode) or not str(node.value).strip():
        raise PhraseError(
            f"{what} should be a text",
            where=where_of(node, file),
            remedy="A text with a colon, or one that begins with {{, stands in quotation marks.",
        )
    return str(node.value).strip()


def _refuse_aliases(text: str, file: str) -> None:
    if not any(sign in text for sign in "*!"):
        return  # nothing there that could be an alias or a tag
    for event in YAML(typ="safe", pure=True).parse(text):
        if isinstance(event, AliasEvent):
            raise PhraseError(
                "an alias (*name) has no place in this file",
                where=_mark_where(event.start_mark, file),
                remedy="Write the words out.",
            )
        tag = event.tag if isinstance(event, NodeEvent) and hasattr(event, "tag") else None
        if tag is not None:
            raise PhraseError(
                f"the tag {str(tag)!r} has no place in this file",
                where=_mark_where(event.start_mark, file),
                remedy="Write plain text.",
            )


def _mark_where(mark: object, file: str) -> Where:
    line, column = getattr(mark, "line", None), getattr(mark, "column", None)
    return Where(
        file=file,
        line=None if line is None else line + 1,
        column=None if column is None else column + 1,
    )
