"""English number words, read by a grammar of the tests' own: the first half of the ear.

Nothing is shared with cuegen.script. Patterns are for texts in small letters; they
hold no groups of their own where their name does not say so.

    CARDINAL         "seven hundred and fifty"; BAND has two groups, low and high
    SPLIT, FLAT      "two oh four point five", "two minutes flat"
    TIME             "just over two minutes thirty"
    STEP             "about three seconds quicker"

Source of the forms: common practice in English-speaking boat houses, no source.
"""

from __future__ import annotations

import re

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
CARDINAL = rf"(?:\b(?:{UNDER_1000} thousand(?: and {UNDER_100}| {UNDER_1000})?|{UNDER_1000})\b)"
BAND = f"({CARDINAL})(?: to ({CARDINAL}))?"
NEAR = "(?:(just over|just under|about) )?"
_UNIT = "(?:percent|metre|watt|second|minute|stroke|hundred|thousand)"
SPLIT = (
    rf"\b({ONE}|ten) (oh oh|oh {ONE}|(?:{'|'.join(_TEENS)})|(?:{'|'.join(_TENS[:4])})(?:-{ONE})?)"
    rf"(?: point ({ONE}))?(?! {_UNIT})\b"
)
FLAT = rf"\b({CARDINAL}) minutes? flat\b"
TIME = (
    rf"\b{NEAR}(?:(?:{CARDINAL}) hours?(?: (?:{CARDINAL}) minutes?(?: {CARDINAL})?"
    rf"| (?:{CARDINAL}) seconds?)?"
    rf"|(?:{CARDINAL}) minutes?(?: {CARDINAL}(?! percent))?|(?<=over |nder |bout )a minute"
    rf"|(?:{CARDINAL}) seconds?)\b"
)
STEP = rf"\b(about )?(?:(half a) second|({CARDINAL})( and a half)? seconds?) (quicker|slower)\b"
NUMBERISH = re.compile(rf"\b(?:{'|'.join(VALUES)}|hundred|thousand|oh)\b")

_HOURS = re.compile(rf"({CARDINAL}) hours?")
_MINUTES = re.compile(rf"({CARDINAL}|a) minutes?(?: ({CARDINAL})(?! (?:second|minute|hour)))?")
_SECONDS = re.compile(rf"({CARDINAL}) seconds?")


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
    found = re.fullmatch(STEP, words.lower())
    assert found is not None
    size = 500 if found[2] else number(found[3]) * 1000 + (500 if found[4] else 0)
    return bool(found[1]), -size if found[5] == "quicker" else size
