"""Taking a YAML tree apart: the names, lists and texts of files that hold words.

Conventions
    The tree is that of cuegen.plan.tree, which refuses aliases, tags and names that
    stand twice; a number stays the text that it is. Errors are of the kind that the
    document was read for. `what` names a node in a message: "a phrase book".
"""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.errors import CuegenError, Where
from cuegen.plan import tree
from cuegen.plan.nearest import offer
from cuegen.plan.tree import Document, Listing, Mapping, Node, Scalar

_QUOTE = "A text with a colon, or one that begins with {{, stands in quotation marks."


def read_document(
    text: str, file: str, error: type[CuegenError], *, ours: bool = False
) -> Document:
    """Return the tree of a YAML text that says something. Raises `error`.

    ours: whether it comes with cuegen, and the tests have read it.
    """
    document = tree.read_tree(text, file=file, error=error, ours=ours)
    if document is None:
        raise error("this file is empty", where=Where(file=file))
    return document


def mapping(node: Node, document: Document, what: str) -> Iterator[tuple[str, Node, Where]]:
    """Yield the names of a mapping with their values."""
    if not isinstance(node, Mapping):
        raise document.fault(node, f"{what} should be names with values", "Write `name: value`.")
    for key, value in node.pairs:
        yield scalar(key, document, "a name"), value, document.where(key)


def known_mapping(
    node: Node, document: Document, what: str, known: tuple[str, ...]
) -> dict[str, tuple[Node, Where]]:
    """Return a mapping all of whose names are known."""
    found: dict[str, tuple[Node, Where]] = {}
    for key, value, where in mapping(node, document, what):
        if key not in known:
            raise document.error(f"{what} has no {key!r}", where=where, remedy=offer(key, known))
        found[key] = (value, where)
    return found


def items(node: Node, document: Document, what: str) -> tuple[Node, ...]:
    """Return the items of a list."""
    if not isinstance(node, Listing):
        raise document.fault(node, f"{what} should be a list", "Begin each line with -.")
    return node.items


def scalar(node: Node, document: Document, what: str) -> str:
    """Return a text that is not empty."""
    if not isinstance(node, Scalar) or not node.value.strip():
        raise document.fault(node, f"{what} should be a text", _QUOTE)
    return node.value.strip()
