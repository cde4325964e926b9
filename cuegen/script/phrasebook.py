"""Phrase books: the YAML files that hold every word a track says.

    book: plain                  the book's name
    language: en                 its language (cuegen.script.spoken.SPOKEN)
    extends: plain               optional: a book whose lines are kept
    replace: [welcome, offer]    optional: kinds of that book which are put away
    themes:                      optional: technique themes of one's own
      boat-feel: {rates: 16-22}
    lines:
      settle:                    a cue kind (cuegen.script.kinds.CUE_KINDS)
        - Find your rhythm and settle. / Settle into it. / Settle.
        - when: easy             lines bound to a case, theme, rates or audience
          lines:
            - Easy now, let the breathing come down. / Easy now.

Conventions
    A line is one to three phrases between spaced slashes, the fullest first: one
    serves all lengths, two are long and short, three long, medium and short.
    Phrases are templates (cuegen.script.phrase). Errors are PhraseErrors with
    file, line and text.

Contents
    find_book     by name or path: the edge for a session
    load_book     a path
    read_book     a text, pure
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from cuegen.errors import PhraseError, Where
from cuegen.files import read_text
from cuegen.plan.model import Audience
from cuegen.plan.nearest import offer
from cuegen.plan.tree import Document, Node, Scalar
from cuegen.resources import templates_dir
from cuegen.script.book import BookLine, PhraseBook, check_whole
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.phrase import Phrase, compile_phrase
from cuegen.script.spoken import base_language, spoken_forms
from cuegen.script.themes import Theme, band_of, load_themes, themes_of
from cuegen.script.yamltree import items, known_mapping, mapping, read_document, scalar

__all__ = ["PhraseBook", "find_book", "load_book", "read_book"]

_TOP = ("book", "language", "extends", "replace", "themes", "lines")
_BOUND = ("when", "theme", "rates", "audience", "lines")
_SLASH = re.compile(r"\s+/\s+")
MOST_LINES = 5_000
MOST_PHRASES = 3


def find_book(name_or_path: str, language: str = "en") -> PhraseBook:
    """Return the book of that name, or of a path, in the session's language.

    Raises PhraseError for a book that is missing, faulty, or in another language.
    """
    spoken_forms(language)
    book = load_book(_path_of(name_or_path))
    if base_language(book.language) != base_language(language):
        raise PhraseError(
            f"the phrase book {name_or_path!r} is in {book.language!r}, "
            f"but the session is in {language!r}",
            remedy="Name a book in that language with `phrase_book`, or change `language`.",
        )
    return book


def load_book(path: Path, _inside: tuple[Path, ...] = ()) -> PhraseBook:
    """Return the book of a file, with the books that it extends. Raises PhraseError."""
    path = path.resolve()
    draft = _draft(read_text(path, PhraseError, "phrase book"), str(path))
    if draft.extends is None:
        return _finished(draft, None, load_themes())
    base_path = _path_of(draft.extends[0], beside=path.parent).resolve()
    if base_path == path or base_path in _inside:
        raise PhraseError(
            "phrase books extend one another in a circle",
            where=draft.extends[1],
            remedy="Let one of them extend `plain`.",
        )
    return _finished(draft, load_book(base_path, (*_inside, path)), ())


def read_book(
    text: str,
    file: str = "phrase book",
    *,
    base: PhraseBook | None = None,
    themes: tuple[Theme, ...] = (),
) -> PhraseBook:
    """Return the book of a text. base: the book it extends. Raises PhraseError."""
    return _finished(_draft(text, file), base, themes)


def _path_of(name_or_path: str, beside: Path | None = None) -> Path:
    """Return where a book lies: a bare name is one of ours."""
    if re.fullmatch(r"[\w-]+", name_or_path):
        path = templates_dir() / "phrases" / f"{name_or_path}.yaml"
        if not path.is_file():
            raise PhraseError(
                f"there is no phrase book {name_or_path!r}",
                remedy=offer(name_or_path, _book_names()) + " Or give the path of a file.",
            )
        return path
    return (beside or Path()) / Path(name_or_path).expanduser()


def _book_names() -> list[str]:
    return sorted(path.stem for path in (templates_dir() / "phrases").glob("*.yaml"))


@dataclass(frozen=True, slots=True)
class _Draft:
    """A book as its file says it, before what it extends is added."""

    name: str
    language: str
    extends: tuple[str, Where] | None
    replace: tuple[CueKind, ...]
    themes: tuple[Theme, ...]
    lines: tuple[BookLine, ...]
    where: Where


def _draft(text: str, file: str) -> _Draft:
    document = read_document(text, file, PhraseError)
    top = known_mapping(document.root, document, "a phrase book", _TOP)

    def word(key: str, otherwise: str) -> str:
        return scalar(top[key][0], document, f"{key!r}") if key in top else otherwise

    language = word("language", "en")
    spoken_forms(language, top["language"][1] if "language" in top else None)
    extends = (word("extends", ""), top["extends"][1]) if "extends" in top else None
    return _Draft(
        name=word("book", Path(file).stem),
        language=language,
        extends=extends,
        replace=tuple(_replaced(top["replace"][0], document)) if "replace" in top else (),
        themes=themes_of(top["themes"][0], document) if "themes" in top else (),
        lines=tuple(_lines(top["lines"][0], document, language)) if "lines" in top else (),
        where=Where(file=file, line=1, column=1),
    )


def _finished(draft: _Draft, base: PhraseBook | None, themes: tuple[Theme, ...]) -> PhraseBook:
    if draft.extends is not None and base is None:
        raise PhraseError(
            f"the book {draft.extends[0]!r} that this one extends is not at hand",
            where=draft.extends[1],
            remedy="Load it from a file.",
        )
    if base is not None and base.language != draft.language:
        raise PhraseError(
            f"this book is in {draft.language!r}, the one it extends in {base.language!r}",
            where=draft.where,
            remedy="Give both the same language.",
        )
    kept = [line for line in base.lines if line.kind not in draft.replace] if base else []
    own = {theme.name for theme in draft.themes}
    known = [theme for theme in (base.themes if base else themes) if theme.name not in own]
    book = PhraseBook(draft.name, draft.language, (*kept, *draft.lines), (*draft.themes, *known))
    _check_themes(book)
    check_whole(book, replace(draft.where, line=None, column=None))
    return book


def _check_themes(book: PhraseBook) -> None:
    """Refuse a line on a theme that no list knows."""
    known = [theme.name for theme in book.themes]
    for line in book.lines:
        if line.theme is not None and line.theme not in known:
            raise PhraseError(
                f"there is no theme {line.theme!r}",
                where=line.where,
                remedy=offer(line.theme, known) + " A new one needs its rates under `themes`.",
            )


def _replaced(node: Node, document: Document) -> Iterator[CueKind]:
    for item in items(node, document, "'replace'"):
        name = scalar(item, document, "a cue kind")
        yield _kind(name, document.where(item))


def _kind(name: str, where: Where) -> CueKind:
    known = [kind.value for kind, spec in CUE_KINDS.items() if spec.written]
    if name not in known:
        raise PhraseError(f"there is no cue kind {name!r}", where=where, remedy=offer(name, known))
    return CueKind(name)


def _lines(node: Node, document: Document, language: str) -> Iterator[BookLine]:
    count = 0
    for name, value, where in mapping(node, document, "'lines'"):
        kind = _kind(name, where)
        for line in _kind_lines(value, kind, document, language):
            count += 1
            if count > MOST_LINES:
                raise PhraseError(f"this book has more than {MOST_LINES} lines", where=where)
            yield line


def _kind_lines(node: Node, kind: CueKind, document: Document, language: str) -> Iterator[BookLine]:
    for item in items(node, document, f"{kind}"):
        if isinstance(item, Scalar):
            yield _line(item, BookLine(kind, ()), document, language)
            continue
        bound, lines = _bound(item, kind, document)
        for line in lines:
            yield _line(line, bound, document, language)


def _bound(node: Node, kind: CueKind, document: Document) -> tuple[BookLine, tuple[Node, ...]]:
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
    theme = word("theme", None if kind is CueKind.TECHNIQUE else ())
    bound = BookLine(
        kind,
        (),
        when=word("when", CUE_KINDS[kind].cases),
        theme=theme,
        rates=band_of(parts["rates"][0], document) if "rates" in parts else None,
        audience=Audience(who) if who else None,
    )
    return bound, items(parts["lines"][0], document, "'lines'")


def _line(node: Node, bound: BookLine, document: Document, language: str) -> BookLine:
    text = scalar(node, document, f"a {bound.kind} line")
    where = document.where(node)
    sources = _SLASH.split(text)
    if len(sources) > MOST_PHRASES:
        raise PhraseError(
            f"a line has at most {MOST_PHRASES} phrases, not {len(sources)}",
            where=where,
            remedy="Write long / medium / short.",
        )
    if bound.kind is CueKind.TECHNIQUE and bound.theme is None:
        raise PhraseError(
            "a technique line needs its theme",
            where=where,
            remedy="Put it under `theme: <name>` and `lines:`.",
        )
    phrases = tuple(compile_phrase(source, bound.kind, language, where) for source in sources)
    return replace(bound, phrases=_checked(phrases, bound.kind), where=where)


def _checked(phrases: tuple[Phrase, ...], kind: CueKind) -> tuple[Phrase, ...]:
    """Beats are a second apart, so each is a single word."""
    for phrase in phrases:
        if kind is CueKind.BEAT and " " in phrase.say({"count": 3}):
            raise PhraseError(
                "a beat is one word", where=phrase.where, remedy="Write the count alone."
            )
    return phrases
