"""A history on the terminal: every piece, then what moved and how many targets were met."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cuegen.cli.terminal import add_row, console, plain_table

if TYPE_CHECKING:
    from rich.table import Table

    from cuegen.targets.history import History, RowedPiece


def show_progress(history: History) -> None:
    """Print a history. A miss carries a star, since colour says nothing alone."""
    from cuegen.sheet.wording import one_line

    out = console()
    title = ", ".join(filter(None, map(one_line, (history.block, history.rower))))
    out.print(title, style="bold", markup=False)
    if not history.pieces:
        out.print("Nothing rowed yet.")
    else:
        out.print(_table(history))
        for line in _summary(history):
            out.print(line, markup=False)
    for line in _next(history):
        out.print(line, markup=False)


def _table(history: History) -> Table:
    table = plain_table("week", "day", "rate", "target", "held", "difference", "work per stroke")
    for name in ("rate", "target", "held", "difference", "work per stroke"):
        column = next(one for one in table.columns if one.header == name)
        column.justify = "right"
    shown = None
    for piece in history.pieces:
        week = f"{piece.week} easy" if history.week(piece.week).easy else str(piece.week)
        add_row(table, "" if piece.week == shown else week, *_cells(piece))
        shown = piece.week
    return table


def _cells(piece: RowedPiece) -> tuple[str, ...]:
    from cuegen.clock import split_text
    from cuegen.pages.progress_words import signed_seconds, work_text

    target, off = "", ""
    if piece.target_ms is not None and piece.over_ms is not None:
        target = split_text(piece.target_ms)
        off = signed_seconds(piece.over_ms, minus="-") + (" " if piece.is_met else "*")
    held = split_text(piece.split_ms)
    return piece.day.isoformat(), str(piece.rate), target, held, off, work_text(piece.work_j)


def _summary(history: History) -> list[str]:
    from cuegen.clock import split_text
    from cuegen.pages.progress_words import change_words, signed_pct, weeks_text
    from cuegen.targets.history import rate_changes, targets_met

    lines = [
        f"Rate {one.rate}, week {one.first_week} to {one.last_week}: "
        f"{split_text(one.first_ms)} to {split_text(one.last_ms)}, {change_words(one)}, "
        f"work per stroke {signed_pct(one.work_pct, minus='-')}."
        for one in rate_changes(history)
    ]
    if history.easy_weeks:
        lines.append(f"Easy, so not compared: {weeks_text(history.easy_weeks)}.")
    judged = targets_met(history)
    if not judged.pieces:
        return [*lines, "No piece had a target."]
    star = "; * more than that over" if judged.missed else ""
    return [*lines, f"Targets met within 0.5 s: {judged.met} of {judged.pieces}{star}."]


def _next(history: History) -> list[str]:
    from cuegen.pages.progress_words import piece_words
    from cuegen.sheet.wording import one_line

    if not history.next_week:
        return []
    rows = [
        f"  {piece_words(piece)}" + (f": {one_line(piece.reason)}" if piece.reason else "")
        for piece in history.next_week
    ]
    coach = "Targets are offers; what a qualified coach says goes before them."
    return ["What comes next:", *rows, coach]
