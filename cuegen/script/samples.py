"""A phrase on sample values: what a line sounds like without a session to say it in.

Conventions
    The values are those of cuegen.script.fields. A phrase with an `if` turns on words
    of which there are few, or on numbers that may be equal: it is said with each of
    OTHERWISE. `words` of a phrase are what stands outside its brackets, whatever an
    `if` would choose.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import product

from cuegen.plan.model import Audience, Rate
from cuegen.script.book import BookLine
from cuegen.script.fields import FIELDS, Fields, Value
from cuegen.script.phrase import Phrase
from cuegen.script.placeholders import Placeholders

OTHERWISE: dict[str, tuple[Value, ...]] = {
    "audience": tuple(Audience),
    "step": ("up", "same", "down"),
    "last_rate": (Rate(22, 22), Rate(20, 20)),
    "previous_rate": (Rate(18, 18), Rate(20, 20)),
    "piece": (2, 1, 4),
    "done": (2, 1),
    "ahead": (2, 1),
}
"""What an `if` may turn on: other than the sample, and equal to what it is compared with."""

_BRACKETS = re.compile(r"\{\{.*?\}\}|\{%.*?%\}|\{#.*?#\}", re.S)


def sample_texts(line: BookLine, phrase: Phrase) -> tuple[str, ...]:
    """Return each different thing a phrase says on sample values; nothing is left out but silence.

    Raises PhraseError where one of them cannot be spoken.
    """
    values = {name: FIELDS[name].sample for name in phrase.fields}
    said = (phrase.say(values | turn) for turn in _turns(line, phrase))
    return tuple(dict.fromkeys(text for text in said if text))


def _turns(line: BookLine, phrase: Phrase) -> Iterator[Fields]:
    """Yield the values that an `if` of a phrase is tried with."""
    if isinstance(phrase.form, Placeholders):
        yield {}
        return
    choices = OTHERWISE | ({"audience": (str(line.audience),)} if line.audience else {})
    names = [name for name in choices if name in phrase.fields]
    for turn in product(*(choices[name] for name in names)):
        yield dict(zip(names, turn, strict=True))


def words_of(phrase: Phrase) -> str:
    """Return the words of a phrase outside its brackets, on one line."""
    return " ".join(_BRACKETS.sub(" ", phrase.source).split())
