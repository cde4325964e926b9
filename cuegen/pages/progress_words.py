"""How a history is worded wherever people read it: page, note, drawings, terminal.

What is claimed here is reckoned in cuegen.targets.history, on figures as they are
shown. Nothing says faster unless it shows faster.
"""

from __future__ import annotations

from datetime import date
from itertools import groupby

from cuegen.clock import split_text
from cuegen.targets.history import History, NextPiece, RateChange, RowedPiece, rate_weeks
from cuegen.targets.power import whole

_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July", "August"),
    *("September", "October", "November", "December"),
)


def work_text(joules: float) -> str:
    """Return work per stroke: "402 J"."""
    return f"{whole(joules)} J"


def signed_seconds(ms: int, minus: str = "\u2212") -> str:
    """Return a difference in seconds: "+1.4", "0.0", and "\u22120.6" for faster."""
    sign = "+" if ms > 0 else minus if ms < 0 else ""
    return f"{sign}{abs(ms) / 1000:.1f}"


def signed_pct(pct: int, minus: str = "\u2212") -> str:
    """Return a change in per cent: "+7 %", "0 %", "\u22122 %"."""
    return f"{'+' if pct > 0 else minus if pct < 0 else ''}{abs(pct)} %"


def change_words(change: RateChange) -> str:
    """Return what moved: "2.6 s faster", "the same"."""
    if not change.change_ms:
        return "the same"
    seconds = abs(change.change_ms) / 1000
    return f"{seconds:.1f} s {'faster' if change.change_ms < 0 else 'slower'}"


def day_text(day: date) -> str:
    """Return "4 November 2026", whatever language the machine speaks."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def short_day(day: date) -> str:
    """Return "4 Nov"."""
    return f"{day.day} {_MONTHS[day.month - 1][:3]}"


def days_text(history: History) -> str:
    """Return from which day to which there are pieces; history has some."""
    first, last = history.pieces[0].day, history.pieces[-1].day
    return day_text(first) if first == last else f"{day_text(first)} to {day_text(last)}"


def count_text(number: int, one: str) -> str:
    """Return "1 piece", "16 pieces"."""
    return f"{number} {one}{'' if number == 1 else 's'}"


def weeks_text(numbers: tuple[int, ...]) -> str:
    """Return "week 3", or "weeks 1, 2 and 4" of numbers, of which there is one at least."""
    words = listed([str(number) for number in numbers])
    return f"week {words}" if len(numbers) == 1 else f"weeks {words}"


def listed(words: list[str]) -> str:
    """Return "a", "a and b", "a, b and c"."""
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def piece_words(piece: NextPiece) -> str:
    """Return what comes next: "rate 18 at 2:11.0", "rate 24 by effort, about 80 %"."""
    rate = "any rate" if piece.rate is None else f"rate {piece.rate}"
    if piece.split_ms is None:
        return f"{rate} by effort, about {piece.effort_pct} %"
    return f"{rate} at {split_text(piece.split_ms)}"


def described(history: History, name: str) -> str:
    """Return what a drawing shows, in words, for those who do not see it."""
    if not history.pieces:
        return "Nothing rowed yet."
    return _DESCRIBED[name](history)


def _splits(history: History) -> str:
    found = rate_weeks(history)
    parts = []
    for rate in history.rates:
        held = [f"{split_text(x.best_ms)} in week {x.week}" for x in found if x.rate == rate]
        parts.append(f"Rate {rate}: {', '.join(held)}.")
    return f"The best split per 500 m at each rate, by week. {' '.join(parts)}{_easy(history)}"


def _work(history: History) -> str:
    parts = [
        f"Week {week}: {', '.join(f'{work_text(x.work_j)} at rate {x.rate}' for x in run)}."
        for week, run in groupby(rate_weeks(history), lambda x: x.week)
    ]
    return f"Joules in each stroke of the best split, by week. {' '.join(parts)}{_easy(history)}"


def _targets(history: History) -> str:
    parts = [
        f"Week {week}: {', '.join(map(_held, run))}."
        for week, run in groupby(history.pieces, lambda piece: piece.week)
    ]
    return f"What was held, and for which target. {' '.join(parts)}"


def _held(piece: RowedPiece) -> str:
    held = f"rate {piece.rate} {split_text(piece.split_ms)}"
    if piece.target_ms is None:
        return f"{held} without a target"
    return f"{held} for {split_text(piece.target_ms)}"


def _easy(history: History) -> str:
    easy = history.easy_weeks
    if not easy:
        return ""
    return f" {weeks_text(easy).capitalize()} {'was' if len(easy) == 1 else 'were'} easy."


_DESCRIBED = {"splits": _splits, "work": _work, "targets": _targets}
