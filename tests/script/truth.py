"""Is what a cue says true at the instant at which it is heard?

Conventions
    An ear of its own: English number words are read here by a grammar written for
    the tests, sharing nothing with cuegen.script, and compared with the segments
    of the sheet. `false_statements` gives a sentence for each claim that is false
    and for each number that no pattern understands; an empty list means that all
    was understood and true.

Tolerances
    A time left: 1 s; "just over" 0 to 15 s above, "just under" 0 to 10 s below.
    Metres left: a tenth. Strokes: the round figure, 3. Splits: the tenth.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from cuegen.plan.model import SegmentKind
from cuegen.schedule.cuesheet import Cue, CueSheet, SheetSegment
from cuegen.script.kinds import CueKind

_ONES = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
_TEENS = [
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
VALUES = (
    {word: value for value, word in enumerate(_ONES)}
    | {word: value for value, word in enumerate(_TEENS, start=10)}
    | {word: 10 * value for value, word in enumerate(_TENS, start=2)}
)

ONE = f"(?:{'|'.join(_ONES)})"
UNDER_100 = f"(?:(?:{'|'.join(_TENS)})(?:-{ONE})?|(?:{'|'.join(_TEENS)})|{ONE})"
UNDER_1000 = f"(?:{ONE} hundred(?: and {UNDER_100})?|{UNDER_100})"
CARDINAL = f"(?:{UNDER_1000} thousand(?: and {UNDER_100}| {UNDER_1000})?|{UNDER_1000})"
BAND = f"({CARDINAL})(?: to ({CARDINAL}))?"
NEAR = "(?:(just over|just under|about) )?"
SPLIT = (
    rf"\b({ONE}|ten) (oh oh|oh {ONE}|(?:{'|'.join(_TEENS)})|(?:{'|'.join(_TENS[:4])})(?:-{ONE})?)"
    rf"(?: point ({ONE}))?(?! (?:percent|metre|watt|second|minute|stroke|hundred|thousand))\b"
)
FLAT = rf"\b({CARDINAL}) minutes? flat\b"


def number(words: str) -> int:
    """Return the value of a cardinal in words."""
    total = part = 0
    for word in re.findall(r"[a-z]+", words.lower()):
        if word == "thousand":
            total, part = (total + part) * 1000, 0
        elif word == "hundred":
            part *= 100
        elif word != "and":
            part += VALUES[word]
    return total + part


def split_ms(words: str) -> int | None:
    """Return the milliseconds of a spoken split, None where it is none."""
    flat = re.fullmatch(FLAT, words.lower())
    if flat:
        return number(flat[1]) * 60_000
    found = re.fullmatch(SPLIT, words.lower())
    if not found:
        return None
    seconds = 0 if found[2] == "oh oh" else number(found[2].removeprefix("oh "))
    tenths = number(found[3]) if found[3] else 0
    return number(found[1]) * 60_000 + seconds * 1000 + tenths * 100


_HOURS = re.compile(rf"({CARDINAL}) hours?")
_MINUTES = re.compile(rf"({CARDINAL}|a) minutes?(?: ({CARDINAL})(?! (?:second|minute|hour)))?")
_SECONDS = re.compile(rf"({CARDINAL}) seconds?")


def time_ms(words: str) -> tuple[str, int]:
    """Return the nearness ("", "just over", ...) and the milliseconds of a spoken time."""
    found = re.fullmatch(rf"{NEAR}(.*)", words.lower())
    assert found is not None
    near, rest = found[1] or "", found[2]
    total = 0
    if hours := _HOURS.search(rest):
        total += number(hours[1]) * 3_600_000
        rest = rest[hours.end() :]
    if minutes := _MINUTES.search(rest):
        total += (1 if minutes[1] == "a" else number(minutes[1])) * 60_000
        total += number(minutes[2]) * 1000 if minutes[2] else 0
        rest = rest[minutes.end() :]
    if seconds := _SECONDS.search(rest):
        total += number(seconds[1]) * 1000
    return near, total


def step_ms(words: str) -> tuple[bool, int]:
    """Return whether a step is given as about, and its milliseconds, negative for quicker."""
    found = re.fullmatch(_STEP, words.lower())
    assert found is not None
    size = 500 if found[2] else number(found[3]) * 1000 + (500 if found[4] else 0)
    return bool(found[1]), -size if found[5] == "quicker" else size


_SPOKEN_TIME = (
    rf"\b{NEAR}(?:(?:{CARDINAL}) hours?(?: (?:{CARDINAL}) minutes?(?: {CARDINAL})?"
    rf"| (?:{CARDINAL}) seconds?)?"
    rf"|(?:{CARDINAL}) minutes?(?: {CARDINAL}(?! percent))?|(?<=over |nder |bout )a minute"
    rf"|(?:{CARDINAL}) seconds?)\b"
)
_STEP = rf"\b(about )?(?:(half a) second|({CARDINAL})( and a half)? seconds?) (quicker|slower)\b"
_PRONOUN = re.compile(
    r"\b(?:the|this|next|last|that|new) one\b(?! (?:minute|second|hundred|piece|hour|point|oh))"
    r"|\bone stroke after another\b|\bone idea\b"
)
_NUMBERISH = re.compile(rf"\b(?:{'|'.join(VALUES)}|hundred|thousand|oh)\b")

FREE_KINDS = {
    CueKind.OWN,
    CueKind.TECHNIQUE,
    CueKind.SETTLE,
    CueKind.LAST_PIECE,
    CueKind.OFFER,
    CueKind.COOL_DOWN,
    CueKind.RESULTS,
    CueKind.CAUTION,
}
"""Kinds whose lines use number words as words ("one even glide")."""


@dataclass(frozen=True)
class _Heard:
    """A cue with the segment it is heard in and the one it speaks of."""

    sheet: CueSheet
    cue: Cue
    heard: int
    about: int

    @property
    def segment(self) -> SheetSegment:
        return self.sheet.segments[self.about]

    def pieces(self) -> list[int]:
        rows = enumerate(self.sheet.segments)
        return [number for number, s in rows if s.kind is SegmentKind.ROW]


def false_statements(sheet: CueSheet) -> list[str]:
    """Return a sentence for every claim of a sheet's cues that is not true where it stands."""
    return [
        f"{cue.id} at {cue.at_ms} ms, {cue.text!r}: {fault}"
        for cue in sheet.cues
        for fault in _faults(_placed(sheet, cue))
    ]


def _placed(sheet: CueSheet, cue: Cue) -> _Heard:
    inside = (n for n, s in enumerate(sheet.segments) if cue.at_ms < s.end_ms)
    heard = next(inside, len(sheet.segments) - 1)
    about = heard
    ahead = cue.kind in (CueKind.GOAL, CueKind.GET_READY)
    waits = cue.kind is CueKind.TIME_LEFT and "piece" in cue.text.lower()
    if (ahead and cue.at_ms >= sheet.lead_in_ms) or (
        waits and sheet.segments[heard].kind is not SegmentKind.ROW
    ):
        about += 1
    elif cue.kind is CueKind.EXPECTED_END:
        ended = [n for n, s in enumerate(sheet.segments) if s.end_ms <= cue.at_ms]
        about = ended[-1] if ended else heard
    return _Heard(sheet, cue, heard, min(about, len(sheet.segments) - 1))


def _faults(told: _Heard) -> Iterator[str]:
    text = told.cue.text.lower()
    if told.cue.kind is CueKind.BEAT:
        yield from _beat(told, text.strip(" .!"))
        return
    if told.cue.kind in FREE_KINDS:
        return
    yield from _halfway(told, text)
    yield from _expected(told)
    text = _PRONOUN.sub("", text)
    for pattern, check in _CLAIMS:
        for found in re.finditer(pattern, text):
            yield from check(told, found)
        text = re.sub(pattern, "", text)
    if left := _NUMBERISH.findall(text):
        yield f"nobody understands {left}"


def _beat(told: _Heard, word: str) -> Iterator[str]:
    at_ms = told.cue.at_ms
    starts = {s.start_ms for s in told.sheet.segments}
    if word == "go":
        if at_ms not in starts:
            yield "no segment starts here"
        return
    if word not in VALUES:
        yield "no beat"
    elif at_ms + VALUES[word] * 1000 not in starts | {told.sheet.row_end_ms}:
        yield "nothing changes that many seconds later"


def _halfway(told: _Heard, text: str) -> Iterator[str]:
    cue, sheet = told.cue, told.sheet
    if cue.firm and "halfway" in text:
        middle = (sheet.lead_in_ms + sheet.row_end_ms) / 2
        if abs(cue.at_ms - middle) > 1:
            yield f"the session's half is at {middle} ms"
        if any(segment.predicted for segment in sheet.segments):
            yield "the session's half is not known"
    if cue.kind is CueKind.SEGMENT_HALFWAY:
        middle = (told.segment.start_ms + told.segment.end_ms) / 2
        if abs(cue.at_ms - middle) > 1_001:
            yield f"the segment's half is at {middle} ms"


def _expected(told: _Heard) -> Iterator[str]:
    late = told.cue.at_ms - told.segment.end_ms
    if told.cue.kind is CueKind.EXPECTED_END and not 0 <= late <= 6_000:
        yield f"the piece is expected to end {late} ms before"


def _compare(what: str, said: float, true: float | None, by: float) -> Iterator[str]:
    if true is None or abs(said - true) > by:
        yield f"{what} {said:g} is said, {true} is true"


def _check_split(told: _Heard, found: re.Match[str]) -> Iterator[str]:
    said = split_ms(found[0])
    true = told.segment.split_ms
    if said is None or true is None or said != (true + 50) // 100 * 100:
        yield f"split {said} is said, {true} is true"


def _check_step(told: _Heard, found: re.Match[str]) -> Iterator[str]:
    about, said = step_ms(found[0])
    rowed = [
        segment
        for segment in told.sheet.segments[: told.about]
        if segment.kind not in (SegmentKind.PADDLE, SegmentKind.REST)
    ]
    if not rowed:
        yield "nothing was rowed before"
    elif rowed[-1].split_ms is not None and told.segment.split_ms is not None:
        change = told.segment.split_ms - rowed[-1].split_ms
        yield from _compare("a step of", said, change, 550 if about else 51)


def _check_percent(told: _Heard, found: re.Match[str]) -> Iterator[str]:
    yield from _compare("effort", number(found[1]), told.segment.effort_pct, 0)


def _check_metres(told: _Heard, found: re.Match[str]) -> Iterator[str]:
    said, segment = number(found[2]), told.segment
    if told.cue.kind is not CueKind.DISTANCE_LEFT:
        yield from _compare("metres", said, segment.metres, 0.06)
        return
    if found[1] != "about":
        yield "metres left are only expected"
    part = (segment.end_ms - told.cue.at_ms) / (segment.end_ms - segment.start_ms)
    yield from _compare("metres left", said, segment.metres * part, said / 10)


def _check_watts(told: _Heard, found: re.Match[str]) -> Iterator[str]:
    yield from _compare("watts", number(found[1]), told.segment.watts, 1)


def _check_strokes(told: _Heard, found: re.Match[str]) -> Iterator[str]:
    yield from _compare("strokes", number(found[1]), told.segment.strokes, 3)


def _check_pieces(told: _Heard, found: re.Match[str]) -> Iterator[str]:
    yield from _compare("pieces", number(found[1]), len(told.pieces()), 0)


def _check_piece(told: _Heard, found: re.Match[str]) -> Iterator[str]:
    pieces = told.pieces()
    true = pieces.index(told.about) + 1 if told.about in pieces else None
    yield from _compare("piece", number(found[1]), true, 0)


def _check_rate(told: _Heard, found: re.Match[str]) -> Iterator[str]:
    low = number(found[1])
    said = f"{low}-{number(found[2])}" if found[2] else str(low)
    if said != told.segment.rate:
        yield f"rate {said} is said, {told.segment.rate} is true"


def _no_check(told: _Heard, found: re.Match[str]) -> Iterator[str]:
    """The rate of a split held last time is not in the sheet."""
    return iter(())


def _check_time(told: _Heard, found: re.Match[str]) -> Iterator[str]:
    near, said = time_ms(found[0])
    sheet, at_ms = told.sheet, told.cue.at_ms
    if told.cue.kind is CueKind.WELCOME:
        true, lower, upper = sheet.row_end_ms - sheet.lead_in_ms, 500, 500
        if near == "about":
            lower = upper = 30_000
    elif told.cue.kind in (CueKind.GOAL, CueKind.TARGET):
        true, lower, upper = told.segment.end_ms - told.segment.start_ms, 500, 500
    else:
        end = sheet.segments[told.heard].end_ms
        if told.cue.kind is CueKind.GET_READY:
            end = told.segment.start_ms
        true = end - at_ms
        lower, upper = {"just over": (0, 15_000), "just under": (10_000, 0)}.get(
            near, (1_000, 1_000)
        )
    if not said - lower <= true <= said + upper:
        yield f"{near} {said} ms is said, {true} ms is true"


_CLAIMS: tuple[tuple[str, Callable[[_Heard, re.Match[str]], Iterator[str]]], ...] = (
    (FLAT, _check_split),
    (_STEP, _check_step),
    (rf"\b({CARDINAL}) percent\b", _check_percent),
    (rf"\b(?:(about) )?({CARDINAL}) metres?\b", _check_metres),
    (rf"\b({CARDINAL}) watts?\b", _check_watts),
    (rf"\babout ({CARDINAL}) strokes?\b", _check_strokes),
    (rf"\b({CARDINAL}) pieces\b", _check_pieces),
    (rf"\bpiece ({CARDINAL})\b", _check_piece),
    (rf"\b(?:held at|from(?: rate)?|known at) {BAND}\b", _no_check),
    (rf"\brate(?: up,| down,|,)? {BAND}\b", _check_rate),
    (_SPOKEN_TIME, _check_time),
    (SPLIT, _check_split),
)
