"""Rules about single words, how lines begin, and how much there is to say.

Sources
    The thresholds are ours. LEAST_WORDINGS: an hour with an occasion every few
    minutes, four sessions running, comes back to a dozen wordings soon enough.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from cuegen.errors import Where
from cuegen.script.kinds import CUE_KINDS, CueKind, hearers
from cuegen.script.lint_subject import Form, Found, Said, Subject
from cuegen.script.phrase import unspeakable

LEAST_WORDINGS = 12
LEAST_THEME_WORDINGS = 8

OPENING_PERCENT = 30
OPENING_LEAST_LINES = 10
"""With fewer lines than this, a share says nothing."""

_WORD = re.compile(r"[^\W\d_]+")


def unloadable(subject: Subject) -> Iterator[Found]:
    """Pass on what keeps a book from being loaded."""
    for fault in subject.faults:
        yield Found(fault.where, fault.problem, fault.remedy)


def signs(subject: Subject) -> Iterator[Found]:
    """Find what no voice can say, in branches of an `if` too that loading does not try."""
    for said in subject.own:
        odd = unspeakable(f"a {said.words}")  # a phrase may be a value alone
        if any(sign.isdigit() for sign in odd):
            yield Found(said.where, f"{odd!r} is no word", "Write the number in words.")
        elif odd:
            yield Found(said.where, f"{odd!r} cannot be spoken")
        elif said.fault is not None:
            yield Found(said.where, said.fault.problem, said.fault.remedy)


def capitals(subject: Subject) -> Iterator[Found]:
    """Find words in capitals alone: a voice spells them, or shouts them."""
    for said in subject.own:
        loud = [word for word in _WORD.findall(said.words) if len(word) > 1 and word.isupper()]
        if loud:
            yield Found(said.where, f"{', '.join(dict.fromkeys(loud))} in capitals")


def exclamations(subject: Subject) -> Iterator[Found]:
    """Find exclamation marks."""
    for said in subject.own:
        if "!" in said.words:
            yield Found(said.where, "an exclamation mark")


def openings(subject: Subject) -> Iterator[Found]:
    """Find first words that too many lines of a kind share, of technique by theme."""
    groups: dict[str, list[Said]] = {}
    for said in subject.said:
        if said.form is Form.LONG and said.tokens and not CUE_KINDS[said.line.kind].firm:
            named = f"{said.line.kind} ({said.line.theme})" if said.line.theme else said.line.kind
            groups.setdefault(named, []).append(said)
    for named, lines in groups.items():
        yield from _worn_openings(named, lines)


def _worn_openings(named: str, lines: list[Said]) -> Iterator[Found]:
    if len(lines) < OPENING_LEAST_LINES or not any(said.own for said in lines):
        return
    firsts = Counter(said.tokens[0] for said in lines)
    for word, count in firsts.items():
        percent = 100 * count / len(lines)
        if percent < OPENING_PERCENT or word.startswith("#"):
            continue
        opened = (said for said in lines if said.own and said.tokens[0] == word)
        for first in list(opened)[:1]:
            yield Found(
                first.where,
                f"{word.capitalize()!r} begins {count} of {len(lines)} lines of {named}, "
                f"{percent:.0f} %",
            )


def thin(subject: Subject) -> Iterator[Found]:
    """Find kinds, cases and themes of the book that have too little to say."""
    if subject.whole is None:
        return
    where = Where(file=subject.file)
    touched = {said.line.kind for said in subject.own}
    for kind, said in subject.by_kind.items():
        spec = CUE_KINDS[said[0].line.kind]
        if kind in touched and kind is not CueKind.BEAT:  # a beat is its number
            for case in spec.cases or (None,):
                yield from _thin_case(said, case, where)
    yield from _thin_themes(subject, where)


def _thin_case(said: list[Said], case: str | None, where: Where) -> Iterator[Found]:
    fitting = [one for one in said if one.line.when in (None, case)]
    counts = {
        who: len({one.key for one in fitting if one.line.audience in (None, who)})
        for who in hearers(case)
    }
    who = min(counts, key=lambda who: counts[who])
    if counts[who] < LEAST_WORDINGS:
        named = f"{said[0].line.kind} ({case})" if case else said[0].line.kind
        only = "" if len(set(counts.values())) == 1 else f" for {who}"
        yield Found(where, f"{named} has {_counted(counts[who])}{only}")


def _thin_themes(subject: Subject, where: Where) -> Iterator[Found]:
    own = {said.line.theme for said in subject.own if said.line.theme}
    said = [one for one in subject.said if one.line.theme in own]
    for theme in sorted(own):
        keys = {one.key for one in said if one.line.theme == theme}
        if len(keys) < LEAST_THEME_WORDINGS:
            yield Found(
                where,
                f"the theme {theme} has {_counted(len(keys))}",
                f"Give it {LEAST_THEME_WORDINGS} or more.",
            )


def _counted(wordings: int) -> str:
    return f"{wordings} wording{'' if wordings == 1 else 's'}"
