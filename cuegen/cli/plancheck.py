"""`cuegen check PLAN`: what a session adds up to, and what is odd or unsafe about it."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from cuegen.cli.terminal import add_row, console, plain_table

if TYPE_CHECKING:
    from rich.table import Table

    from cuegen.targets.advice import Advice
    from cuegen.targets.outline import Outline
    from cuegen.targets.totals import SessionTotals, Totals


def check_plan(plan: Path, *, results: Path | None, rower: str | None, as_json: bool) -> None:
    """Print the totals of a plan and the advice on it; no voice is needed."""
    from cuegen.plan.reading import load_plan
    from cuegen.targets.advice import advise
    from cuegen.targets.resolve import outline
    from cuegen.targets.results import load_results
    from cuegen.targets.totals import totals

    held = None if results is None else load_results(results)
    laid = outline(load_plan(plan), held, rower=rower)
    found, sums = advise(laid, held), totals(laid)
    if as_json:
        typer.echo(_json(laid, sums, found))
        return
    out = console()
    out.print(laid.session.title, style="bold", markup=False)
    out.print(_table(laid, sums))
    for item in found:
        out.print(str(item), style="yellow", markup=False)
    if not found:
        out.print("Nothing odd was found. A qualified coach still goes before this check.")


def _table(laid: Outline, sums: SessionTotals) -> Table:
    from cuegen.clock import clock_text, split_text
    from cuegen.schedule.compose import segment_label

    numbers = ("length", "split", "metres", "strokes", "watts")
    table = plain_table("segment", *numbers)
    for planned, sum_ in zip(laid.segments, sums.segments, strict=True):
        split = (
            f"{planned.effort_pct} %" if planned.split_ms is None else split_text(planned.split_ms)
        )
        add_row(table, segment_label(planned), clock_text(sum_.time_ms), split, *_amounts(sum_))
    whole = sums.session
    add_row(table, "all rowing", clock_text(whole.time_ms), "", *_amounts(whole), bold=True)
    return table


def _amounts(sum_: Totals) -> tuple[str, str, str]:
    strokes = "" if sum_.strokes is None else f"{sum_.strokes:.0f}"
    return f"{sum_.metres:.0f}", strokes, f"{sum_.watts:.0f}"


def _json(laid: Outline, sums: SessionTotals, found: tuple[Advice, ...]) -> str:
    import json

    report = {
        "title": laid.session.title,
        "segments": [asdict(sum_) for sum_ in sums.segments],
        "session": asdict(sums.session),
        "advice": [
            {
                "rule": a.rule,
                "severity": a.severity.value,
                "message": a.message,
                "line": a.where.line,
            }
            for a in found
        ],
    }
    return json.dumps(report, indent=2, ensure_ascii=False)
