"""Spoken numbers: where a line says them, and every other number it might have said.

A wrong number is the one mistake that sounds entirely right. So a line is not
only aligned with its planned words: wherever it says a number, the recogniser is
offered every number of the same shape, and must choose the planned one. For the
same reason each longer word has a few rivals, plain English words that the line does not
say: an aligner that is offered only the planned words finds them anywhere.

Conventions
    Words are lower case, hyphens split ("twenty-two" is two words). A *run* is
    a stretch of number words that stand together.

Contents
    number_runs     where numbers stand in a line, and of what shape
    Grammar         a word network, plain data that an aligner can load
    line_grammar    the network of a line: its words, other numbers, rivals
    exact_grammar   the network of its words alone
    choice_grammar  the network of one out of many lines

DOUBT, RIVALS and SILENCE were set by measurement on lines of the natural voice;
tests/hearing/test_words.py repeats a part of it and holds the figures.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

_DIGIT_TEXT = "one two three four five six seven eight nine"
_TEEN_TEXT = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen"
_TENS_TEXT = "twenty thirty forty fifty sixty seventy eighty ninety"

DIGITS = tuple(_DIGIT_TEXT.split())
TEENS = tuple(_TEEN_TEXT.split())
TENS = tuple(_TENS_TEXT.split())
MINUTES = DIGITS[:5]
"""Whole minutes of a split: one to five minutes per 500 m spans walking to world class."""

SECONDS_TENS = TENS[:4]
"""The tens of seconds: twenty to fifty."""

_CLASS = (
    dict.fromkeys(DIGITS, "d")
    | dict.fromkeys(TEENS, "t")
    | dict.fromkeys(TENS, "T")
    | {"oh": "o", "zero": "z", "point": "p", "hundred": "H", "thousand": "H"}
)


DOUBT = 1e-12
"""Weight of another number, or of a rival, against what was planned."""

_RIVAL_TEXT = (
    "garden window copper movie yellow thunder vision journey basket people finger morning "
    "jacket lemon beauty eagle oyster worship"
)
RIVALS = tuple(_RIVAL_TEXT.split())
SHORT_LINE = 2
_CALLS = ("go", "rest", "easy", "row", "done", "halfway", "paddle", "finished", "handle", "basket")
SHORT_RIVALS = (*DIGITS[:5], *_CALLS)
"""Lines of one or two words are calls, and might be taken for one another: their rivals."""

RIVALLED_LETTERS = 4
"""Words shorter than this are too slight to be told from others, and have no rivals."""


class Shape(StrEnum):
    """How a number is put together; alternatives are drawn from the same shape."""

    CARDINAL = "cardinal"  # five, twelve, twenty, twenty two
    SPLIT = "split"  # two ten, two oh four, one fifty nine point nine
    OTHER = "other"  # two hundred, one thousand: swapped word for word


@dataclass(frozen=True, slots=True)
class Run:
    """Words `first` to `last - 1` of a line are one number."""

    first: int
    last: int
    shape: Shape


_SPLIT_FORMS = frozenset({"od", "oo", "oz", "t", "T", "Td"})


def number_runs(words: tuple[str, ...]) -> tuple[Run, ...]:
    """Return every number of a line. A lone "oh" or "point" is no number."""
    runs: list[Run] = []
    first = 0
    while first < len(words):
        last = first
        while last < len(words) and words[last] in _CLASS:
            last += 1
        classes = "".join(_CLASS[word] for word in words[first:last])
        if classes.strip("op"):
            runs.append(Run(first, last, _shape(classes)))
        first = max(last, first + 1)
    return tuple(runs)


def _shape(classes: str) -> Shape:
    if classes in {"d", "t", "T", "Td"}:
        return Shape.CARDINAL
    whole, point, tenths = classes.partition("p")
    tenths_fit = tenths in {"d", "z", "o"} if point else not tenths
    if whole[:1] == "d" and whole[1:] in _SPLIT_FORMS and tenths_fit:
        return Shape.SPLIT
    return Shape.OTHER


Arc = tuple[int, int, float, str]
"""From state, to state, weight, word."""


@dataclass(frozen=True, slots=True)
class Grammar:
    """A word network from state 0 to state `final`, without empty arcs."""

    arcs: tuple[Arc, ...]
    final: int

    @property
    def states(self) -> range:
        """Return every state."""
        return range(1 + max((max(source, target) for source, target, *_ in self.arcs), default=0))

    @property
    def vocabulary(self) -> tuple[str, ...]:
        """Return every word once, in order."""
        return tuple(dict.fromkeys(word for *_, word in self.arcs))


class _Builder:
    def __init__(self) -> None:
        self.arcs: list[Arc] = []
        self.states = 1

    def state(self) -> int:
        self.states += 1
        return self.states - 1

    def add(self, source: int, target: int, words: tuple[str, ...], weight: float = 1.0) -> None:
        self.arcs += [(source, target, weight, word) for word in words]

    def chain(self, here: int, after: int, words: tuple[str, ...]) -> None:
        """Add one path of these words."""
        for index, word in enumerate(words):
            target = after if index == len(words) - 1 else self.state()
            self.add(here, target, (word,))
            here = target


def exact_grammar(words: tuple[str, ...]) -> Grammar:
    """Return the network of exactly these words."""
    arcs = tuple((index, index + 1, 1.0, word) for index, word in enumerate(words))
    return Grammar(arcs, len(words))


def choice_grammar(lines: Iterable[tuple[str, ...]]) -> Grammar:
    """Return the network of any one of these lines, all equally likely."""
    build = _Builder()
    after = build.state()
    for words in dict.fromkeys(lines):
        build.chain(0, after, words)
    return Grammar(tuple(build.arcs), after)


def line_grammar(words: tuple[str, ...]) -> Grammar:
    """Return the network of a line: each number may be any of its shape, each word a rival."""
    build = _Builder()
    runs = {run.first: run for run in number_runs(words)}
    here = index = 0
    while index < len(words):
        run = runs.get(index)
        after = build.state()
        if run is None:
            build.add(here, after, (words[index],))
            build.add(here, after, _rivals(words[index], len(words)), DOUBT)
            index += 1
        else:
            said = words[run.first : run.last]
            build.chain(here, after, said)
            if len(words) <= SHORT_LINE:
                build.add(here, after, _CALLS, DOUBT)
            _ADD_RUN[run.shape](build, here, after, said)
            index = run.last
        here = after
    return Grammar(tuple(build.arcs), here)


def _rivals(word: str, in_line: int) -> tuple[str, ...]:
    if in_line <= SHORT_LINE:
        return tuple(rival for rival in SHORT_RIVALS if rival != word)
    if len(word) < RIVALLED_LETTERS:
        return ()
    return tuple(rival for rival in RIVALS if rival != word)


def _add_cardinal(build: _Builder, here: int, after: int, _: tuple[str, ...]) -> None:
    """One to ninety-nine."""
    middle = build.state()
    build.add(here, after, DIGITS + TEENS + TENS, DOUBT)
    build.add(here, middle, TENS, DOUBT)
    build.add(middle, after, DIGITS)


def _add_split(build: _Builder, here: int, after: int, _: tuple[str, ...]) -> None:
    """A minute and seconds with or without tenths: 1:00.0 has its own wording."""
    minute, low, tens, seconds, point = (build.state() for _ in range(5))
    build.add(here, minute, MINUTES, DOUBT)
    build.add(minute, low, ("oh",))
    build.add(minute, tens, SECONDS_TENS)
    for target in (seconds, after):
        build.add(minute, target, TEENS + SECONDS_TENS)
        build.add(low, target, (*DIGITS, "zero", "oh"))
        build.add(tens, target, DIGITS)
    build.add(seconds, point, ("point",))
    build.add(point, after, (*DIGITS, "zero", "oh"))


def _add_other(build: _Builder, here: int, after: int, words: tuple[str, ...]) -> None:
    """The same build, each word swapped for any of its class."""
    for index, word in enumerate(words):
        target = after if index == len(words) - 1 else build.state()
        build.add(here, target, _swaps(word), 1.0 if index else DOUBT)
        here = target


def _swaps(word: str) -> tuple[str, ...]:
    if word in DIGITS or word in {"oh", "zero"}:
        return (*DIGITS, word) if word not in DIGITS else DIGITS
    if word in TEENS or word in TENS:
        return TEENS + TENS
    return (word,)


_ADD_RUN = {
    Shape.CARDINAL: _add_cardinal,
    Shape.SPLIT: _add_split,
    Shape.OTHER: _add_other,
}
