"""The claims that lie in numbers: a pattern for each, and what it is compared with.

Conventions
    Patterns are for texts in small letters and are tried in order; what one has
    understood is taken out before the next. A claim without kinds is understood in
    cues of any kind. PLAIN are number words that say nothing of the session ("one
    long note"), each in the kinds that use it so, tried last.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from cuegen.script.kinds import CueKind
from tests.script.moment import Moment
from tests.script.words import (
    BAND,
    CARDINAL,
    FLAT,
    SPLIT,
    STEP,
    TIME,
    number,
    split_ms,
    step_ms,
    time_ms,
)

Check = Callable[[Moment, re.Match[str]], Iterator[str]]


@dataclass(frozen=True)
class Claim:
    """kinds: the only ones in which words of this form are this claim; empty for all."""

    pattern: re.Pattern[str]
    check: Check
    kinds: frozenset[CueKind] = frozenset()


def _claim(pattern: str, check: Check, *kinds: CueKind) -> Claim:
    return Claim(re.compile(pattern), check, frozenset(kinds))


def _compare(what: str, said: float, true: float | None, by: float = 0) -> Iterator[str]:
    if true is None or abs(said - true) > by:
        yield f"{what} {said:g} is said, {true} is true"


def _split(told: Moment, found: re.Match[str]) -> Iterator[str]:
    said, true = split_ms(found[0]), told.segment.split_ms
    if said is None or true is None or said != (true + 50) // 100 * 100:
        yield f"split {said} is said, {true} is true"


def _step(told: Moment, found: re.Match[str]) -> Iterator[str]:
    about, said = step_ms(found[0])
    yield from _compare("a step of", said, told.step_ms, 550 if about else 51)


def _last_change(told: Moment, found: re.Match[str]) -> Iterator[str]:
    """ "A second quicker than last time": against what each rower held then."""
    about, said = step_ms(found[0].split(" than ")[0])
    yield from _compare("off the last split by", said, told.last_change_ms, 550 if about else 51)
    if found["at"]:
        yield from _compare("a split held at", number(found["at"]), told.last_rate)


def _percent(told: Moment, found: re.Match[str]) -> Iterator[str]:
    yield from _compare("effort", number(found[1]), told.segment.effort_pct)


def _metres(told: Moment, found: re.Match[str]) -> Iterator[str]:
    said, segment = number(found[2]), told.segment
    if told.kind is not CueKind.DISTANCE_LEFT:
        yield from _compare("metres", said, segment.metres, 0.06)
        return
    if found[1] != "about":
        yield "metres left are only expected"
    part = (segment.end_ms - told.at_ms) / (segment.end_ms - segment.start_ms)
    yield from _compare("metres left", said, segment.metres * part, said / 10)


def _watts(told: Moment, found: re.Match[str]) -> Iterator[str]:
    yield from _compare("watts", number(found[1]), told.segment.watts, 1)


def _strokes(told: Moment, found: re.Match[str]) -> Iterator[str]:
    """Strokes of the segment; in a time check those that are left."""
    said, segment = number(found[1]), told.segment
    if told.kind not in (CueKind.TIME_LEFT, CueKind.SEGMENT_HALFWAY):
        yield from _compare("strokes", said, segment.strokes, 3)
        return
    if segment.rate is None or "-" in segment.rate:
        yield "strokes left are said without one rate to count them by"
        return
    rate = int(segment.rate)
    left = rate * (told.sheet.segments[told.heard].end_ms - told.at_ms) / 60_000
    by = (2.5 if said >= 40 else 0.5) + rate / 60 + 1e-6  # its rounding, and one second
    yield from _compare("strokes left", said, left, by)


def _time(told: Moment, found: re.Match[str]) -> Iterator[str]:
    near, said = time_ms(found[0])
    if told.kind is CueKind.QUIET:
        return  # judged with the silence that it announces
    if told.kind in (CueKind.TIME_LEFT, CueKind.GET_READY, CueKind.SEGMENT_HALFWAY):
        ends = told.kind is not CueKind.GET_READY
        end_ms = told.sheet.segments[told.heard].end_ms if ends else told.segment.start_ms
        true, lower, upper = end_ms - told.at_ms, 1_000, 1_000
        if near in ("just over", "just under"):
            lower, upper = (0, 15_000) if near == "just over" else (10_000, 0)
    elif told.kind in (CueKind.WELCOME, CueKind.RESULTS):
        true = told.sheet.row_end_ms - told.sheet.lead_in_ms
        lower = upper = 30_000 if near == "about" else 500
    else:
        true, lower, upper = told.segment.end_ms - told.segment.start_ms, 500, 500
    if not said - lower <= true <= said + upper:
        yield f"{near} {said} ms is said, {true} ms is true"


def _pieces(told: Moment, found: re.Match[str]) -> Iterator[str]:
    yield from _compare("pieces", number(found[1]), len(told.pieces))


def _piece(told: Moment, found: re.Match[str]) -> Iterator[str]:
    yield from _compare("piece", number(found[1]), told.piece)


def _piece_of(told: Moment, found: re.Match[str]) -> Iterator[str]:
    """ "Page two of four": in a piece the number of it, in a break how many are done."""
    true = len(told.ended) if told.piece is None or found[1] else told.piece
    yield from _compare("piece", number(found[2]), true)
    yield from _compare("pieces", number(found[3]), len(told.pieces))


def _done(told: Moment, found: re.Match[str]) -> Iterator[str]:
    yield from _compare("done", number(found[1]), len(told.ended))


def _ahead(told: Moment, found: re.Match[str]) -> Iterator[str]:
    yield from _compare("ahead", number(found[1]), len(told.coming))


def _said_rate(low: str, high: str | None) -> str:
    return f"{number(low)}-{number(high)}" if high else str(number(low))


def _rate(told: Moment, found: re.Match[str]) -> Iterator[str]:
    said = _said_rate(found[1], found[2])
    if said != told.segment.rate:
        yield f"rate {said} is said, {told.segment.rate} is true"


def _from_rate(told: Moment, found: re.Match[str]) -> Iterator[str]:
    """ "From rate eighteen to rate twenty": the rate before, and the one that comes."""
    before = told.rowed_before.rate if told.rowed_before else None
    for said, true in ((found[1], before), (found[2], told.segment.rate)):
        if str(number(said)) != true:
            yield f"rate {number(said)} is said, {true} is true"


def _last_rate(told: Moment, found: re.Match[str]) -> Iterator[str]:
    yield from _compare("a split held at", number(found[1]), told.last_rate)


_COUNTED = (CueKind.PROGRESS, CueKind.SEGMENT_END)
_CALLED = (CueKind.RATE_CHANGE, CueKind.GET_READY)

_IS_DONE = (
    "done|behind|before|finished|rowed|banked|ticked|clean|dry|eaten|filed|paid|in the bag"
    "|filed|plus this"
)
_THAT_IS_DONE = (
    "so far|makes|done|tally|scoreboard|stack|bill so far|home and dry|past the post|in the box"
    "|counted(?: off)?|chapters(?: closed)?|station|cross off"
)
_IS_AHEAD = (
    "more|ahead|after|left|later|can wait|blank|due|served|hanging|to (?:come|go|follow|play"
    "|sharpen)|on (?:the (?:bill|shelf|list|plate|line)|order)|in the queue"
)
_THAT_IS_AHEAD = (
    "still (?:out|on the tab|to (?:chalk|count|pack))|to (?:chalk|pack|open)"
    "|the (?:list|shelf|tab)|in the (?:queue|stalls)|queue|ahead|then"
)

CLAIMS: tuple[Claim, ...] = (
    _claim(FLAT, _split),
    _claim(
        rf"{STEP} than (?:you held at (?P<at>{CARDINAL})|last time|your last split)", _last_change
    ),
    _claim(STEP, _step),
    _claim(rf"({CARDINAL}) percent\b", _percent),
    _claim(rf"(?:\b(about) )?({CARDINAL}) metres?\b", _metres),
    _claim(rf"({CARDINAL}) watts?\b", _watts),
    _claim(rf"\babout ({CARDINAL}) strokes?\b", _strokes),
    _claim(TIME, _time),
    _claim(SPLIT, _split),
    _claim(rf"({CARDINAL}) pieces\b", _pieces),
    _claim(rf"\b(so far, )?(?:piece )?({CARDINAL}) of ({CARDINAL})", _piece_of),
    _claim(rf"\bpiece ({CARDINAL})", _piece),
    _claim(rf"\bfrom rate ({CARDINAL}) to rate ({CARDINAL})", _from_rate),
    _claim(rf"\b(?:held at|from(?: rate)?) ({CARDINAL})", _last_rate),
    _claim(rf"\brate(?: up| down| here)?,? {BAND}", _rate),
    _claim(rf"\b(?:page|floor|lap) ({CARDINAL})", _piece, CueKind.PROGRESS),
    _claim(rf"({CARDINAL}),? (?:still )?(?:{_IS_AHEAD})\b", _ahead, CueKind.PROGRESS),
    _claim(rf"({CARDINAL}),? (?:{_IS_DONE})\b", _done, *_COUNTED),
    _claim(rf"\b(?:{_THAT_IS_AHEAD})[,:]? ({CARDINAL})", _ahead, CueKind.PROGRESS),
    _claim(rf"\b(?:{_THAT_IS_DONE})[,:]? ({CARDINAL})", _done, *_COUNTED),
    _claim(rf"\bat (?!one\b){BAND}", _rate),
    _claim(BAND, _rate, *_CALLED),
)

_ALL = frozenset(CueKind)
_UNCOUNTED = _ALL - {*_COUNTED, *_CALLED, CueKind.START, CueKind.TIME_LEFT}
_FEW = {CueKind.TECHNIQUE, CueKind.SETTLE, CueKind.RESULTS}

PLAIN: tuple[tuple[re.Pattern[str], frozenset[CueKind] | set[CueKind]], ...] = (
    (re.compile(r"\b(?:the|this|that|last|next|each|every|another) one\b"), _ALL),
    (re.compile(r"\b(?:good|quiet|long|far) one\b"), _UNCOUNTED),
    (re.compile(r"\b(?:in|as|are|at|all in) one\b(?! \w+ (?:done|left))"), _UNCOUNTED),
    (re.compile(r"\bone (?!of\b|done\b|left\b|ahead\b|more\b|to go\b|behind\b)[a-z]+"), _UNCOUNTED),
    (re.compile(r"\bthe two\b(?! (?:minutes|pieces|hundred))"), _FEW),
    (re.compile(r"\bcount (?:ten|four) (?:slow )?(?:strokes|breaths)\b|\bten alike\b"), _FEW),
    (re.compile(r"\bfour quiet breaths\b|\bthree words\b"), _FEW),
)
