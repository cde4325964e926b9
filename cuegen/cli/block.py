"""`cuegen block`: the weeks of a block, and the targets of one with their reasons."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from cuegen.cli.made import note_made
from cuegen.cli.terminal import (
    JsonOption,
    ResultsOption,
    WeekOption,
    add_row,
    console,
    plain_table,
)

if TYPE_CHECKING:
    from cuegen.occasion import Occasion
    from cuegen.plan.block import BlockPlan
    from cuegen.targets.outline import Outline, PlannedSegment


def block(
    path: Annotated[Path, typer.Argument(metavar="BLOCK", help="A block file (.yaml).")],
    *,
    week: WeekOption = None,
    rower: Annotated[
        list[str] | None,
        typer.Option("--rower", help="Only this rower's targets; may come again."),
    ] = None,
    group: Annotated[bool, typer.Option("--group", help="Only the group's targets.")] = False,
    results: ResultsOption = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Write the week as a plan of its own (.yaml)."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Show the weeks of a block; with --week, everybody's targets of that week and why.

    Results come from your results log, or from --results.
    """
    from cuegen.occasion import given, occasion_of, own_log
    from cuegen.plan.block_reading import load_block

    found = load_block(path)
    if week is None:
        if rower or group or out:
            raise typer.BadParameter("--rower, --group and --out are of one week: add --week")
        _show_weeks(found, as_json)
        return
    source = results if results is not None else own_log()
    whom: list[str | None] = [None] if group or not (rower or found.rowers) else []
    whom.extend(rower if rower else () if group else [one.name for one in found.rowers])
    weeks = [occasion_of(found, week, given(source, name), name) for name in whom]
    if out is not None:
        _write_plan(weeks, out)
        return
    laid = [one.outline() for one in weeks]
    if as_json:
        _print({"block": found.name, "week": week, "for": [_plain(one) for one in laid]})
        return
    _show_targets(found, week, laid)


def _show_weeks(block: BlockPlan, as_json: bool) -> None:
    from cuegen.clock import clock_text
    from cuegen.occasion import occasion_of

    weeks = [(week, occasion_of(block, week.number, None)) for week in block.weeks]
    rows = [
        {
            "week": week.number,
            "begins": block.first_day(week.number).isoformat(),
            "session": week.session.title,
            "progress": str(week.progress),
            "rowing_ms": (laid := what.outline()).row_end_ms - laid.lead_in_ms,
            "rates": _rates(laid),
        }
        for week, what in weeks
    ]
    if as_json:
        rowers = [one.name for one in block.rowers]
        _print({"block": block.name, "rowers": rowers, "weeks": rows})
        return
    out = console()
    out.print(block.name, style="bold", markup=False)
    table = plain_table("week", "begins", "session", "progress", "rates", "rowing")
    for row in rows:
        cells = [str(row[name]) for name in ("week", "begins", "session", "progress", "rates")]
        add_row(table, *cells, clock_text(int(str(row["rowing_ms"]))))
    out.print(table)
    if block.rowers:
        names = ", ".join(one.name for one in block.rowers)
        out.print(f"Rowers: {names}. Their targets, and why: --week N.", markup=False)


def _rates(laid: Outline) -> str:
    rates = [str(one.segment.rate.middle) for one in _pieces(laid) if one.segment.rate]
    return "/".join(f"{float(rate):g}" for rate in dict.fromkeys(rates))


def _pieces(laid: Outline) -> list[PlannedSegment]:
    return [one for one in laid.segments if one.segment.spec.is_work]


def _show_targets(block: BlockPlan, week: int, laid: list[Outline]) -> None:
    from cuegen.clock import clock_text

    out = console()
    plan = block.week(week)
    out.print(f"{block.name}, week {week}: {plan.progress}", style="bold", markup=False)
    for one in laid:
        out.print()
        out.print(one.rower or "The group", style="bold", markup=False)
        table = plain_table("piece", "length", "rate", "target", "effort", "why")
        for number, piece in enumerate(_pieces(one), start=1):
            rate = piece.segment.rate
            add_row(
                table,
                str(number),
                clock_text(piece.length_ms),
                f"{rate.middle:g}" if rate else "",
                _target(piece),
                f"{piece.effort_pct} %",
                piece.reason.partition("; reckoned at ")[0],
            )
        out.print(table)
    out.print(
        "Targets are offers. A qualified coach who sees the rower goes before them.", markup=False
    )


def _target(piece: PlannedSegment) -> str:
    from cuegen.clock import split_text

    return "by effort" if piece.split_ms is None else split_text(piece.split_ms)


def _plain(laid: Outline) -> dict[str, Any]:
    return {
        "rower": laid.rower,
        "title": laid.session.title,
        "pieces": [
            {
                "segment": piece.index + 1,
                "length_ms": piece.length_ms,
                "rate": piece.segment.rate.middle if piece.segment.rate else None,
                "split_ms": piece.split_ms,
                "effort_pct": piece.effort_pct,
                "basis": piece.basis.value,
                "reason": piece.reason,
            }
            for piece in _pieces(laid)
        ],
    }


def _print(found: dict[str, Any]) -> None:
    typer.echo(json.dumps(found, indent=2, ensure_ascii=False).encode())


def _write_plan(weeks: list[Occasion], out: Path) -> None:
    from cuegen.files import write_text
    from cuegen.plan.writing import write_plan

    if len(weeks) != 1:
        raise typer.BadParameter("--out writes one plan: add --rower NAME or --group")
    if out.suffix.lower() not in (".yaml", ".yml"):
        raise typer.BadParameter(f"a plan is written as .yaml, not {out.suffix or 'without one'}")
    write_text(out, write_plan(weeks[0].session))
    note_made([out], weeks[0].session.rower, weeks[0].session.rower_say)
    typer.echo(str(out))
