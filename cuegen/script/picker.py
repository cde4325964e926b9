"""Which words: a fresh line of the phrase book for every occasion, always the same for a plan.

The order in which lines are tried depends on the session's title and the cue's id
alone, so that an edit elsewhere rarely changes what is said here. Within a block
a quarter of the lines goes first each week, so that four sessions running begin
from different quarters. No text is handed out twice, but for firm cues that have
nothing else to say.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from hashlib import blake2b

from cuegen.plan.model import Session
from cuegen.script.book import BookLine, Occasion, PhraseBook
from cuegen.script.candidate import Wording
from cuegen.script.fields import Fields

QUARTERS = 4
"""Sessions of a block among which wordings should not repeat."""


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
    """Hands out wordings and remembers them."""

    book: PhraseBook
    session: Session
    _used: set[str] = field(default_factory=set)

    def wordings(
        self, cue_id: str, occasion: Occasion, readings: tuple[Reading, ...]
    ) -> tuple[Wording, ...]:
        """Return fresh wordings, the fullest first within each reading; none if all are used."""
        found: list[Wording] = []
        lines = self._in_turn(cue_id, self.book.suiting(occasion))
        for reading in readings:
            texts = self._fresh(lines, reading)
            self._used.update(texts)
            found += [Wording(text, reading.earliest_ms, reading.latest_ms) for text in texts]
        return tuple(found)

    def firm_texts(self, cue_id: str, occasion: Occasion, fields: Fields) -> list[str]:
        """Return the texts of one line, a fresh one if there is any."""
        lines = self._in_turn(cue_id, self.book.suiting(occasion))
        reading = Reading(fields, 0, 0)
        texts = self._fresh(lines, reading)
        if not texts:
            said = (_texts(line, reading) for line in lines if _speaks_of(line, reading))
            texts = next((each for each in said if each), [])
        self._used.update(texts)
        return texts

    def _in_turn(self, cue_id: str, lines: list[BookLine]) -> list[BookLine]:
        seed = f"{self.session.title}|{cue_id}|"
        block = self.session.block

        def turn(numbered: tuple[int, BookLine]) -> tuple[bool, bytes]:
            number, line = numbered
            waits = block is not None and (number - block.week) % QUARTERS != 0
            return waits, blake2b((seed + line.key).encode(), digest_size=8).digest()

        return [line for _, line in sorted(enumerate(lines), key=turn)]

    def _fresh(self, lines: list[BookLine], reading: Reading) -> list[str]:
        """Return the unused texts of the first line that is all new, else of the newest."""
        best: list[str] = []
        for line in lines:
            if not _speaks_of(line, reading):
                continue
            texts = _texts(line, reading)
            new = [text for text in texts if text not in self._used]
            if texts and len(new) == len(texts):
                return new
            best = max(best, new, key=len)
        return best


def _speaks_of(line: BookLine, reading: Reading) -> bool:
    return line.fields <= reading.fields.keys() and reading.must <= line.fields


def _texts(line: BookLine, reading: Reading) -> list[str]:
    phrases = line.phrases[1:] if reading.brief and len(line.phrases) > 1 else line.phrases
    said = (phrase.say(reading.fields) for phrase in phrases)
    return list(dict.fromkeys(text for text in said if text))
