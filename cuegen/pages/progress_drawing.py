"""The three drawings of a history, each onto axes of its own (PANELS).

Conventions
    Splits are plotted in ms per 500 m, faster up, work per stroke in joules. An easy
    week has hollow marks beside the line, since it is not compared. Every line and set
    of marks has an id, by which its points can be found again in an SVG.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

from matplotlib.axes import Axes

from cuegen.pages.progress_axes import (
    FLAG,
    INK,
    LINE,
    MARKERS,
    NAME_GAP,
    PAPER,
    RATE_COLOURS,
    RIVER,
    End,
    Look,
    across,
    name_ends,
    split_axis,
    trace,
    work_axis,
)
from cuegen.targets.history import History, RowedPiece, rate_weeks

LEAST_HEIGHT = 168.0

FEW = 5
"""Up to so many weeks or rates have room for "week 3" rather than "3"."""

MOST_NAMED = 20
"""With more pieces there is no room for each one's rate and miss."""

MOST_LINES = 8
"""With more weeks only the first and the last line have room for a name."""

MOST_WEEKS = 12
"""With more weeks not every one can have its number."""


@dataclass(frozen=True, slots=True)
class Panel:
    """A drawing. key: what its marks are. height: of its axes, in points; draw: onto them."""

    name: str
    title: str
    key: Callable[[History], str]
    height: Callable[[History], float]
    draw: Callable[[Axes, History, float], None]


# ------------------------------------------------------- splits by week


def _draw_splits(axes: Axes, history: History, height: float) -> None:
    weeks = _weeks(history)
    split_axis(axes, [piece.split_ms for piece in history.pieces], "splits")
    _week_axis(axes, history, weeks)
    ends = []
    for i, rate in enumerate(history.rates):
        mine = [one for one in rate_weeks(history) if one.rate == rate]
        colour, marker = RATE_COLOURS[i % len(RATE_COLOURS)], MARKERS[i % len(MARKERS)]
        for easy, name in ((False, f"splits-rate-{rate}"), (True, f"splits-rate-{rate}-easy")):
            points = [
                (weeks.index(one.week), one.best_ms)
                for one in mine
                if history.week(one.week).easy is easy
            ]
            trace(axes, points, name, Look(colour, marker, hollow=easy))
        ends.append(End(f"rate {rate}", weeks.index(mine[-1].week), mine[-1].best_ms))
    _draw_others(axes, history, weeks)
    name_ends(axes, ends, height)


def _draw_others(axes: Axes, history: History, weeks: Sequence[int]) -> None:
    """Draw the pieces that were not the best of their week and rate, small."""
    best = {(one.week, one.rate): one.best_ms for one in rate_weeks(history)}
    slower = [one for one in history.pieces if one.split_ms > best[one.week, one.rate]]
    if slower:
        places = [weeks.index(piece.week) for piece in slower]
        (marks,) = axes.plot(places, [piece.split_ms for piece in slower], ".", color=LINE, ms=4)
        marks.set_gid("splits-others")


def _week_axis(axes: Axes, history: History, weeks: Sequence[int]) -> None:
    """Name every week, or as many as there is room for, and say which are easy."""
    step = -(-len(weeks) // MOST_WEEKS)
    names = [_week_name(week, len(weeks)) for week in weeks]
    across(axes, [name if i % step == 0 else "" for i, name in enumerate(names)], "splits")
    if len(weeks) < MOST_WEEKS:
        for i, week in enumerate(weeks):
            if history.week(week).easy:
                _below(axes, i, "easy")


def _week_name(week: int, count: int) -> str:
    return f"week {week}" if count <= FEW else str(week)


def _weeks(history: History) -> list[int]:
    """Return every week up to the last that was rowed, in order."""
    rowed = history.rowed_weeks
    planned = {week.number for week in history.weeks if week.number <= rowed[-1]}
    return sorted(planned | set(rowed))


# --------------------------------------------- work per stroke by rate


def _draw_work(axes: Axes, history: History, height: float) -> None:
    found, rates, weeks = rate_weeks(history), history.rates, history.rowed_weeks
    work_axis(axes, [one.work_j for one in found], "work")
    across(axes, [f"rate {rate}" if len(rates) <= FEW else str(rate) for rate in rates], "work")
    named = weeks if len(weeks) <= MOST_LINES else _ends(history)
    ends = []
    for i, week in enumerate(weeks):
        points = [(rates.index(one.rate), one.work_j) for one in found if one.week == week]
        trace(
            axes, points, f"work-week-{week}", _week_look(history, week, MARKERS[i % len(MARKERS)])
        )
        if week in named:
            ends.append(End(f"week {week}", *points[-1]))
    name_ends(axes, ends, height)


def _week_look(history: History, week: int, marker: str) -> Look:
    """Return how a week is drawn: the last strong, those before it thin, easy ones dashed."""
    if history.week(week).easy:
        return Look(LINE, marker, 0.9, hollow=True, dashed=True)
    first, last = _ends(history)
    if week == last:
        return Look(RIVER, marker, 2.6)
    return Look(INK if week == first else LINE, marker, 1.3)


def _ends(history: History) -> tuple[int, int]:
    """Return the first and the last week that is compared, or where all are easy, of all."""
    weeks = [week for week in history.rowed_weeks if not history.week(week).easy]
    weeks = weeks or list(history.rowed_weeks)
    return weeks[0], weeks[-1]


# ------------------------------------------------- targets against held


def _draw_targets(axes: Axes, history: History, _height: float) -> None:
    pieces = history.pieces
    asked = [(i, one.target_ms) for i, one in enumerate(pieces) if one.target_ms is not None]
    split_axis(axes, [one.split_ms for one in pieces] + [ms for _, ms in asked], "targets")
    _piece_axis(axes, history)
    for i, target_ms in asked:
        colour = RIVER if pieces[i].is_met else FLAG
        (joint,) = axes.plot([i, i], [target_ms, pieces[i].split_ms], color=colour, lw=1.6)
        joint.set_gid(f"targets-joint-{i + 1}")
    _marks(axes, asked, "targets-asked", "_", INK)
    for met, name, marker, colour in (
        (True, "targets-met", "o", RIVER),
        (False, "targets-missed", "D", FLAG),
        (None, "targets-free", "o", PAPER),
    ):
        held = [(i, one.split_ms) for i, one in enumerate(pieces) if one.is_met is met]
        _marks(axes, held, name, marker, colour)
    if len(pieces) <= MOST_NAMED:
        _name_misses(axes, pieces)


def _marks(
    axes: Axes, points: Sequence[tuple[int, int]], name: str, marker: str, colour: str
) -> None:
    if points:
        (marks,) = axes.plot(*zip(*points, strict=True), marker, color=colour, clip_on=False)
        edge = RIVER if colour == PAPER else colour
        marks.set(markersize=13 if marker == "_" else 5.5, markeredgewidth=1.6, zorder=3)
        marks.set(markeredgecolor=edge, gid=name)


def _name_misses(axes: Axes, pieces: Sequence[RowedPiece]) -> None:
    """Write by how many seconds a target was missed, above it: what was held lies below."""
    for i, piece in enumerate(pieces):
        if piece.target_ms is not None and piece.over_ms is not None and not piece.is_met:
            words = axes.annotate(
                f"+{piece.over_ms / 1000:.1f}", (i, piece.target_ms), (0, 4),
                textcoords="offset points", ha="center", va="baseline", color=FLAG,
            )  # fmt: skip
            words.set(fontsize=9.5, fontweight="bold")


def _piece_axis(axes: Axes, history: History) -> None:
    """Name the pieces by their rates, and below them the weeks that they stand in."""
    pieces = history.pieces
    rates = [str(piece.rate) for piece in pieces] if len(pieces) <= MOST_NAMED else []
    across(axes, rates, "targets", len(pieces))
    runs = [list(run) for _, run in groupby(range(len(pieces)), lambda i: pieces[i].week)]
    step = -(-len(runs) // MOST_WEEKS)
    for nth, run in enumerate(runs):
        week = pieces[run[0]].week
        if run[0] > 0:
            axes.axvline(run[0] - 0.5, color=LINE, lw=0.6)
        easy = " easy" if history.week(week).easy and len(runs) <= FEW + 1 else ""
        if nth % step == 0:
            _below(axes, (run[0] + run[-1]) / 2, _week_name(week, len(runs)) + easy)


def _below(axes: Axes, x: float, words: str) -> None:
    """Write words in a second line below the axis."""
    axes.annotate(
        words, (x, 0), (0, -28), xycoords=axes.get_xaxis_transform(),
        textcoords="offset points", ha="center", va="baseline", annotation_clip=False,
    )  # fmt: skip


def _names_height(count: int) -> float:
    return max(LEAST_HEIGHT, count * NAME_GAP)


def _splits_key(history: History) -> str:
    return "per 500 m, faster is up" + ("; hollow: an easy week" if history.easy_weeks else "")


def _work_key(history: History) -> str:
    key = "of the best split, a line a week"
    return key + ("; dashed: an easy week" if history.easy_weeks else "")


def _targets_key(history: History) -> str:
    signs = {None: "\u25cb no target", True: "\u25cf met", False: "\u25c6 over by more than 0.5 s"}
    outcomes = {piece.is_met for piece in history.pieces}
    asked = ["\u2014 target"] if outcomes - {None} else []
    return ", ".join(asked + [signs[one] for one in (True, False, None) if one in outcomes])


PANELS = (
    Panel(
        "splits",
        "Best split at each rate, by week",
        _splits_key,
        lambda history: _names_height(len(history.rates)),
        _draw_splits,
    ),
    Panel(
        "work",
        "Work per stroke at each rate",
        _work_key,
        lambda _: LEAST_HEIGHT,
        _draw_work,
    ),
    Panel("targets", "Targets against held, by week", _targets_key, lambda _: 190.0, _draw_targets),
)
