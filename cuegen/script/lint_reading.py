"""A phrase book for its rules: read as for a session, or as far as it can be.

Loading stops at the first fault, which is right for a track. A coach who writes a book
wants all of them: where a book does not load, its lines are gone through once more, a
faulty one is set aside with its error, and the rest is read on.

What cannot be read at all (no file, no YAML, a book that extends one that is missing
or itself) is still a PhraseError.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from cuegen.errors import PhraseError
from cuegen.files import read_text
from cuegen.plan.tree import Document, Listing, Mapping, Node, Scalar
from cuegen.script.book import BookLine
from cuegen.script.booklines import lines_of_book
from cuegen.script.lint_subject import Subject, said_of
from cuegen.script.phrasebook import book_path, load_book
from cuegen.script.yamltree import items, mapping, read_document, scalar

MOST_FAULTS = 100


def subject_of(name_or_path: str) -> Subject:
    """Return a book as its rules look at it. Raises PhraseError for what cannot be read."""
    path = book_path(name_or_path)
    root = _document(path, "phrase book")
    top = {name: node for name, node, _ in mapping(root.root, root, "a phrase book")}
    try:
        book = load_book(path)
    except PhraseError as first:
        _check_base(top, root, path)
        lines, faults = _read_on(top, root, path)
        if str(first) not in map(str, faults):
            faults.insert(0, first)
        said = tuple(one for line in lines for one in said_of(line, own=True))
        return Subject(str(path), said, None, tuple(faults[:MOST_FAULTS]))
    own = {str(path), *(str(part) for part, _ in _parts(top, root, path))}
    said = tuple(one for line in book.lines for one in said_of(line, own=line.where.file in own))
    return Subject(str(path), said, book)


def _document(path: Path, what: str) -> Document:
    return read_document(read_text(path, PhraseError, what), str(path), PhraseError)


def _check_base(top: dict[str, Node], root: Document, path: Path) -> None:
    """Raise PhraseError where the book that this one extends cannot be loaded itself."""
    if "extends" in top:
        name, where = scalar(top["extends"], root, "'extends'"), root.where(top["extends"])
        load_book(book_path(name, path.parent, where))


def _parts(top: dict[str, Node], root: Document, path: Path) -> Iterator[tuple[Path, Node]]:
    if "parts" in top:
        for node in items(top["parts"], root, "'parts'"):
            yield path.parent / scalar(node, root, "a text"), node


def _read_on(
    top: dict[str, Node], root: Document, path: Path
) -> tuple[list[BookLine], list[PhraseError]]:
    """Return the lines that can be read, in the book and its parts, and what is wrong."""
    reader = _Reader(scalar(top["language"], root, "'language'") if "language" in top else "en")
    if "lines" in top:
        reader.read(top["lines"], root)
    try:
        for part, node in _parts(top, root, path):
            reader.read_part(part, root, node)
    except PhraseError as bad:
        reader.faults.append(bad)
    return reader.lines, reader.faults


class _Reader:
    """Reads lines and gathers faults."""

    def __init__(self, language: str) -> None:
        self.language = language
        self.lines: list[BookLine] = []
        self.faults: list[PhraseError] = []

    def read_part(self, part: Path, root: Document, named: Node) -> None:
        """Read a further file, or say that it cannot be."""
        if not part.is_file():
            self.faults.append(
                PhraseError(
                    f"there is no file {scalar(named, root, 'a text')!r} beside this book",
                    where=root.where(named),
                    remedy="Name its parts as they lie from the book's folder.",
                )
            )
            return
        try:
            document = _document(part, "part of a phrase book")
            top = {name: node for name, node, _ in mapping(document.root, document, "a part")}
        except PhraseError as bad:
            self.faults.append(bad)
            return
        if "lines" in top:
            self.read(top["lines"], document)

    def read(self, node: Node, document: Document) -> None:
        """Read what stands under `lines:`, item by item."""
        if not isinstance(node, Mapping):
            self._try(node, document)
            return
        for key, value in node.pairs:
            if not isinstance(value, Listing) or not value.items:
                self._try(replace(node, pairs=((key, value),)), document)
                continue
            for item in value.items:
                one = replace(value, items=(item,))
                if not self._go_on(replace(node, pairs=((key, one),)), document):
                    break  # the kind itself is unknown: its other items say no more

    def _go_on(self, node: Mapping, document: Document) -> bool:
        """Read one item, again without each faulty line; return whether its kind is known."""
        while len(self.faults) < MOST_FAULTS:
            fault = self._try(node, document)
            if fault is None:
                return True
            if fault.where == document.where(node.pairs[0][0]):
                return False
            rest = _without(node, fault, document)
            if rest is None:
                return True
            node = rest
        return False

    def _try(self, node: Node, document: Document) -> PhraseError | None:
        try:
            self.lines += list(lines_of_book(node, document, self.language))
        except PhraseError as bad:
            self.faults.append(bad)
            return bad
        return None


def _without(node: Mapping, fault: PhraseError, document: Document) -> Mapping | None:
    """Return an item without the line that a fault is in, None where nothing is left to read."""
    ((key, value),) = node.pairs
    assert isinstance(value, Listing)
    (group,) = value.items
    if not isinstance(group, Mapping):
        return None
    pairs = {name.value: (name, under) for name, under in group.pairs}
    if "lines" not in pairs:
        return None
    name, lines = pairs["lines"]
    rest = _fewer(lines, fault, document)
    if rest is None:
        return None
    others = tuple(pair for pair in group.pairs if pair[0] is not name)
    left = replace(group, pairs=(*others, (name, rest)))
    return replace(node, pairs=((key, replace(value, items=(left,))),))


def _fewer(lines: Node, fault: PhraseError, document: Document) -> Node | None:
    if isinstance(lines, Listing):
        left = tuple(item for item in lines.items if document.where(item) != fault.where)
        return replace(lines, items=left) if 0 < len(left) < len(lines.items) else None
    if not isinstance(lines, Scalar) or fault.where.line is None:
        return None
    rows = lines.value.splitlines()
    first = fault.where.line - (document.where(lines).line or 0) - 1
    if not 0 <= first < len(rows):
        return None
    last = first
    while rows[last].strip().endswith(" /") and last + 1 < len(rows):
        last += 1
    rows[first : last + 1] = [""] * (last + 1 - first)
    return replace(lines, value="\n".join(rows) + "\n") if any(map(str.strip, rows)) else None
