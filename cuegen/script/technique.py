"""Technique: each theme explained when it is first met, then deepened, recalled, praised.

A lesson runs through the whole session. A piece has one theme of its own, the plan's
or the next one that suits its rate; a long piece goes on to others, coming back to its
own between them, and ends on a word about its own.

Sources
    Explain once, then remind in fewer words: common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from cuegen.errors import PlanError
from cuegen.plan.nearest import offer
from cuegen.script.candidate import Candidate
from cuegen.script.desk import Desk, numbered
from cuegen.script.facts import is_work
from cuegen.script.kinds import CueKind
from cuegen.script.slots import Slot
from cuegen.targets.outline import PlannedSegment

_STAGES = (
    ("explain", "deepen", "remind"),
    ("deepen", "remind", "explain"),
    ("remind", "deepen", "explain"),
)
"""Which line a theme gets when it is met for the first, the second, a further time; else which."""

_LAST_WORD = ("encourage", "remind", "deepen")

_RUN = 3
"""So many lines in a row on one theme, before a long piece goes on to the next."""

_FIRST_WORTH, _LATER_WORTH, _LEAST_WORTH = 10, -5, -15


@dataclass(slots=True)
class Lesson:
    """What was taught so far. met: how often each theme was spoken of; pieces: segments begun."""

    desk: Desk
    met: Counter[str] = field(default_factory=Counter)
    pieces: int = 0


def lesson_cues(
    lesson: Lesson, planned: PlannedSegment, slots: Sequence[Slot]
) -> Iterator[Candidate]:
    """Yield the lines of one segment; where a theme has no fresh words left, the next theme's."""
    themes = _themes(lesson, planned)
    lesson.pieces += 1
    if not themes:
        return
    for number, slot in enumerate(slots, start=1):
        is_last_word = number == len(slots) > 2 and is_work(planned) and slot.phase == "late"
        turn = 0 if is_last_word else _turn(number - 1)
        order = themes[turn % len(themes) :] + themes[: turn % len(themes)]
        for candidate in _line(lesson, _Turn(planned, slot, number, is_last_word), order):
            if candidate.theme is not None:
                lesson.met[candidate.theme] += 1
            yield candidate


def _turn(number: int) -> int:
    """Return which theme of the piece is spoken of: runs of three, its own one between."""
    run = number // _RUN
    return 0 if run == 0 or run % 2 == 0 else (run + 1) // 2


@dataclass(frozen=True, slots=True)
class _Turn:
    """A line of a segment: its number, from 1, and whether it is the last word on technique."""

    planned: PlannedSegment
    slot: Slot
    number: int
    is_last_word: bool


def _line(lesson: Lesson, turn: _Turn, themes: list[str]) -> Iterator[Candidate]:
    desk, planned, slot = lesson.desk, turn.planned, turn.slot
    fields = desk.facts.segment(planned.index)
    reading = desk.reading(
        planned.index, slot.best_ms - slot.spread_ms, slot.best_ms + slot.spread_ms, fields
    )
    unsaid = desk.unsaid[CueKind.TECHNIQUE]
    for theme in themes:
        fields["theme"] = theme
        stage = _STAGES[min(lesson.met[theme], len(_STAGES) - 1)]
        found = desk.floating(
            f"{numbered(planned)}.technique.{turn.number}",
            CueKind.TECHNIQUE,
            planned.index,
            (reading,),
            cases=_LAST_WORD if turn.is_last_word and lesson.met[theme] else stage,
            theme=theme,
            prefer_ms=slot.best_ms,
            worth=_worth(turn.number),
        )
        for candidate in found:
            desk.unsaid[CueKind.TECHNIQUE] = unsaid
            yield candidate
            return
    desk.unsaid[CueKind.TECHNIQUE] = unsaid + (reading is not None)


def _worth(number: int) -> int:
    return _FIRST_WORTH if number == 1 else max(_LEAST_WORTH, _LATER_WORTH * (number - 2))


def _themes(lesson: Lesson, planned: PlannedSegment) -> list[str]:
    """Return the themes of a segment, its own first."""
    book = lesson.desk.book
    rate, given = planned.segment.rate, planned.segment.theme
    taught = [theme for theme in book.themes if theme.name in book.taught]
    fitting = [theme.name for theme in taught if theme.suits(rate)] or [t.name for t in taught]
    if not fitting:
        return []
    shift = lesson.pieces % len(fitting)
    turned = fitting[shift:] + fitting[:shift]
    return turned if given is None else [given, *(name for name in turned if name != given)]


def check_theme(desk: Desk, planned: PlannedSegment) -> None:
    """Raise PlanError for a theme of the plan that the book does not teach."""
    theme = planned.segment.theme
    if theme is not None and theme not in desk.book.taught:
        raise PlanError(
            f"the phrase book {desk.book.name!r} has no lines on the theme {theme!r}",
            where=planned.segment.where,
            remedy=offer(theme, sorted(desk.book.taught)),
        )
