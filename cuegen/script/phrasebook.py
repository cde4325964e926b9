"""Phrase books: the YAML files that hold every word a track says.

    book: plain                  the book's name
    language: en                 its language (cuegen.script.spoken.SPOKEN)
    extends: plain               optional: a book whose lines are kept
    replace: [welcome, offer]    optional: kinds of that book which are put away
    without: [Settle.]           optional: lines of that book which are put away, by any phrase
    parts: [mine/rests.yaml]     optional: further files with `lines:`, beside this one
    themes:                      optional: technique themes of one's own
      boat-feel: {rates: 16-22}
    lines:
      settle:                    a cue kind (cuegen.script.kinds.CUE_KINDS)
        - Find your rhythm and settle. / Settle into it. / Settle.
        - when: warm-up          lines bound to a case, and to a theme, rates,
          audience: solo         audience, phase or position as need be
          lines: |
            Easy now, let the breathing come down. / Easy now.

Conventions
    A line is one to three phrases between spaced slashes, the fullest first: one
    serves all lengths, two are long and short, three long, medium and short.
    Phrases are templates (cuegen.script.phrase); how lines are grouped is said in
    cuegen.script.booklines. Errors are PhraseErrors with file, line and text.

Contents
    find_book     by name or path: the edge for a session
    load_book     a path
    read_book     a text, pure
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from cuegen.errors import PhraseError, Where
from cuegen.files import read_text
from cuegen.plan.nearest import offer
from cuegen.resources import templates_dir
from cuegen.script.book import BookLine, PhraseBook, check_whole
from cuegen.script.booklines import kinds_named, lines_of_book
from cuegen.script.kinds import CueKind
from cuegen.script.spoken import base_language, spoken_forms
from cuegen.script.themes import Theme, load_themes, themes_of
from cuegen.script.yamltree import items, known_mapping, read_document, scalar

__all__ = ["PhraseBook", "book_path", "find_book", "house_books", "load_book", "read_book"]

_NAME = re.compile(r"[\w-]+")
_TOP = ("book", "language", "extends", "replace", "without", "parts", "themes", "lines")


def find_book(name_or_path: str, language: str = "en") -> PhraseBook:
    """Return the book of that name, or of a path, in the session's language.

    Raises PhraseError for a book that is missing, faulty, or in another language.
    """
    spoken_forms(language)
    path = book_path(name_or_path)
    book = _house_book(path) if path.parent == _house() else load_book(path)
    if base_language(book.language) != base_language(language):
        raise PhraseError(
            f"the phrase book {name_or_path!r} is in {book.language!r}, "
            f"but the session is in {language!r}",
            remedy="Name a book in that language with `phrase_book`, or change `language`.",
        )
    return book


@lru_cache(maxsize=4)
def _house_book(path: Path) -> PhraseBook:
    """Return one of our books, read once: a block compiles many sessions from it."""
    return load_book(path)


def _house() -> Path:
    """Return the folder of the books that come with cuegen."""
    return (templates_dir() / "phrases").resolve()


def load_book(
    path: Path, _inside: tuple[Path, ...] = (), *, tried: bool | None = None
) -> PhraseBook:
    """Return the book of a file, with the books that it extends. Raises PhraseError.

    tried: whether its phrases are said once on sample values; by default those of a
    coach's own are, and ours, which are thousands, are tried in the tests.
    """
    path = path.resolve()
    ours = path.parent == _house()
    trial = not ours if tried is None else tried
    text = read_text(path, PhraseError, "phrase book")
    draft = _draft(text, str(path), tried=trial, ours=ours)
    draft = _with_parts(draft, path, tried=trial, ours=ours)
    if draft.extends is None:
        return _finished(draft, None, load_themes())
    base_path = book_path(draft.extends[0], path.parent, draft.extends[1])
    if base_path == path or base_path in _inside:
        raise PhraseError(
            "phrase books extend one another in a circle",
            where=draft.extends[1],
            remedy="Let one of them extend `plain`.",
        )
    return _finished(draft, load_book(base_path, (*_inside, path), tried=tried), ())


def read_book(
    text: str,
    file: str = "phrase book",
    *,
    base: PhraseBook | None = None,
    themes: tuple[Theme, ...] = (),
) -> PhraseBook:
    """Return the book of a text. base: the book it extends. Raises PhraseError."""
    return _finished(_draft(text, file), base, themes)


def book_path(name_or_path: str, beside: Path = Path(), where: Where | None = None) -> Path:
    """Return where a book lies, one of ours by its bare name. Raises PhraseError.

    beside: the folder that a relative path is taken from. where: what names the book.
    """
    if not _NAME.fullmatch(name_or_path):
        return (beside / Path(name_or_path).expanduser()).resolve()
    known = house_books()
    if name_or_path not in known:
        raise PhraseError(
            f"there is no phrase book {name_or_path!r}",
            where=where,
            remedy=offer(name_or_path, known) + " Or give the path of a file.",
        )
    return known[name_or_path]


def house_books() -> dict[str, Path]:
    """Return the books that come with cuegen, by name."""
    return {path.stem: path for path in sorted(_house().glob("*.yaml"))}


@dataclass(frozen=True, slots=True)
class _Draft:
    """A book as its file says it, before what it extends is added."""

    name: str
    language: str
    extends: tuple[str, Where] | None
    replace: tuple[CueKind, ...]
    without: tuple[tuple[str, Where], ...]
    parts: tuple[tuple[str, Where], ...]
    themes: tuple[Theme, ...]
    lines: tuple[BookLine, ...]
    where: Where


def _draft(text: str, file: str, *, tried: bool = True, ours: bool = False) -> _Draft:
    document = read_document(text, file, PhraseError, ours=ours)
    top = known_mapping(document.root, document, "a phrase book", _TOP)

    def word(key: str, otherwise: str) -> str:
        return scalar(top[key][0], document, f"{key!r}") if key in top else otherwise

    def texts(key: str) -> tuple[tuple[str, Where], ...]:
        nodes = items(top[key][0], document, f"{key!r}") if key in top else ()
        return tuple((scalar(node, document, "a text"), document.where(node)) for node in nodes)

    language = word("language", "en")
    spoken_forms(language, top["language"][1] if "language" in top else None)
    extends = (word("extends", ""), top["extends"][1]) if "extends" in top else None
    return _Draft(
        name=word("book", Path(file).stem),
        language=language,
        extends=extends,
        replace=tuple(kinds_named(top["replace"][0], document)) if "replace" in top else (),
        without=texts("without"),
        parts=texts("parts"),
        themes=themes_of(top["themes"][0], document) if "themes" in top else (),
        lines=tuple(lines_of_book(top["lines"][0], document, language, tried=tried))
        if "lines" in top
        else (),
        where=Where(file=file, line=1, column=1),
    )


def _with_parts(draft: _Draft, path: Path, *, tried: bool, ours: bool) -> _Draft:
    """Return a draft with the lines of its further files. Raises PhraseError."""
    lines = list(draft.lines)
    for name, where in draft.parts:
        part = path.parent / name
        if not part.is_file():
            raise PhraseError(
                f"there is no file {name!r} beside this book",
                where=where,
                remedy="Name its parts as they lie from the book's folder.",
            )
        text = read_text(part, PhraseError, "part of a phrase book")
        document = read_document(text, str(part), PhraseError, ours=ours)
        top = known_mapping(document.root, document, "a part of a phrase book", ("lines",))
        if top:
            lines += lines_of_book(top["lines"][0], document, draft.language, tried=tried)
    return replace(draft, lines=tuple(lines))


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
    kept = _kept(draft, base) if base else []
    own = {theme.name for theme in draft.themes}
    known = [theme for theme in (base.themes if base else themes) if theme.name not in own]
    book = PhraseBook(draft.name, draft.language, (*kept, *draft.lines), (*draft.themes, *known))
    _check_themes(book)
    check_whole(book, replace(draft.where, line=None, column=None))
    return book


def _kept(draft: _Draft, base: PhraseBook) -> list[BookLine]:
    """Return the lines of the base that stay. Raises PhraseError for one to put away it has not."""
    said = {phrase.source for line in base.lines for phrase in line.phrases}
    for text, where in draft.without:
        if text not in said:
            raise PhraseError(
                f"{base.name!r} does not say {text!r}",
                where=where,
                remedy=offer(text, sorted(said)),
            )
    gone = {text for text, _ in draft.without}
    return [
        line
        for line in base.lines
        if line.kind not in draft.replace
        if not any(phrase.source in gone for phrase in line.phrases)
    ]


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
