"""Phrases that say the same thing twice, or nearly.

Conventions
    Words are compared without case and punctuation. A value is what tells a line from
    another, so that only phrases with the same fields are near one another. Calls of
    firm kinds are meant to sound alike and are left out, and so are pairs of which one
    is for groups and the other for a rower alone: no session has both. Cautions name
    the same signs and may be near one another.

Source
    Nearness is rapidfuzz's token_sort_ratio, here as `ratio` over words sorted once,
    which is the same number for a fraction of the time. The threshold is ours: at 90
    per cent the pairs of the plain book differ by a word or two that change nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from rapidfuzz import fuzz, process

from cuegen.errors import Where
from cuegen.script.fields import FIELDS
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.lint_subject import Found, Said, Severity, Subject

NEAR_PERCENT = 90
LEAST_WORDS = 4
"""Shorter phrases are near one another by nature: they are compared for sameness only."""

_BLOCK = 256
"""Phrases compared with the rest at a time: half of all pairs are skipped, memory stays small."""

_SIGNS = {f"#{name}": chr(0xE000 + number) for number, name in enumerate(FIELDS)}
"""Values as single signs (of Unicode's private use area): a name's letters are not words."""


def said_twice(subject: Subject) -> Iterator[Found]:
    """Find phrases of the same words; in one kind they are an error, in two a warning."""
    by_words: dict[str, list[Said]] = {}
    for said in subject.said:
        if not CUE_KINDS[said.line.kind].firm and said.key:
            by_words.setdefault(said.key, []).append(said)
    for alike in by_words.values():
        for number, said in enumerate(alike):
            earlier = [other for other in alike[:number] if _may_meet(other, said)]
            if earlier and said.own:
                yield _twice(said, earlier)


def _twice(said: Said, earlier: Sequence[Said]) -> Found:
    same_kind = [other for other in earlier if other.line.kind is said.line.kind]
    other = (same_kind or earlier)[0]
    as_what = "" if same_kind else f" as {other.line.kind}"
    return Found(
        said.where,
        f"said already{as_what}, {_place(other.line.where, said)}",
        severity=Severity.ERROR if same_kind else None,
    )


def nearly_said_twice(subject: Subject) -> Iterator[Found]:
    """Find, for each phrase, the earlier one of its kind that is nearest to it."""
    for kind, said in subject.by_kind.items():
        spec = CUE_KINDS[said[0].line.kind]
        if not spec.firm and kind is not CueKind.CAUTION and any(one.own for one in said):
            yield from _near_in_kind([one for one in said if _word_count(one) >= LEAST_WORDS])


def _near_in_kind(said: Sequence[Said]) -> Iterator[Found]:
    nearest: dict[int, tuple[float, Said]] = {}
    for earlier, later, percent in near_pairs([one.tokens for one in said]):
        one, other = said[earlier], said[later]
        if other.own and _compared(one, other):
            nearest[later] = max(nearest.get(later, (0.0, one)), (percent, one), key=_percent)
    for later, (percent, one) in sorted(nearest.items(), key=lambda found: found[0]):
        this = said[later]
        yield Found(
            this.where,
            f"{percent:.0f} % the words of {one.where.text!r}, {_place(one.line.where, this)}",
        )


def near_pairs(tokens: Sequence[Sequence[str]]) -> Iterator[tuple[int, int, float]]:
    """Yield (earlier, later, per cent) of phrases at or over NEAR_PERCENT of one another."""
    texts = [_compact(words) for words in tokens]
    for first in range(0, len(texts), _BLOCK):
        ratios = process.cdist(
            texts[first : first + _BLOCK],
            texts[first:],
            scorer=fuzz.ratio,
            score_cutoff=NEAR_PERCENT,
            dtype=np.float32,
        )
        for earlier, later in np.argwhere(ratios):
            if earlier < later:
                yield first + int(earlier), first + int(later), float(ratios[earlier, later])


def _compact(tokens: Sequence[str]) -> str:
    """Return words in order of the alphabet, each value a single sign of its own."""
    return " ".join(sorted(_SIGNS.get(token, token) for token in tokens))


def _word_count(said: Said) -> int:
    return sum(not token.startswith("#") for token in said.tokens)


def _percent(found: tuple[float, Said]) -> float:
    return found[0]


def _compared(one: Said, other: Said) -> bool:
    """Return whether phrases may meet and name the same values, which else tell them apart."""
    same_values = one.phrase.fields == other.phrase.fields
    return same_values and one.key != other.key and _may_meet(one, other)


def _may_meet(one: Said, other: Said) -> bool:
    """Return whether one session may hold both."""
    who = {one.line.audience, other.line.audience} - {None}
    return len(who) < 2


def _place(where: Where, seen_from: Said) -> str:
    line = f"line {where.line}"
    if where.file == seen_from.line.where.file:
        return "in the same line" if where.line == seen_from.line.where.line else line
    return f"{where.file}, {line}"
