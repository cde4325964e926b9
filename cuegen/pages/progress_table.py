"""A history as CSV, a row a piece, for a spreadsheet.

Conventions
    UTF-8 with a byte-order mark, commas, CRLF (RFC 4180), numbers with a decimal
    point; splits to the millisecond where they have any. What a person wrote is kept
    from being run as a formula (cuegen.cells).
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

from cuegen.cells import guard
from cuegen.clock import MS_PER_MIN, MS_PER_S, split_text
from cuegen.pages.progress_words import signed_seconds
from cuegen.sheet.wording import one_line
from cuegen.targets.history import History, RowedPiece
from cuegen.targets.power import whole


def _text(text: str) -> str:
    return guard(one_line(text))


def _number(value: int | None) -> str:
    return "" if value is None else str(value)


def _split(split_ms: int | None) -> str:
    if split_ms is None:
        return ""
    if split_ms % 100 == 0:
        return split_text(split_ms)
    minutes, rest = divmod(split_ms, MS_PER_MIN)
    return f"{minutes}:{rest // MS_PER_S:02d}.{rest % MS_PER_S:03d}"


def _off(over_ms: int | None) -> str:
    """Return seconds, a plain number: a spreadsheet may take "-0.2" for one, and reckon."""
    return "" if over_ms is None else signed_seconds(over_ms, minus="-").removeprefix("+")


COLUMNS: dict[str, Callable[[History, RowedPiece], str]] = {
    "rower": lambda history, _: _text(history.rower),
    "block": lambda history, _: _text(history.block),
    "week": lambda _, piece: str(piece.week),
    "title": lambda history, piece: _text(history.week(piece.week).title),
    "easy": lambda history, piece: "yes" if history.week(piece.week).easy else "no",
    "date": lambda _, piece: piece.day.isoformat(),
    "segment": lambda _, piece: _number(piece.segment),
    "rate": lambda _, piece: str(piece.rate),
    "target": lambda _, piece: _split(piece.target_ms),
    "held": lambda _, piece: _split(piece.split_ms),
    "off_s": lambda _, piece: _off(piece.over_ms),
    "work_per_stroke_j": lambda _, piece: str(whole(piece.work_j)),
    "heart_rate": lambda _, piece: _number(piece.heart_rate),
    "felt_pct": lambda _, piece: _number(piece.felt_pct),
}
"""What a row holds. off_s: held less target, more than 0 is slower."""


def progress_csv(history: History) -> str:
    """Return the pieces as the text of a CSV, byte-order mark included."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for piece in history.pieces:
        writer.writerow([cell(history, piece) for cell in COLUMNS.values()])
    return "\ufeff" + out.getvalue()
