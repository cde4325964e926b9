"""What to say where the grammar of the notation has no place for a text: never lark's own words."""

from __future__ import annotations

import re

from lark.exceptions import UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from cuegen.errors import PlanError
from cuegen.plan.model import SegmentKind
from cuegen.plan.notation_values import AIM_FORMS, LENGTH_FORMS
from cuegen.plan.source import Source

_LABELS = {kind.value for kind in SegmentKind}


def unexpected(source: Source, bad: UnexpectedInput) -> PlanError:
    """Return our own words for text that the grammar has no place for."""
    at = bad.pos_in_stream or 0
    if isinstance(bad, UnexpectedToken):
        allowed = set(bad.accepts or bad.expected)
        if bad.token.type == "$END":
            return _ended_early(source, len(source.text), allowed)
        if bad.token.type == "_NEWLINE":
            return _ended_early(source, at, allowed)
    else:
        assert isinstance(bad, UnexpectedCharacters)
        allowed = set(bad.allowed or ())
    start, end = _word_at(source.text, at)
    word = source.text[start:end]
    return source.error("this has no place here", start, end, _hint(word, allowed))


def _ended_early(source: Source, at: int, allowed: set[str]) -> PlanError:
    start = source.text.rfind("\n", 0, at) + 1
    line = source.text[start:at].split("#")[0]
    begin = start + len(line) - len(line.lstrip())
    return source.error(
        "this line ends too early", begin, start + len(line.rstrip()), _may_stand(allowed)
    )


def _word_at(text: str, at: int) -> tuple[int, int]:
    """Return the span of the word around an offset, up to white space or a comma."""
    start = at
    while start > 0 and not re.match(r"[\s,]", text[start - 1]):
        start -= 1
    end = at + 1
    while end < len(text) and not re.match(r"[\s,]", text[end]):
        end += 1
    return start, end


def _hint(word: str, allowed: set[str]) -> str:
    if "CLOCK" in allowed and "LAST" not in allowed and re.match(r"r\s*[0-9]|@", word, re.I):
        return f"The length comes first: 4:00 {word}."
    if re.fullmatch(r"[^\W\d_-]+(-[^\W\d_]+)?:", word):
        return "Leave out the colon after the label."
    plain = word.lower().rstrip(":,")
    if plain in _LABELS and "_COMMA" in allowed:
        return f"A break has a comma before it: `, {plain} 1:30`; an entry has its own line."
    if plain in _LABELS and "CLOCK" in allowed:
        return f"The label comes first: {plain} 4 x 4:00."
    return _may_stand(allowed)


def _may_stand(allowed: set[str]) -> str:
    found = (words for token, words in _MAY_STAND.items() if token in allowed)
    if allowed == {"QUANTITY"}:
        return "Seconds faster or slower than last time carry their s: @last r20-1s, @last+2-1s."
    return next(found, "Here stands a number.")


_MAY_STAND = {
    "LAST": AIM_FORMS,
    "CLOCK": f"Here stands a length. {LENGTH_FORMS}",
    "NAME": "Here stands a technique theme, e.g. (catch).",
    "_AT": "After the length may stand a rate (r20), a target (@2:05), an effort (70%), "
    "a theme ((catch)) and a break (, paddle 1:30).",
    "_CLOSE": "A theme is one or more words, a list has /, and all stand in ( ).",
}
"""What to say where one of these may stand, the first that fits."""
