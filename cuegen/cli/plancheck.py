"""`cuegen check PLAN`: what a session adds up to, what its script leaves out, what is odd."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from cuegen.cli.speaking import speaking_of
from cuegen.cli.terminal import add_row, console, plain_table

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from cuegen.schedule.cuesheet import CueSheet, LeftOut
    from cuegen.targets.advice import Advice
    from cuegen.targets.outline import Outline
    from cuegen.targets.totals import SessionTotals, Totals

MOST_LEFT_OUT = 12
"""So many cues that were left out are shown; --json gives them all."""


@dataclass(frozen=True, slots=True)
class PlanCheck:
    """What a check is asked of: a plan, and whose results and tests it is held against."""

    plan: Path
    results: Path | None
    rower: str | None
    voice: str | None
    tests: tuple[str, ...]
    week: int | None = None


def check_plan(asked: PlanCheck, *, as_json: bool) -> None:
    """Print the totals of a plan, what its script says and leaves out, and the advice on it.

    The lines are measured in the plan's voice, so that what is said here is true of
    the track.
    """
    from cuegen.occasion import load_occasion
    from cuegen.targets.advice import advise
    from cuegen.targets.endurance import parse_test
    from cuegen.targets.realism import judge
    from cuegen.targets.totals import totals

    tests = [parse_test(words) for words in asked.tests]  # a slip is said before any work
    what = load_occasion(asked.plan, week=asked.week, results=asked.results, rower=asked.rower)
    laid = what.outline()
    found, sums, judged = advise(laid, what.results), totals(laid), judge(laid, tests)
    with speaking_of(what, asked.voice) as made:
        sheet, _ = made
    if as_json:
        report = _report(laid, sums, found, sheet)
        report["realism"] = [{"verdict": one.verdict.value, "message": str(one)} for one in judged]
        typer.echo(json.dumps(report, indent=2, ensure_ascii=False).encode())
        return
    out = console()
    out.print(laid.session.title, style="bold", markup=False)
    out.print(_table(laid, sums))
    for one in judged:
        out.print(str(one), markup=False)
    _tell_script(sheet, out, len(found))
    for item in found:
        out.print(str(item), style="yellow", markup=False)
    if not found:
        out.print("Nothing odd was found. A qualified coach still goes before this check.")


def _tell_script(sheet: CueSheet, out: Console, advised: int) -> None:
    """Print what is said, what is left out and why. advised: notes that are advice on the plan."""
    firm = sum(cue.firm for cue in sheet.cues)
    quiet = sum(span.end_ms - span.start_ms for span in sheet.quiet) // 1000
    share = 100 * sheet.talk_ms / sheet.duration_ms
    out.print(
        f"Script: {len(sheet.cues)} lines, {firm} of them firm; talk {share:.0f} % "
        f"of {100 * sheet.talk_share:.0f} % asked for; quiet {quiet // 60}:{quiet % 60:02d}.",
        markup=False,
    )
    if sheet.talk_limit:
        out.print(sheet.talk_limit, style="yellow", markup=False)
    for note in sheet.notes[advised:]:
        out.print(note[0].upper() + note[1:] + ".", style="yellow", markup=False)
    for left in sheet.left_out[:MOST_LEFT_OUT]:
        out.print(_left_out(sheet, left), markup=False)
    more = len(sheet.left_out) - MOST_LEFT_OUT
    if more > 0:
        out.print(f"{more} more were left out; --json names them all.", markup=False)


def _left_out(sheet: CueSheet, left: LeftOut) -> str:
    from cuegen.sheet.wording import rowing_clock

    return f"Left out at {rowing_clock(sheet, left.at_ms)}, {left.id} ({left.text}): {left.why}."


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


def _report(
    laid: Outline, sums: SessionTotals, found: tuple[Advice, ...], sheet: CueSheet
) -> dict[str, object]:
    return {
        "title": laid.session.title,
        "segments": [asdict(sum_) for sum_ in sums.segments],
        "session": asdict(sums.session),
        "script": {
            "lines": len(sheet.cues),
            "firm": sum(cue.firm for cue in sheet.cues),
            "talk_share": round(sheet.talk_ms / sheet.duration_ms, 4),
            "talk_share_asked": sheet.talk_share,
            "talk_limit": sheet.talk_limit,
            "quiet": [span.model_dump() for span in sheet.quiet],
            "left_out": [left.model_dump() for left in sheet.left_out],
            "notes": list(sheet.notes[len(found) :]),
        },
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
