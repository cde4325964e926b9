"""A review on the terminal, as text and as JSON, and how it is written to a file."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import typer
from rich.console import Console

from cuegen.cli.terminal import add_row, console, plain_table
from cuegen.clock import clock_text, split_text
from cuegen.files import writing
from cuegen.targets import review_cells as cells
from cuegen.targets import review_words as words
from cuegen.targets.review import TOLERANCE_MS
from cuegen.targets.reviewed import PieceReview, Review, StepReview

TEXT_COLUMNS = 100
"""How wide a text file's lines may be."""

_PIECES: dict[str, Callable[[PieceReview], str]] = {
    "piece": lambda one: cells.piece_name(one.planned),
    "length": cells.length_words,
    "rate": cells.rate_words,
    "asked": lambda one: cells.asked_words(one.planned),
    "rowed": lambda one: split_text(one.rowed.split_ms),
    "off": lambda one: cells.seconds(one.change_ms),
    "target": lambda one: one.outcome or "",
}
"""A column without a single value is left out."""

_POWER: dict[str, Callable[[PieceReview], str]] = {
    "piece": lambda one: cells.piece_name(one.planned),
    "power": lambda one: cells.per_cent(one.power_pct),
    "work per stroke": lambda one: f"{one.work_j:.0f} J",
    "felt": cells.felt_words,
    "heart rate": lambda one: str(one.rowed.heart_rate or ""),
}

_STEPS: dict[str, Callable[[StepReview], str]] = {
    "rate": cells.step_name,
    "split": cells.gained_words,
    "per 2 strokes": lambda one: f"{one.per_step_ms / 1000:.1f} s",
    "at same work": lambda one: f"{one.constant_per_step_ms / 1000:.1f} s",
    "rule": lambda one: one.rule.value,
}


def print_review(review: Review) -> None:
    """Print a review: what a coach would say, then the figures."""
    _print(review, console())


def review_text(review: Review) -> str:
    """Return what print_review prints, without colours."""
    out = io.StringIO()
    _print(review, Console(file=out, width=TEXT_COLUMNS, highlight=False, color_system=None))
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def _print(review: Review, out: Console) -> None:
    out.print(review.title, style="bold", markup=False)
    whose = ", ".join(str(part) for part in (review.rower, review.day) if part)
    if whose:
        out.print(whose, markup=False)
    for line in words.summary(review):
        out.print(line, markup=False)
    if review.pieces:
        _print_table(out, _PIECES, review.pieces)
        out.print(_key(review), markup=False)
        _print_table(out, _POWER, review.pieces)
    _print_within(out, review.pieces)
    if review.steps:
        _print_table(out, _STEPS, review.steps)
        out.print(_STEPS_KEY, markup=False)
    for note in words.notes(review):
        out.print(note, style="yellow", markup=False)


_STEPS_KEY = (
    "In brackets: what the plan asked. At same work: as much work in each stroke.\n"
    "Rule of thumb: 2 to 5 s for two strokes."
)


def _key(review: Review) -> str:
    whole = review.whole
    split = "" if whole.split_ms is None else split_text(whole.split_ms)
    return (
        f"All pieces: {clock_text(whole.time_ms)}, {whole.metres:.0f} m, mean split {split}.\n"
        f"Off: rowed less asked, minus is faster; held is within {TOLERANCE_MS / 1000:g} s.\n"
        "In brackets: what was asked, where it was another."
    )


def _print_within(out: Console, pieces: Sequence[PieceReview]) -> None:
    parted = [one for one in pieces if one.steadiness is not None]
    if not parted:
        return
    table = plain_table("piece", "parts", "spread", "varied", "first to last")
    for one in parted:
        assert one.steadiness is not None, "it has parts"
        add_row(
            table,
            cells.piece_name(one.planned),
            cells.parts_words(one.rowed),
            f"{one.steadiness.spread_ms / 1000:.1f} s",
            f"{one.steadiness.variation_pct:.1f} %",
            cells.course_words(one.steadiness),
        )
    out.print(table)
    out.print("Varied: standard deviation of the parts' speeds, of their mean.", markup=False)


def _print_table(out: Console, columns: dict[str, Any], rows: Sequence[Any]) -> None:
    made = [{name: cell(row) for name, cell in columns.items()} for row in rows]
    names = [name for name in columns if any(row[name] for row in made)]
    table = plain_table(*names)
    for row in made:
        add_row(table, *(row[name] for name in names))
    out.print(table)


# --------------------------------------------------------------------- JSON


def review_json(review: Review) -> str:
    """Return a review as JSON: its fields as they are, and what is said of them."""
    facts = asdict(review)
    facts["day"] = None if review.day is None else review.day.isoformat()
    facts["summary"] = words.summary(review)
    facts["notes"] = words.notes(review)
    return json.dumps(facts, indent=2, ensure_ascii=False)


def print_json(review: Review) -> None:
    """Print a review as JSON."""
    typer.echo(review_json(review).encode())


# -------------------------------------------------------------------- files


def save_review(review: Review, path: Path) -> None:
    """Write a review as .html, .txt or .json; it is somebody's own, so only its owner reads it.

    Raises OutputError.
    """
    from cuegen.pages.review import review_page

    made = {".html": review_page, ".txt": review_text, ".json": review_json}
    text = made[path.suffix.lower()](review)
    with writing(path) as part:
        part.chmod(0o600)
        part.write_text(text, encoding="utf-8", newline="\n")
