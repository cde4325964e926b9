"""Which words: a fresh line of the phrase book for every occasion, always the same for a plan.

The order in which lines are tried depends on the session's title and the cue's id
alone, so that an edit elsewhere rarely changes what is said here; lines spoken from
before, with other numbers, come after fresh ones. Within a block
a quarter of the lines goes first each week, so that sessions compiled without a
memory begin from different quarters too. No text is handed out twice in a session,
nor one that was heard in the sessions remembered, but for firm cues that have
nothing else to say. A rower's name is used sparingly.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from hashlib import blake2b

from cuegen.plan.model import Session
from cuegen.script.book import BookLine, Occasion, PhraseBook
from cuegen.script.candidate import Wording
from cuegen.script.fields import Fields

QUARTERS = 4
"""Sessions of a block among which wordings should not repeat."""

PARTS = ((100,), (100, 72), (100, 85, 60))
"""What the phrases of a line are worth, in per cent: with one, two, three of them."""

LATER_READING = 90
"""A reading that is not the first ("just over a minute") is worth a little less."""

NAME_FIELD = "rower"
MOST_NAMES = 5
"""Lines of one session that say the rower's name: heard more often, it wears thin."""

_WORDS = re.compile(r"[^\W_]+(?:'[^\W_]+)*")


@dataclass(frozen=True, slots=True)
class Reading:
    """Values that are true for onsets from earliest_ms to latest_ms, both included.

    must: fields that a line has to mention. brief: leave the fullest phrase out.
    """

    fields: Fields
    earliest_ms: int
    latest_ms: int
    must: frozenset[str] = frozenset()
    brief: bool = False


@dataclass(slots=True)
class Picker:
    """Hands out wordings and remembers them. heard: texts, by `same_words`, not to be repeated."""

    book: PhraseBook
    session: Session
    heard: frozenset[str] = frozenset()
    _used: set[str] = field(default_factory=set)
    _names: int = 0
    _lines: Counter[str] = field(default_factory=Counter)

    def wordings(
        self, cue_id: str, occasion: Occasion, readings: tuple[Reading, ...]
    ) -> tuple[Wording, ...]:
        """Return fresh wordings, the fullest first within each reading; none if all are used."""
        found: list[Wording] = []
        lines = self._least_used(self._in_turn(cue_id, self.book.suiting(occasion)))
        for number, reading in enumerate(readings):
            texts = self._fresh(lines, reading)
            self._take(texts, again=number > 0)
            found += [
                Wording(
                    each.text,
                    reading.earliest_ms,
                    reading.latest_ms,
                    each.part if number == 0 else each.part * LATER_READING // 100,
                )
                for each in texts
            ]
        return tuple(found)

    def is_name_due(self) -> bool:
        """Return whether the rower may be named once more."""
        return self._names < MOST_NAMES

    def firm_texts(self, cue_id: str, occasion: Occasion, fields: Fields) -> list[str]:
        """Return the texts of one line, a fresh one if there is any."""
        lines = self._least_used(self._in_turn(cue_id, self.book.suiting(occasion)))
        reading = Reading(fields, 0, 0)
        texts = self._fresh(lines, reading)
        if not texts:
            said = (_texts(line, reading) for line in lines if _speaks_of(line, reading))
            texts = next((each for each in said if each), [])
        self._take(texts)
        return [each.text for each in texts]

    def _take(self, texts: list[_Text], *, again: bool = False) -> None:
        """Note texts as used. again: for a further reading of a cue, whose line counts once."""
        if not again:
            self._lines.update({each.line for each in texts})
        self._used.update(same_words(each.text) for each in texts)
        self._names += any(each.named for each in texts)

    def _is_fresh(self, text: str) -> bool:
        words = same_words(text)
        return words not in self._used and words not in self.heard

    def _in_turn(self, cue_id: str, lines: list[BookLine]) -> list[BookLine]:
        block = self.session.block
        turn_of_block = 0 if block is None else (block.week - 1) // QUARTERS
        seed = f"{self.session.title}|{turn_of_block}|{cue_id}|"

        def turn(numbered: tuple[int, BookLine]) -> tuple[bool, bytes]:
            number, line = numbered
            waits = block is not None and (number - block.week) % QUARTERS != 0
            return waits, blake2b((seed + line.key).encode(), digest_size=8).digest()

        return [line for _, line in sorted(enumerate(lines), key=turn)]

    def _least_used(self, lines: list[BookLine]) -> list[BookLine]:
        """Return the lines, those first that were least often spoken from in this session."""
        return sorted(lines, key=lambda line: self._lines[line.key])

    def _fresh(self, lines: list[BookLine], reading: Reading) -> list[_Text]:
        """Return the unused texts of the first line that is all new, else of the newest."""
        best: list[_Text] = []
        for line in lines:
            if not _speaks_of(line, reading):
                continue
            if NAME_FIELD in line.fields and not self.is_name_due():
                continue
            texts = _texts(line, reading)
            new = [each for each in texts if self._is_fresh(each.text)]
            if texts and len(new) == len(texts):
                return new
            best = max(best, new, key=len)
        return best


@dataclass(frozen=True, slots=True)
class _Text:
    """A wording with its part of the cue's worth, and the key of its line.

    named: it says the rower's name.
    """

    text: str
    part: int
    named: bool
    line: str


def same_words(text: str) -> str:
    """Return a text as it is compared with others: its words alone, in small letters."""
    return " ".join(_WORDS.findall(text.casefold()))


def _speaks_of(line: BookLine, reading: Reading) -> bool:
    return line.fields <= reading.fields.keys() and reading.must <= line.fields


def _texts(line: BookLine, reading: Reading) -> list[_Text]:
    """Return what a line comes to, each text once; without the fullest for a brief reading."""
    parts = PARTS[len(line.phrases) - 1]
    found: dict[str, _Text] = {}
    for number, phrase in enumerate(line.phrases):
        if number == 0 and reading.brief and len(line.phrases) > 1:
            continue
        text = phrase.say(reading.fields)
        if text:
            named = NAME_FIELD in phrase.fields
            found.setdefault(text, _Text(text, parts[number], named, line.key))
    return list(found.values())
