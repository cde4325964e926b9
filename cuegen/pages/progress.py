"""A block looked back on, as a page: what moved, the drawings, every piece, what comes next.

The page is one file that runs nothing and asks for nothing (cuegen.sheet.page); its
drawings lie inside it and take its colours, by day and by night. What people wrote is
always escaped.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from cuegen.clock import split_text
from cuegen.pages.progress_words import (
    change_words,
    count_text,
    days_text,
    piece_words,
    short_day,
    signed_pct,
    signed_seconds,
    weeks_text,
    work_text,
)
from cuegen.sheet.cautions import CAUTIONS
from cuegen.sheet.page import Dark, fill_page
from cuegen.sheet.wording import one_line
from cuegen.targets.history import (
    History,
    RateWeek,
    RowedPiece,
    rate_changes,
    rate_weeks,
    targets_met,
    work_change,
)

OFFER = "Targets are offers, not orders: take less on a day that asks for it."
COACH = "What a qualified coach or the rules of the place say goes before this page."


@dataclass(frozen=True, slots=True)
class Fact:
    """A figure that is read first, and what it says."""

    figure: str
    words: str


@dataclass(frozen=True, slots=True)
class MovedRow:
    """A rate: its best split in the first and the last week, and what moved."""

    rate: int
    first: str
    last: str
    change: str
    work: str


@dataclass(frozen=True, slots=True)
class Cell:
    """What a week had at a rate; last: its last split where that was not its best."""

    best: str
    last: str
    work: str


@dataclass(frozen=True, slots=True)
class WeekRow:
    """A week: a cell for each rate, None where it was not rowed."""

    name: str
    about: str
    easy: bool
    cells: tuple[Cell | None, ...]


@dataclass(frozen=True, slots=True)
class PieceRow:
    """A piece as it was rowed; texts are empty where nothing is known."""

    week: int
    day: str
    rate: int
    target: str
    held: str
    over: str
    missed: bool
    work: str
    heart: str
    felt: str


@dataclass(frozen=True, slots=True)
class NextRow:
    """What comes next, and why."""

    what: str
    why: str


def progress_page(history: History) -> str:
    """Return a block looked back on as one HTML page."""
    return fill_page(
        "progress.html.jinja",
        "progress.css",
        dark=Dark.ASKED,
        language="en",
        rower=one_line(history.rower),
        block=one_line(history.block),
        summary=_summary(history),
        facts=tuple(_facts(history)),
        moved=_moved(history),
        plots=tuple(_plots(history)),
        rates=history.rates,
        weeks=tuple(_week_row(history, week) for week in history.rowed_weeks),
        pieces=tuple(_piece_row(piece) for piece in history.pieces),
        shows=_shown(history),
        next_week=tuple(NextRow(piece_words(x), one_line(x.reason)) for x in history.next_week),
        cautions=(OFFER, *CAUTIONS[:-1], COACH),
    )


def _summary(history: History) -> str:
    if not history.pieces:
        return "Nothing rowed yet."
    said = [f"{count_text(len(history.pieces), 'piece')}, {days_text(history)}."]
    if easy := history.easy_weeks:
        was = "was easy: it is" if len(easy) == 1 else "were easy: they are"
        said.append(f"{weeks_text(easy).capitalize()} {was} shown, not compared.")
    if not targets_met(history).pieces:
        said.append("No piece had a target: effort led.")
    return " ".join(said)


def _facts(history: History) -> Iterator[Fact]:
    judged = targets_met(history)
    if judged.pieces:
        words = "target met" if judged.pieces == 1 else "targets met"
        over = judged.mean_miss_ms
        miss = "" if over is None else f"; missed by {over / 1000:.1f} s on average"
        yield Fact(f"{judged.met} of {judged.pieces}", f"{words}, within 0.5 s{miss}")
    work = work_change(history)
    if work is not None:
        span = f"{work_text(work.first_j)} to {work_text(work.last_j)}"
        words = f"work per stroke over all pieces, week {work.first_week} to {work.last_week}"
        yield Fact(signed_pct(work.work_pct), f"{words}: {span}")


def _moved(history: History) -> tuple[MovedRow, ...]:
    return tuple(
        MovedRow(
            rate=change.rate,
            first=f"{split_text(change.first_ms)} (week {change.first_week})",
            last=f"{split_text(change.last_ms)} (week {change.last_week})",
            change=change_words(change),
            work=f"{work_text(change.first_j)} to {work_text(change.last_j)}, "
            f"{signed_pct(change.work_pct)}",
        )
        for change in rate_changes(history)
    )


def _plots(history: History) -> Iterator[Markup]:
    """Yield the drawings that have something to show; their texts are escaped in them."""
    if not history.pieces:
        return
    from cuegen.pages.progress_plots import Plot, plot_for_page  # noqa: PLC0415 - slow to load

    yield Markup(plot_for_page(history, Plot.SPLITS))
    yield Markup(plot_for_page(history, Plot.WORK))
    if targets_met(history).pieces:
        yield Markup(plot_for_page(history, Plot.TARGETS))


def _week_row(history: History, number: int) -> WeekRow:
    week = history.week(number)
    found = {one.rate: _cell(one) for one in rate_weeks(history) if one.week == number}
    about = ": ".join(filter(None, map(one_line, (week.title, week.progress))))
    cells = tuple(found.get(rate) for rate in history.rates)
    return WeekRow(f"Week {number}", about, week.easy, cells)


def _cell(one: RateWeek) -> Cell:
    best, last = split_text(one.best_ms), split_text(one.last_ms)
    return Cell(best, "" if last == best else last, work_text(one.work_j))


def _piece_row(piece: RowedPiece) -> PieceRow:
    over = piece.over_ms
    return PieceRow(
        week=piece.week,
        day=short_day(piece.day),
        rate=piece.rate,
        target="" if piece.target_ms is None else split_text(piece.target_ms),
        held=split_text(piece.split_ms),
        over="" if over is None else signed_seconds(over),
        missed=piece.is_met is False,
        work=work_text(piece.work_j),
        heart="" if piece.heart_rate is None else str(piece.heart_rate),
        felt="" if piece.felt_pct is None else f"{piece.felt_pct} %",
    )


def _shown(history: History) -> frozenset[str]:
    """Return which columns have anything to show."""
    columns = {
        "target": any(piece.target_ms is not None for piece in history.pieces),
        "heart": any(piece.heart_rate is not None for piece in history.pieces),
        "felt": any(piece.felt_pct is not None for piece in history.pieces),
    }
    return frozenset(name for name, has_any in columns.items() if has_any)
