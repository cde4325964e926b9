"""Technique and effort through a segment: taught early, reminded in the middle, praised late.

Conventions
    Lines on technique are at least SPACING_MS apart, their windows included. A
    theme is explained once and recalled in fewer words before the next one comes;
    a segment's own theme returns between the others.

Sources
    Explain once, then remind in fewer words: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from cuegen.errors import PlanError
from cuegen.plan.model import SegmentKind
from cuegen.plan.nearest import offer
from cuegen.script.candidate import Candidate
from cuegen.script.desk import Desk, numbered
from cuegen.script.facts import is_work
from cuegen.script.kinds import CueKind
from cuegen.targets.outline import PlannedSegment

SPACING_MS = 60_000
STRIDE_MS = 70_000
"""Least distance between the instants that suit best: leaves room to either side."""

FIRST_MS, LAST_MS = 45_000, 45_000
"""After the start of a segment and before its end: others speak there."""

LEAST_MS = 50_000
WIDEST_MS = 12_000
MOST_EASY = 4
"""Easy words between the technique of one warm-up."""


def technique_cues(desk: Desk) -> Iterator[Candidate]:
    """Yield technique for work and warm-ups, effort checks between its lines in work."""
    seen = 0
    for planned in desk.outline.segments:
        _check_theme(desk, planned)
        if not is_work(planned) and planned.kind is not SegmentKind.WARM_UP:
            continue
        slots = _slots(planned)
        themes = _themes(desk, planned, seen)
        for number, slot in enumerate(slots, start=1):
            yield from _technique(desk, planned, slot, number, themes)
        yield from _between(desk, planned, slots)
        seen += 1


@dataclass(frozen=True, slots=True)
class _Slot:
    """A place for a line: best instant and how far it may move either way."""

    best_ms: int
    spread_ms: int
    turn: int  # which theme of the segment's list
    role: str  # teach, remind, encourage


def _slots(planned: PlannedSegment) -> list[_Slot]:
    length = planned.length_ms
    if length < LEAST_MS:
        return []
    span = length - FIRST_MS - LAST_MS
    if span < STRIDE_MS:
        return [_Slot(planned.start_ms + length // 2, min(WIDEST_MS, length // 10), 0, "teach")]
    gaps = span // STRIDE_MS
    stride = span // gaps
    spread = min(WIDEST_MS, (stride - SPACING_MS) // 2)
    return [
        _Slot(planned.start_ms + FIRST_MS + k * stride, spread, k // 2, _role(k, gaps, planned))
        for k in range(gaps + 1)
    ]


def _role(number: int, last: int, planned: PlannedSegment) -> str:
    if number == last and last >= 2 and is_work(planned):
        return "encourage"
    return "remind" if number % 2 else "teach"


def _technique(
    desk: Desk, planned: PlannedSegment, slot: _Slot, number: int, themes: list[str]
) -> Iterator[Candidate]:
    """Yield one line; where its theme has no fresh words left, the next theme's."""
    if not themes:
        return
    turn = 0 if slot.role == "encourage" else slot.turn
    case = "encourage" if slot.role == "encourage" else "explain"
    reading = desk.reading(
        planned.index,
        slot.best_ms - slot.spread_ms,
        slot.best_ms + slot.spread_ms,
        desk.facts.segment(planned.index),
        brief=slot.role == "remind",
    )
    if reading is None:
        return
    worth = 10 if number == 1 else -min(5 * (number - 2), 15)
    unsaid = desk.unsaid[CueKind.TECHNIQUE]
    for step in range(len(themes)):
        theme = themes[(turn + step) % len(themes)]
        reading.fields["theme"] = theme
        for candidate in desk.floating(
            f"{numbered(planned)}.technique.{number}",
            CueKind.TECHNIQUE,
            planned.index,
            (reading,),
            cases=(case,),
            theme=theme,
            prefer_ms=slot.best_ms,
            worth=worth,
        ):
            desk.unsaid[CueKind.TECHNIQUE] = unsaid
            yield candidate
            return
    desk.unsaid[CueKind.TECHNIQUE] = unsaid + 1


def _between(desk: Desk, planned: PlannedSegment, slots: list[_Slot]) -> Iterator[Candidate]:
    """Between two lines on technique: in work an effort check, in a warm-up an easy word."""
    work = is_work(planned)
    kind, name = (CueKind.EFFORT_CHECK, "effort") if work else (CueKind.SETTLE, "settle")
    gaps = list(pairwise(slots))[: None if work else MOST_EASY]
    for number, (left, right) in enumerate(gaps, start=1):
        best = (left.best_ms + right.best_ms) // 2
        fields = desk.facts.segment(planned.index)
        yield from desk.floating(
            f"{numbered(planned)}.{name}.{number if work else number + 1}",
            kind,
            planned.index,
            (desk.reading(planned.index, best - WIDEST_MS, best + WIDEST_MS, fields),),
            cases=(None if work else "warm-up",),
            prefer_ms=best,
            worth=-min(5 * (number - 1), 15),
        )


def _themes(desk: Desk, planned: PlannedSegment, seen: int) -> list[str]:
    """Return the themes of a segment in the order in which they come."""
    book = desk.book
    rate, given = planned.segment.rate, planned.segment.theme
    taught = [theme for theme in book.themes if theme.name in book.taught]
    fitting = [theme.name for theme in taught if theme.suits(rate)] or [t.name for t in taught]
    if not fitting:
        return []
    shift = seen % len(fitting)
    turned = fitting[shift:] + fitting[:shift]
    if given is None:
        return turned
    others = [name for name in turned if name != given]
    return [given, *(name for other in others for name in (other, given))]


def _check_theme(desk: Desk, planned: PlannedSegment) -> None:
    theme = planned.segment.theme
    if theme is not None and theme not in desk.book.taught:
        raise PlanError(
            f"the phrase book {desk.book.name!r} has no lines on the theme {theme!r}",
            where=planned.segment.where,
            remedy=offer(theme, sorted(desk.book.taught)),
        )
