"""A rower's tests: best efforts over set distances and times, and the words for them.

Conventions
    A split is milliseconds per 500 m, time whole milliseconds, distance metres. A
    test's power is that of its mean split, as the ergometer's own table has it.

Contents
    KINDS, KindOfTest               the one table of kinds
    EnduranceTest, endurance_test   one test, from the number that was measured
    parse_test                      `2k 7:32.4`, `30min 7650m`
    latest                          the last test of each kind
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from cuegen.clock import MS_PER_MIN, parse_split, split_text
from cuegen.errors import ResultsError, Where
from cuegen.plan.nearest import offer
from cuegen.targets.power import SPLIT_METRES, metres_in, time_for, watts_from_split, whole

SPLITS_MS = (70_000, 300_000)
"""Mean splits taken for real, both included: faster is a sprint, slower barely moves."""


@dataclass(frozen=True, slots=True)
class KindOfTest:
    """metres or time_ms is set, never both.

    also: other ways to write the kind. examples: one result written as what was
    measured and as its split.
    """

    also: tuple[str, ...]
    examples: tuple[str, str]
    metres: int | None = None
    time_ms: int | None = None

    @property
    def takes(self) -> str:
        """What may be measured in it, in words."""
        return "metres or a split" if self.metres is None else "a time or a split"


KINDS: dict[str, KindOfTest] = {
    "500m": KindOfTest(("500",), ("1:38.0", "@1:38.0"), metres=500),
    "1k": KindOfTest(("1000m", "1000"), ("3:29.0", "@1:44.5"), metres=1000),
    "2k": KindOfTest(("2000m", "2000"), ("7:32.4", "@1:53.1"), metres=2000),
    "5k": KindOfTest(("5000m", "5000"), ("20:15.0", "@2:01.5"), metres=5000),
    "6k": KindOfTest(("6000m", "6000"), ("24:48.0", "@2:04.0"), metres=6000),
    "30min": KindOfTest(("30:00",), ("7200m", "@2:05.0"), time_ms=30 * MS_PER_MIN),
    "60min": KindOfTest(("60:00", "1:00:00", "1h"), ("13846m", "@2:10.0"), time_ms=60 * MS_PER_MIN),
}


@dataclass(frozen=True, slots=True)
class EnduranceTest:
    """One test. kind: a key of KINDS. split_ms is the mean split; metres and time fit it."""

    kind: str
    metres: float
    time_ms: int
    split_ms: int
    day: date | None = None

    @property
    def watts(self) -> float:
        """The power of the mean split."""
        return watts_from_split(self.split_ms)

    def __str__(self) -> str:
        """Return it as `parse_test` reads it, to the tenth or the metre: `2k 7:32.4`."""
        timed = KINDS[self.kind].metres is None
        done = f"{self.metres:.0f}m" if timed else split_text(self.time_ms)
        return f"{self.kind} {done}" + (f" {self.day}" if self.day else "")


def endurance_test(
    kind: str,
    *,
    time_ms: int | None = None,
    split_ms: int | None = None,
    metres: float | None = None,
    day: date | None = None,
) -> EnduranceTest:
    """Return a test from its kind and the one number that was measured, more than 0.

    For a distance: time_ms or split_ms; for a time: metres or split_ms. ValueError
    for another kind or other numbers.
    """
    of = KINDS.get(kind)
    if of is None:
        raise ValueError(f"no such test: {kind!r}")
    given = [name for name in (time_ms, split_ms, metres) if name is not None]
    if len(given) != 1 or not given[0] > 0:
        raise ValueError(f"a {kind} test takes {of.takes}, one number above 0")
    if of.metres is not None and metres is None:
        done_ms = time_ms or time_for(of.metres, split_ms or 0)
        mean_ms = split_ms or whole(done_ms * SPLIT_METRES / of.metres)
        return EnduranceTest(kind, of.metres, done_ms, mean_ms, day)
    if of.time_ms is not None and time_ms is None:
        far = metres or metres_in(of.time_ms, split_ms or 0)
        mean_ms = split_ms or whole(of.time_ms * SPLIT_METRES / far)
        return EnduranceTest(kind, far, of.time_ms, mean_ms, day)
    raise ValueError(f"a {kind} test takes {of.takes}, one number above 0")


def latest(tests: Iterable[EnduranceTest]) -> tuple[EnduranceTest, ...]:
    """Return the last test of each kind, in the order of KINDS.

    The most recent day counts, a test without a day as the oldest; of one day, the later.
    """
    last: dict[str, EnduranceTest] = {}
    for test in tests:
        held = last.get(test.kind)
        if held is None or (test.day or date.min) >= (held.day or date.min):
            last[test.kind] = test
    return tuple(last[kind] for kind in KINDS if kind in last)


# ---------------------------------------------------------------------- words

_KIND_OF_WORD = {word: kind for kind, of in KINDS.items() for word in (kind, *of.also)}
_LONG_UNITS = (("metres|meters", "m"), ("minutes|mins|'", "min"), ("km", "k"))
_UNIT_APART = re.compile(r"(\d)\s+(m|k|min)(?![a-z])")
_METRES = re.compile(r"(\d{1,6}(?:\.\d+)?)m?")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_SMALL_WORDS = ("in", "at", "on")


def parse_test(text: str, *, day: date | None = None) -> EnduranceTest:
    """Read `2k 7:32.4`, `2k @1:53.1`, `30min 7650m` or `30min @1:57.6`, with a day after it or not.

    Raises ResultsError that says what is missing or hard to believe.
    """
    words = _words(text)
    if words and _DAY.fullmatch(words[-1]):
        day = _day(words.pop(), text)
    if not words:
        raise _bad(text, "this names no test", "Write a test and its result, such as 2k 7:32.4.")
    kind = _KIND_OF_WORD.get(words[0])
    if kind is None:
        raise _bad(text, f"no test is called {words[0]!r}", offer(words[0], KINDS))
    if len(words) == 1:
        raise _bad(text, f"the {kind} test has no result", _like(kind))
    if len(words) > 2:
        raise _bad(text, f"one result of one test, please, not {' '.join(words[1:])}", _like(kind))
    return _believed(_measured(kind, words[1], day, text), words[1], text)


def _words(text: str) -> list[str]:
    plain = text.casefold().replace(",", ".")
    for written, unit in _LONG_UNITS:
        plain = re.sub(rf"(?<=\d)(\s*)(?:{written})(?![a-z])", rf"\g<1>{unit}", plain)
    plain = _UNIT_APART.sub(r"\1\2", plain).replace("@ ", "@")
    return [word for word in plain.split() if word not in _SMALL_WORDS]


def _measured(kind: str, word: str, day: date | None, text: str) -> EnduranceTest:
    of, clock_ms = KINDS[kind], parse_split(word.removeprefix("@"))
    metres = _METRES.fullmatch(word)
    if clock_ms and of.metres is not None and not word.startswith("@"):
        return endurance_test(kind, time_ms=clock_ms, day=day)
    if clock_ms:
        return endurance_test(kind, split_ms=clock_ms, day=day)
    if metres and of.metres is None and float(metres[1]) > 0:
        return endurance_test(kind, metres=float(metres[1]), day=day)
    raise _bad(text, f"{word!r} is not {of.takes}", _like(kind))


def _believed(test: EnduranceTest, word: str, text: str) -> EnduranceTest:
    low, high = SPLITS_MS
    if low <= test.split_ms <= high:
        return test
    than = "faster than" if test.split_ms < low else "slower than"
    bound = split_text(low if test.split_ms < low else high)
    remedy = "Check it against what the monitor showed."
    if KINDS[test.kind].metres is not None and low <= (parse_split(word) or 0) <= high:
        remedy = f"If {word} is the split, write {test.kind} @{word}."
    comes_to = f"{split_text(test.split_ms)} per 500 m, {than} {bound}"
    raise _bad(text, f"this comes to {comes_to}: hard to believe", remedy)


def _like(kind: str) -> str:
    measured, split = KINDS[kind].examples
    return f"Write it like this: {kind} {measured} or {kind} {split}."


def _day(word: str, text: str) -> date:
    try:
        return date.fromisoformat(word)
    except ValueError:
        raise _bad(text, f"there is no day {word}", "Write it as year-month-day.") from None


def _bad(text: str, problem: str, remedy: str) -> ResultsError:
    return ResultsError(problem, where=Where(text=text.strip() or None), remedy=remedy)
