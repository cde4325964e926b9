"""What a phrase book holds: counts by kind, case and theme, and lines picked out of it.

Conventions
    A line that is bound to no case is counted under each case of its kind, since it may
    be said there. A wording is one phrase; a text that stands twice is counted once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cuegen.errors import PhraseError, Where
from cuegen.plan.model import Audience, Rate
from cuegen.plan.nearest import offer
from cuegen.script.book import BookLine, PhraseBook
from cuegen.script.booklines import kind_named
from cuegen.script.kinds import CUE_KINDS, CueKind


@dataclass(frozen=True, slots=True)
class KindCount:
    """How many lines of a kind and case may be said to a group and to one rower."""

    kind: CueKind
    case: str | None
    firm: bool
    group: int
    solo: int
    wordings: int


@dataclass(frozen=True, slots=True)
class ThemeCount:
    name: str
    rates: Rate
    lines: int
    wordings: int
    summary: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which lines to pick out. None: any."""

    kind: str | None = None
    case: str | None = None
    theme: str | None = None
    audience: Audience | None = None

    @property
    def is_all(self) -> bool:
        return (self.kind, self.case, self.theme, self.audience) == (None, None, None, None)


def count_kinds(book: PhraseBook) -> Iterator[KindCount]:
    """Yield the counts of every kind and case, in the order of the table of kinds."""
    for kind, spec in CUE_KINDS.items():
        lines = [line for line in book.lines if line.kind is kind]
        for case in (spec.cases or (None,)) if spec.written else ():
            fitting = [line for line in lines if line.when in (None, case)]
            yield KindCount(
                kind,
                case,
                spec.firm,
                _for(fitting, Audience.GROUP),
                _for(fitting, Audience.SOLO),
                count_wordings(fitting),
            )


def count_themes(book: PhraseBook) -> Iterator[ThemeCount]:
    """Yield the counts of every theme that the book teaches, in the order of its list."""
    for theme in book.themes:
        lines = [line for line in book.lines if line.theme == theme.name]
        if lines:
            wordings = count_wordings(lines)
            yield ThemeCount(theme.name, theme.rates, len(lines), wordings, theme.summary)


def count_wordings(lines: Sequence[BookLine]) -> int:
    """Return how many different phrases there are in lines."""
    return len({phrase.source for line in lines for phrase in line.phrases})


def pick(book: PhraseBook, wanted: Wanted) -> list[BookLine]:
    """Return the lines that are wanted. Raises PhraseError for an unknown name, and for none."""
    _check_names(book, wanted)
    lines = [line for line in book.lines if _is_wanted(line, wanted)]
    if not lines:
        raise PhraseError(
            f"the phrase book {book.name!r} has no such line", remedy="Ask for less at once."
        )
    return lines


def _for(lines: Sequence[BookLine], who: Audience) -> int:
    return sum(line.audience in (None, who) for line in lines)


def _is_wanted(line: BookLine, wanted: Wanted) -> bool:
    return (
        wanted.kind in (None, line.kind)
        and (wanted.case is None or (line.when in (None, wanted.case) and _has_case(line, wanted)))
        and wanted.theme in (None, line.theme)
        and (wanted.audience is None or line.audience in (None, wanted.audience))
    )


def _has_case(line: BookLine, wanted: Wanted) -> bool:
    return wanted.case in CUE_KINDS[line.kind].cases


def _check_names(book: PhraseBook, wanted: Wanted) -> None:
    kinds = list(CUE_KINDS)
    if wanted.kind is not None:
        kinds = [kind_named(wanted.kind, Where(text=wanted.kind))]
    cases = sorted({case for kind in kinds for case in CUE_KINDS[kind].cases})
    if wanted.case is not None and wanted.case not in cases:
        raise PhraseError(
            f"{wanted.kind or 'this book'} has no such case",
            where=Where(text=wanted.case),
            remedy=offer(wanted.case, cases) if cases else "Leave --case out.",
        )
    if wanted.theme is not None and wanted.theme not in book.taught:
        raise PhraseError(
            f"the phrase book {book.name!r} has no lines on that theme",
            where=Where(text=wanted.theme),
            remedy=offer(wanted.theme, sorted(book.taught)),
        )
