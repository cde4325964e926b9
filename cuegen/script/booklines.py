"""The lines of a phrase book, from its YAML: grouped by kind, bound to occasions, checked.

Conventions
    Under a kind stands a list of groups. A group names what its lines are bound to
    and has them under `lines`, as a list or, with nothing to quote, as a block of
    text with one line a line; a line that ends in a slash goes on in the next one.
    A bare text in place of a group is a line bound to nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from cuegen.errors import PhraseError, Where
from cuegen.plan.model import Audience, SegmentKind
from cuegen.plan.nearest import offer
from cuegen.plan.tree import Document, Node, Scalar
from cuegen.script.book import POSITIONS, BookLine
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.phrase import Phrase, compile_phrase
from cuegen.script.themes import band_of
from cuegen.script.yamltree import items, known_mapping, mapping, scalar

_BOUND = ("when", "theme", "rates", "audience", "phase", "position", "lines")
_SLASH = re.compile(r"\s+/\s+")
MOST_LINES = 5_000
MOST_PHRASES = 3


def lines_of_book(
    node: Node, document: Document, language: str, *, tried: bool = True
) -> Iterator[BookLine]:
    """Yield the lines under the `lines:` of a book, tried on sample values. Raises PhraseError."""
    say = _Say(language, tried)
    count = 0
    for name, value, where in mapping(node, document, "'lines'"):
        kind = kind_named(name, where)
        for line in _kind_lines(value, kind, document, say):
            count += 1
            if count > MOST_LINES:
                raise PhraseError(f"this book has more than {MOST_LINES} lines", where=where)
            yield line


def kinds_named(node: Node, document: Document) -> Iterator[CueKind]:
    """Yield the cue kinds of a list. Raises PhraseError."""
    for item in items(node, document, "'replace'"):
        yield kind_named(scalar(item, document, "a cue kind"), document.where(item))


def kind_named(name: str, where: Where) -> CueKind:
    """Return the kind of that name, one that books have lines for. Raises PhraseError."""
    known = [kind.value for kind, spec in CUE_KINDS.items() if spec.written]
    if name not in known:
        raise PhraseError(f"there is no cue kind {name!r}", where=where, remedy=offer(name, known))
    return CueKind(name)


@dataclass(frozen=True, slots=True)
class _Say:
    """In which language phrases are said, and whether each is tried on sample values."""

    language: str
    tried: bool


@dataclass(frozen=True, slots=True)
class _Text:
    """One line as it stands in the file."""

    text: str
    where: Where


def _kind_lines(node: Node, kind: CueKind, document: Document, say: _Say) -> Iterator[BookLine]:
    for item in items(node, document, f"{kind}"):
        if isinstance(item, Scalar):
            yield _line(_whole(item, document, kind), BookLine(kind, ()), say)
            continue
        bound, texts = _bound(item, kind, document)
        for text in texts:
            yield _line(text, bound, say)


def _bound(node: Node, kind: CueKind, document: Document) -> tuple[BookLine, list[_Text]]:
    """Return an empty line bound to what a group of lines names, and the group's lines."""
    parts = known_mapping(node, document, f"a group of {kind} lines", _BOUND)
    if "lines" not in parts:
        raise PhraseError(
            "this group has no lines", where=document.where(node), remedy="Write `lines:`."
        )

    def word(key: str, known: tuple[str, ...] | None) -> str | None:
        if key not in parts:
            return None
        text = scalar(parts[key][0], document, f"{key!r}")
        if known is not None and text not in known:
            where = document.where(parts[key][0])
            remedy = offer(text, known) if known else f"A {kind} line has none."
            raise PhraseError(f"{kind} has no {key!r} of that name", where=where, remedy=remedy)
        return text

    who = word("audience", tuple(Audience))
    phase = word("phase", tuple(SegmentKind))
    bound = BookLine(
        kind,
        (),
        when=word("when", CUE_KINDS[kind].cases),
        theme=word("theme", None if kind is CueKind.TECHNIQUE else ()),
        rates=band_of(parts["rates"][0], document) if "rates" in parts else None,
        audience=Audience(who) if who else None,
        phase=SegmentKind(phase) if phase else None,
        position=word("position", POSITIONS),
    )
    return bound, _texts(parts["lines"][0], kind, document)


def _texts(node: Node, kind: CueKind, document: Document) -> list[_Text]:
    if isinstance(node, Scalar) and node.style == "|":
        return list(_block(node, document))
    return [_whole(item, document, kind) for item in items(node, document, "'lines'")]


def _whole(node: Node, document: Document, kind: CueKind) -> _Text:
    return _Text(scalar(node, document, f"a {kind} line"), document.where(node))


def _block(node: Scalar, document: Document) -> Iterator[_Text]:
    """Yield the lines of a block of text, each with its own place in the file."""
    first = document.where(node)
    begun: list[str] = []
    start = 0
    rows = node.value.splitlines()
    for number, row in enumerate(rows, start=1):
        text = row.strip()
        if not text:
            continue
        start = start if begun else number
        begun.append(text)
        if text.endswith(" /") and number < len(rows):
            continue
        line = (first.line or 0) + start
        whole = " ".join(begun)
        yield _Text(whole, replace(first, line=line, column=None, text=whole))
        begun = []


def _line(found: _Text, bound: BookLine, say: _Say) -> BookLine:
    sources = _SLASH.split(found.text)
    if len(sources) > MOST_PHRASES:
        raise PhraseError(
            f"a line has at most {MOST_PHRASES} phrases, not {len(sources)}",
            where=found.where,
            remedy="Write long / medium / short.",
        )
    if bound.kind is CueKind.TECHNIQUE and bound.theme is None:
        raise PhraseError(
            "a technique line needs its theme",
            where=found.where,
            remedy="Put it under `theme: <name>` and `lines:`.",
        )
    phrases = tuple(
        compile_phrase(source, bound.kind, say.language, found.where, tried=say.tried)
        for source in sources
    )
    return replace(bound, phrases=_checked(phrases, bound.kind), where=found.where)


def _checked(phrases: tuple[Phrase, ...], kind: CueKind) -> tuple[Phrase, ...]:
    """Beats are a second apart, so each is a single word."""
    for phrase in phrases:
        if kind is CueKind.BEAT and " " in phrase.say({"count": 3}):
            raise PhraseError(
                "a beat is one word", where=phrase.where, remedy="Write the count alone."
            )
    return phrases
