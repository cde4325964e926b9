"""A phrase book in memory: lines by cue kind, chosen by occasion.

Conventions
    A line has one to three phrases, the fullest first. It suits an occasion when
    everything it is bound to (case, theme, rates, audience, phase, position) fits and every field
    that its phrases mention is known.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

from cuegen.errors import PhraseError, Where
from cuegen.plan.model import Audience, Rate, SegmentKind
from cuegen.script.kinds import CUE_KINDS, CueKind, hearers
from cuegen.script.phrase import Phrase
from cuegen.script.themes import Theme

POSITIONS = ("first", "middle", "last")
"""Where a piece stands among the pieces of its session; an only one is both first and last."""


@dataclass(frozen=True, slots=True)
class BookLine:
    """One thing to say, in up to three lengths. None: bound to nothing of the sort."""

    kind: CueKind
    phrases: tuple[Phrase, ...]
    when: str | None = None
    theme: str | None = None
    rates: Rate | None = None
    audience: Audience | None = None
    phase: SegmentKind | None = None
    position: str | None = None
    where: Where = field(default_factory=Where, compare=False)

    @property
    def key(self) -> str:
        """What the line is known by, whatever stands before it in its book."""
        return " / ".join(phrase.source for phrase in self.phrases)

    @property
    def fields(self) -> frozenset[str]:
        return frozenset().union(*(phrase.fields for phrase in self.phrases))

    def suits(self, occasion: Occasion) -> bool:
        """Return whether the line may be said there."""
        return (
            self.when in (None, occasion.case)
            and self.theme == occasion.theme
            and self.audience in (None, occasion.audience)
            and self.phase in (None, occasion.phase)
            and (self.position is None or self.position in occasion.positions)
            and (self.rates is None or _within(occasion.rate, self.rates))
        )


@dataclass(frozen=True, slots=True)
class Occasion:
    """What a line must suit."""

    kind: CueKind
    audience: Audience
    case: str | None = None
    theme: str | None = None
    rate: Rate | None = None
    phase: SegmentKind | None = None
    positions: tuple[str, ...] = ()


@dataclass(frozen=True)
class PhraseBook:
    """All lines of a language, with the themes they teach."""

    name: str
    language: str
    lines: tuple[BookLine, ...]
    themes: tuple[Theme, ...] = ()

    @cached_property
    def _by_kind(self) -> dict[CueKind, list[BookLine]]:
        found: dict[CueKind, list[BookLine]] = {kind: [] for kind in CUE_KINDS}
        for line in self.lines:
            found[line.kind].append(line)
        return found

    def suiting(self, occasion: Occasion) -> list[BookLine]:
        """Return the lines that suit an occasion, in the book's order."""
        return [line for line in self._by_kind[occasion.kind] if line.suits(occasion)]

    @cached_property
    def taught(self) -> frozenset[str]:
        """The themes that the book has lines for."""
        return frozenset(line.theme for line in self.lines if line.theme is not None)

    def theme(self, name: str) -> Theme | None:
        return next((theme for theme in self.themes if theme.name == name), None)


def check_whole(book: PhraseBook, where: Where) -> None:
    """Raise PhraseError where a kind, or a case of one, has no line to say."""
    missing = list(_missing(book))
    if missing:
        raise PhraseError(
            f"the phrase book {book.name!r} has no lines for {', '.join(missing)}",
            where=where,
            remedy="Write them, or begin the book with `extends: plain`.",
        )


def _missing(book: PhraseBook) -> Iterable[str]:
    """Yield kinds, and cases, without a line that serves every rate, phase and position."""
    for kind, spec in CUE_KINDS.items():
        if not spec.written:
            continue
        bare: list[str] = [
            case
            for case in spec.cases or ("",)
            if not all(_has_line(book, kind, case or None, who) for who in hearers(case))
        ]
        if bare:
            cases = f" (when: {', '.join(bare)})" if bare != [""] else ""
            yield f"{kind}{cases}"


def _has_line(book: PhraseBook, kind: CueKind, case: str | None, audience: Audience) -> bool:
    return any(
        line.when in (None, case) and line.audience in (None, audience)
        for line in book.lines
        if line.kind is kind and (line.rates, line.phase, line.position) == (None, None, None)
    )


def _within(rate: Rate | None, band: Rate) -> bool:
    return rate is not None and band.low <= rate.middle <= band.high
