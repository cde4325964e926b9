"""Measures of page one: how high each row may be, how big its figures, how many words fit.

Conventions
    All measures are millimetres on paper. Page one is laid out for what A4 and
    US Letter share: 186 mm by 252 mm inside margins of 12 mm, so that one file
    prints on both. Widths of text are reckoned with generous letters, since
    nobody knows which fonts the printing machine has; a row whose words take
    more room than reckoned grows, and nothing is cut.

Sources
    A4 is 210 by 297 mm (ISO 216), US Letter 215.9 by 279.4 mm (ANSI/ASME Y14.1).
    Digits of Arial and its like are 0.556 em wide and 0.716 em high (from memory).
    Reading distance: a figure h mm high is seen at 1.5 m under 3438 h / 1500
    minutes of arc; 16 are the least for reading, 20 to 22 are comfortable
    (ISO 9241-303, from memory): 7.0 mm and 8.7 mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from math import ceil, floor

from cuegen.plan.model import SEGMENT_KINDS, SegmentKind
from cuegen.schedule.cuesheet import SheetSegment

PAGE_WIDTH_MM, PAGE_HEIGHT_MM = 186.0, 252.0
DIGIT_HEIGHT_EM = 0.716
LETTER_EM = 0.49
"""Width of a letter of running text, on average, with spaces."""

LINE_EM = 1.25
_TITLE_MM, _FACTS_MM, _FOOT_MM, _GAP_MM = 8.0, 6.0, 19.0, 4.0
SAY_SIZES_MM = (4.2, 4.0, 3.8, 3.6, 3.4, 3.2, 3.1)
"""Sizes of the words, the largest first; 3.1 mm is a good 8.5 points."""

_EPSILON_MM = 0.01
_GOOD_SAY_MM = 3.8
_COMFORTABLE_MM = (13.4, 12.8, 12.2)
"""Sizes of figures whose digits, 8.7 mm high and more, are comfortable at 1.5 m."""

SMALL_LINE_EM = 1.15
_SMALL_MM = 3.0
_MOST_ROW_MM, _MOST_FIGURE_MM = 46.0, 14.0
_LEAST_ROWS_MM = 100.0
"""For all rows together, however long the title is; the foot then goes on page two."""

_LEAST_WORDS_MM = 64.0
SHAFT_MM, UNITS_MM, COLUMN_GAP_MM = 3.0, 17.0, 4.0
_BESIDE_MM = SHAFT_MM + UNITS_MM + 3 * COLUMN_GAP_MM

_BLADE_EM = 0.06
"""A blade's outline, as a part of its figure."""

FIGURE_LINE_EM = 0.84
"""Height of a line of figures: digits have nothing below the line."""

_DIGITS = {":": 0.6, ".": 0.5, " ": 0.5, "~": 1.05, "%": 1.6}
"""Widths of other characters, in digits."""

_DIGIT_EM = 0.556
BLADE_TYPE = 0.86
"""Size of the figure on a blade, as a part of that of what to hold."""


class Weight(Enum):
    """How much of the page a row takes, as a part of a row of work, and its figures of theirs."""

    WORK = (1.0, 1.0)
    EASY = (0.8, 0.74)
    BREAK = (0.48, 0.46)


@dataclass(frozen=True, slots=True)
class Columns:
    """Widths of the three big columns, in digits of the figures of work."""

    clock: float
    rate: float
    hold: float


@dataclass(frozen=True, slots=True)
class Paper:
    """Page one for a number of rows. Heights of rows by weight, sizes of type, the words' width.

    big: size of the figures of work. say: size of the words. words: width of their column.
    unit: height of a row of work in even shares; on paper a row that needs more takes it
    from the others. fits: all paragraphs asked for have room in that way.
    """

    big: float
    say: float
    words: float
    unit: float
    fits: bool = True

    def row(self, weight: Weight) -> float:
        return self.unit * weight.value[0]

    def figure(self, weight: Weight) -> float:
        return self.big * weight.value[1]

    def digit_height(self, weight: Weight) -> float:
        """Return how high a digit of a row's figures stands on paper."""
        return self.figure(weight) * DIGIT_HEIGHT_EM

    @property
    def strip(self) -> float:
        """Height of the strip under a row."""
        return _strip_mm(self.unit)

    @property
    def blade(self) -> float:
        """Thickness of the outline of a blade of work."""
        return self.big * _BLADE_EM

    def free(self, weight: Weight) -> float:
        """Return the height that a row has for figures and words."""
        return self.row(weight) - self.strip - _air_mm(self.unit)

    @property
    def small(self) -> float:
        """Size of the units beside a target, of which two lines must fit beside work."""
        return min(_SMALL_MM, self.free(Weight.WORK) / (2 * SMALL_LINE_EM))

    def small_lines(self, weight: Weight) -> int:
        """Return how many lines of units a row has room for, at least one."""
        return max(1, floor(self.free(weight) / (self.small * SMALL_LINE_EM)))

    def lines(self, weight: Weight) -> int:
        """Return how many lines of words a row has room for, at least one."""
        return max(1, floor(self.free(weight) / (self.say * LINE_EM)))

    def lines_of(self, text: str) -> int:
        """Return how many lines a paragraph takes."""
        return max(1, ceil(len(text) * LETTER_EM * self.say / self.words))


def weight_of(segment: SheetSegment) -> Weight:
    """Return what a segment's row weighs: work most, breaks least."""
    if SEGMENT_KINDS[segment.kind].is_work:
        return Weight.WORK
    is_break = segment.kind in {SegmentKind.PADDLE, SegmentKind.REST}
    return Weight.BREAK if is_break else Weight.EASY


def paper(title: str, rows: Sequence[tuple[Weight, Sequence[str]]], widths: Columns) -> Paper:
    """Return page one for rows of a weight and the paragraphs they should hold.

    The figures are as big as rows and columns allow, then the words as big as
    leaves room for all paragraphs, if any size does. Figures that are more than
    comfortable give way to words that would be small beside them.
    """
    title_lines = ceil(len(title) * LETTER_EM * _TITLE_MM / PAGE_WIDTH_MM) or 1
    head = title_lines * _TITLE_MM * 1.15 + _FACTS_MM
    room = max(PAGE_HEIGHT_MM - head - _FOOT_MM - _GAP_MM, _LEAST_ROWS_MM)
    parts = sum(weight.value[0] for weight, _ in rows) + Weight.BREAK.value[0]
    unit = min(room / parts, _MOST_ROW_MM)
    across = _columns_em(widths)
    high = (unit - _strip_mm(unit) - _air_mm(unit)) / (FIGURE_LINE_EM + 2 * _BLADE_EM)
    wide = (PAGE_WIDTH_MM - _LEAST_WORDS_MM - _BESIDE_MM) / across
    most = min(high, wide, _MOST_FIGURE_MM)
    sizes = [most, *(size for size in _COMFORTABLE_MM if size < most)]
    pages = [_worded(unit, big, PAGE_WIDTH_MM - _BESIDE_MM - across * big, rows) for big in sizes]
    return next((page for page in pages if page.say >= _GOOD_SAY_MM), pages[0])


def _worded(
    unit: float, big: float, words: float, rows: Sequence[tuple[Weight, Sequence[str]]]
) -> Paper:
    """Return the page with the biggest words that leave room for all paragraphs."""
    pages = [Paper(big=big, say=say, words=words, unit=unit) for say in SAY_SIZES_MM]
    fitting = (page for page in pages if _all_fit(page, rows))
    return next(fitting, replace(pages[-1], fits=False))


def _all_fit(page: Paper, rows: Sequence[tuple[Weight, Sequence[str]]]) -> bool:
    """Return whether the least heights of the rows are no more than their even shares."""
    spare = 0.0
    for weight, texts in rows:
        words = sum(map(page.lines_of, texts)) * page.say * LINE_EM
        figures = page.figure(weight) * (FIGURE_LINE_EM + 2 * _BLADE_EM)
        spare += page.free(weight) - max(words, figures)
    return spare >= -_EPSILON_MM


def _air_mm(unit: float) -> float:
    """Return what stays free above and below the figures of a row, with its rule."""
    return min(1.4, 0.08 * unit)


def _strip_mm(unit: float) -> float:
    return min(2.4, 0.14 * unit)


def _columns_em(columns: Columns) -> float:
    """Return the width of clock, rate and target at the size of work's figures."""
    digits = columns.clock + columns.rate + columns.hold
    return digits * _DIGIT_EM


def columns(clocks: Sequence[str], rates: Sequence[str], holds: Sequence[str]) -> Columns:
    """Return how wide the columns must be for these texts."""
    clock, rate, hold = (
        max((sum(_DIGITS.get(ch, 1.0) for ch in text) for text in texts), default=0.0)
        for texts in (clocks, rates, holds)
    )
    return Columns(0.9 * clock, BLADE_TYPE * rate + 0.7, hold)
