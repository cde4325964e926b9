"""What the rules of a phrase book look at: its phrases, said, and whose they are.

Conventions
    Findings are about a book's own lines. The lines of a book that it extends are
    there to be compared with and counted; what is odd about them is that book's matter.
    Lengths are whole milliseconds.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property

from cuegen.errors import PhraseError, Where
from cuegen.script.book import BookLine, PhraseBook
from cuegen.script.phrase import Phrase
from cuegen.script.samples import sample_texts, words_of


class Severity(StrEnum):
    """An error spoils a track or keeps a book from being used; a warning makes it poorer."""

    ERROR = "error"
    WARNING = "warning"


class Form(StrEnum):
    """Which of a line's phrases it is."""

    LONG = "long"
    MEDIUM = "medium"
    SHORT = "short"


FORMS: dict[int, tuple[Form, ...]] = {
    1: (Form.LONG,),
    2: (Form.LONG, Form.SHORT),
    3: (Form.LONG, Form.MEDIUM, Form.SHORT),
}
"""The forms of a line by how many phrases it has."""

_TOKEN = re.compile(r"#?[^\W_]+(?:['\u2019_-][^\W_]+)*")
_VALUE = re.compile(r"\{\{\s*(\w+).*?\}\}", re.S)
_TAG = re.compile(r"\{%-?(.*?)-?%\}", re.S)


@dataclass(frozen=True, slots=True)
class Found:
    """Something that a rule found. severity and remedy: None for those of the rule."""

    where: Where
    problem: str
    remedy: str | None = None
    severity: Severity | None = None


@dataclass(frozen=True)
class Said:
    """A phrase as it is heard. texts: on sample values, in each way that its ifs may turn.

    fault: what keeps one of these from being said.
    """

    line: BookLine
    phrase: Phrase
    form: Form
    own: bool
    texts: tuple[str, ...]
    fault: PhraseError | None = None

    @property
    def where(self) -> Where:
        text = self.texts[0] if self.texts else self.phrase.source
        return replace(self.line.where, column=None, text=text)

    @cached_property
    def words(self) -> str:
        return words_of(self.phrase)

    @cached_property
    def tokens(self) -> tuple[str, ...]:
        """The phrase's words without case and punctuation; a value is `#field`."""
        marked = _VALUE.sub(lambda value: f" #{value[1]} ", self.phrase.source)
        plain = _TAG.sub(lambda tag: f" #{'_'.join(re.findall(r'[a-z]+', tag[1]))} ", marked)
        return tuple(_TOKEN.findall(plain.casefold()))

    @cached_property
    def key(self) -> str:
        """Two phrases with the same key are the same words."""
        return " ".join(self.tokens)


def said_of(line: BookLine, *, own: bool) -> Iterator[Said]:
    """Yield the phrases of a line, said on sample values."""
    for phrase, form in zip(line.phrases, FORMS[len(line.phrases)], strict=True):
        try:
            yield Said(line, phrase, form, own, sample_texts(line, phrase))
        except PhraseError as bad:
            yield Said(line, phrase, form, own, (), bad)


@dataclass(frozen=True)
class Subject:
    """A book under examination.

    file: the book's own. said: its phrases, those it inherits first. whole: the book in
    use, None where it cannot be loaded; faults: why not. measure: a voice's length of a
    text, None to estimate it.
    """

    file: str
    said: tuple[Said, ...]
    whole: PhraseBook | None = None
    faults: tuple[PhraseError, ...] = ()
    measure: Callable[[str], int] | None = field(default=None, compare=False)

    @cached_property
    def own(self) -> tuple[Said, ...]:
        return tuple(said for said in self.said if said.own)

    @cached_property
    def by_kind(self) -> Mapping[str, list[Said]]:
        found: dict[str, list[Said]] = {}
        for said in self.said:
            found.setdefault(said.line.kind, []).append(said)
        return found

    def texts(self) -> tuple[str, ...]:
        """Return what a voice has to speak for `measure`, each text once."""
        return tuple(dict.fromkeys(text for said in self.own for text in said.texts))
