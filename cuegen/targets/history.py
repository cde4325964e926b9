"""Looking back over a block: what one rower rowed, week by week, and what moved.

Conventions
    Splits are whole milliseconds per 500 m and more than 0, rates strokes per minute
    and 1 or more, work is joules per stroke. What is compared is compared as it is
    shown: splits to the tenth of a second, so that whoever takes one from the other
    on the page finds what is claimed, and nothing is called faster that shows the
    same. A week planned as easy is shown but never compared: it says nothing of form.
    A rower's form in a week, at a rate, is their best split of that week there.

Sources
    Work per stroke is 60 P / rate (derived; P as in cuegen.targets.power). That a
    target is met up to half a second over it is our own judgement.

Contents
    RowedPiece, BlockWeek, NextPiece, History   the model
    rate_weeks, RateWeek        best and last split of each week at each rate
    rate_changes, RateChange    from the first to the last week at each rate
    work_change, WorkChange     the mean of all pieces, from the first to the last week
    targets_met, TargetsMet     how many targets were met, and by how much others were not
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from cuegen.targets.power import whole, work_per_stroke

TOLERANCE_MS = 500
"""A target is met by a split up to so much slower (our own judgement)."""

_TENTH_MS = 100


@dataclass(frozen=True, slots=True)
class RowedPiece:
    """One piece of work that was rowed. split_ms: whole ms per 500 m. segment: from 1.

    target_ms: what it was to be, None where effort led.
    """

    week: int
    day: date
    segment: int | None
    rate: int
    split_ms: int
    target_ms: int | None = None
    heart_rate: int | None = None
    felt_pct: int | None = None

    @property
    def work_j(self) -> float:
        """Work per stroke in joules."""
        return work_per_stroke(self.split_ms, self.rate)

    @property
    def over_ms(self) -> int | None:
        """Held less target in ms, as shown: more than 0 is slower. None without a target."""
        if self.target_ms is None:
            return None
        return shown_ms(self.split_ms) - shown_ms(self.target_ms)

    @property
    def is_met(self) -> bool | None:
        """Whether the target was met or beaten, within TOLERANCE_MS. None without a target."""
        return None if self.over_ms is None else self.over_ms <= TOLERANCE_MS


@dataclass(frozen=True, slots=True)
class BlockWeek:
    """A week of a block as planned. progress: its rule in words, '' for none.

    easy: a deload week, not compared as a form.
    """

    number: int
    title: str
    progress: str
    easy: bool = False


@dataclass(frozen=True, slots=True)
class NextPiece:
    """A piece that comes next, and why. split_ms None: effort leads, at effort_pct."""

    rate: int | None
    split_ms: int | None
    effort_pct: int
    reason: str


@dataclass(frozen=True, slots=True)
class History:
    """What one rower rowed of a block. pieces: in order of day, then segment."""

    rower: str
    block: str
    weeks: tuple[BlockWeek, ...]
    pieces: tuple[RowedPiece, ...]
    next_week: tuple[NextPiece, ...] = ()

    @property
    def rates(self) -> tuple[int, ...]:
        """Every rate that was rowed, lowest first."""
        return tuple(sorted({piece.rate for piece in self.pieces}))

    @property
    def rowed_weeks(self) -> tuple[int, ...]:
        """The numbers of the weeks in which anything was rowed, in order."""
        return tuple(sorted({piece.week for piece in self.pieces}))

    @property
    def easy_weeks(self) -> tuple[int, ...]:
        """The numbers of the easy weeks in which anything was rowed."""
        return tuple(week for week in self.rowed_weeks if self.week(week).easy)

    @property
    def compared(self) -> tuple[RowedPiece, ...]:
        """The pieces of all weeks but the easy ones."""
        return tuple(piece for piece in self.pieces if not self.week(piece.week).easy)

    def week(self, number: int) -> BlockWeek:
        """Return a week as planned; one the plan does not know has no title and is not easy."""
        found = (week for week in self.weeks if week.number == number)
        return next(found, BlockWeek(number, "", ""))


# ------------------------------------------------------------- summaries


@dataclass(frozen=True, slots=True)
class RateWeek:
    """What was held at one rate in one week. last_ms: of the week's last piece there."""

    week: int
    rate: int
    pieces: int
    best_ms: int
    last_ms: int

    @property
    def work_j(self) -> float:
        """Work per stroke (J) of the best piece."""
        return work_per_stroke(self.best_ms, self.rate)


@dataclass(frozen=True, slots=True)
class RateChange:
    """The best splits (ms per 500 m) of the first and the last week that had a rate."""

    rate: int
    first_week: int
    last_week: int
    first_ms: int
    last_ms: int

    @property
    def change_ms(self) -> int:
        """Last less first, as shown: less than 0 is faster."""
        return shown_ms(self.last_ms) - shown_ms(self.first_ms)

    @property
    def first_j(self) -> float:
        """Work per stroke (J) in the first week."""
        return work_per_stroke(self.first_ms, self.rate)

    @property
    def last_j(self) -> float:
        """Work per stroke (J) in the last week."""
        return work_per_stroke(self.last_ms, self.rate)

    @property
    def work_pct(self) -> int:
        """By how many whole per cent work per stroke changed."""
        return percent_more(self.first_j, self.last_j)


@dataclass(frozen=True, slots=True)
class WorkChange:
    """Mean work per stroke (J) over all pieces of the first and of the last week."""

    first_week: int
    last_week: int
    first_j: float
    last_j: float

    @property
    def work_pct(self) -> int:
        """By how many whole per cent it changed."""
        return percent_more(self.first_j, self.last_j)


@dataclass(frozen=True, slots=True)
class TargetsMet:
    """How many of the pieces with a target met it. missed: the others, in order."""

    pieces: int
    met: int
    missed: tuple[RowedPiece, ...]

    @property
    def share(self) -> float | None:
        """The part that was met, 0 to 1; None where nothing had a target."""
        return self.met / self.pieces if self.pieces else None

    @property
    def mean_miss_ms(self) -> int | None:
        """By how many ms per 500 m those missed were over, on average; None where none was."""
        if not self.missed:
            return None
        return whole(_mean(piece.over_ms or 0 for piece in self.missed))


def rate_weeks(history: History) -> tuple[RateWeek, ...]:
    """Return what was held in each week at each rate, in that order, easy weeks too."""
    found: dict[tuple[int, int], list[int]] = {}
    for piece in history.pieces:
        found.setdefault((piece.week, piece.rate), []).append(piece.split_ms)
    return tuple(
        RateWeek(week, rate, len(splits), min(splits), splits[-1])
        for (week, rate), splits in sorted(found.items())
    )


def rate_changes(history: History) -> tuple[RateChange, ...]:
    """Return the change at each rate that at least two weeks had, the lowest rate first.

    Easy weeks are left out.
    """
    by_rate: dict[int, list[RateWeek]] = {}
    for one in rate_weeks(history):
        if not history.week(one.week).easy:
            by_rate.setdefault(one.rate, []).append(one)
    return tuple(
        RateChange(rate, weeks[0].week, weeks[-1].week, weeks[0].best_ms, weeks[-1].best_ms)
        for rate, weeks in sorted(by_rate.items())
        if len(weeks) > 1
    )


def work_change(history: History) -> WorkChange | None:
    """Return the change of mean work per stroke, None with fewer than two weeks to compare.

    The mean is over all pieces of a week at whatever rates it had, which is what "the
    same splits, two strokes lower" is to raise. Easy weeks are left out.
    """
    by_week: dict[int, list[float]] = {}
    for piece in history.compared:
        by_week.setdefault(piece.week, []).append(piece.work_j)
    if len(by_week) < 2:
        return None
    first, last = min(by_week), max(by_week)
    return WorkChange(first, last, _mean(by_week[first]), _mean(by_week[last]))


def targets_met(history: History) -> TargetsMet:
    """Return how many targets were met, easy weeks too."""
    judged = [piece for piece in history.pieces if piece.target_ms is not None]
    missed = tuple(piece for piece in judged if not piece.is_met)
    return TargetsMet(len(judged), len(judged) - len(missed), missed)


def shown_ms(split_ms: int) -> int:
    """Return a split to the tenth of a second, half up, as cuegen.clock.split_text shows it."""
    return (split_ms + _TENTH_MS // 2) // _TENTH_MS * _TENTH_MS


def percent_more(first: float, last: float) -> int:
    """Return by how many whole per cent the last is more than the first, which is not 0."""
    return whole(100 * (last / first - 1))


def _mean(values: Iterable[float]) -> float:
    found = list(values)
    return sum(found) / len(found)
