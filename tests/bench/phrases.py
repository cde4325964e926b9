"""The lint of a book of 5,000 phrases of nine made-up words.

The peer is rapidfuzz alone, scoring every phrase against every other: what a search for
near twins that knew no better would do.
"""

from __future__ import annotations

import random
from time import perf_counter

from rapidfuzz import fuzz, process

from cuegen.errors import PhraseError
from cuegen.script.book import PhraseBook
from cuegen.script.booklines import lines_of_book
from cuegen.script.lint import lint
from cuegen.script.lint_subject import Subject, said_of
from cuegen.script.yamltree import read_document

PHRASES = 5_000
_WORDS = [f"{a}{b}" for a in "bcdfghjklmnprst" for b in ("at", "ell", "ing", "oom", "ush")]
_NEAR = 90.0


def linted() -> dict[str, float]:
    """Return the seconds of the lint and of the peer."""
    chance = random.Random(1)
    phrases = [f"{' '.join(chance.choices(_WORDS, k=9))}." for _ in range(PHRASES)]
    rows = "".join(f"      {phrase}\n" for phrase in phrases)
    text = f"technique:\n  - theme: catch\n    lines: |\n{rows}"
    document = read_document(text, "ours.yaml", PhraseError)
    lines = lines_of_book(document.root, document, "en")
    said = tuple(one for line in lines for one in said_of(line, own=True))
    assert len(said) == PHRASES
    start = perf_counter()
    lint(Subject("ours.yaml", said, PhraseBook("ours", "en", ())))
    lint_s = perf_counter() - start
    start = perf_counter()
    process.cdist(phrases, phrases, scorer=fuzz.ratio, score_cutoff=_NEAR)
    return {"phrases": PHRASES, "lint_s": lint_s, "peer_s": perf_counter() - start}
