"""`cuegen new`: a plan to start from, out of the ready-made shapes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.terminal import add_row, console, plain_table
from cuegen.errors import PlanError, Where

if TYPE_CHECKING:
    from rich.table import Table

    from cuegen.plan.shapes import ShapeSpec


def new(
    shape: Annotated[
        str | None, typer.Argument(help="One of the ready-made shapes; without it, they are shown.")
    ] = None,
    parameters: Annotated[
        list[str] | None,
        typer.Argument(metavar="[NAME=VALUE]...", help="As in: count=5 work=3:00 split=2:14"),
    ] = None,
    *,
    title: Annotated[
        str | None, typer.Option("--title", help="What the session is called.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="Write the plan here, not to the screen.")
    ] = None,
) -> None:
    """Write a plan from a ready-made shape: steps, ladder, pyramid, intervals, distance, steady."""
    from dataclasses import replace

    from cuegen.files import write_text
    from cuegen.plan.shapes import build_shape
    from cuegen.plan.writing import write_plan

    if shape is None:
        _show_shapes()
        return
    session = build_shape(shape, **_values(parameters or []))
    if title is not None:
        session = replace(session, title=title)
    text = write_plan(session)
    if out is None:
        typer.echo(text, nl=False)
        return
    if out.exists():
        raise PlanError(
            "a file of that name is there already",
            where=Where(file=str(out)),
            remedy="Name another one, or remove it first.",
        )
    write_text(out, text)
    typer.echo(str(out))


def _values(pairs: list[str]) -> dict[str, str]:
    values: dict[str, str] = {}
    for pair in pairs:
        name, equals, value = pair.partition("=")
        if not equals or not name or not value:
            raise PlanError(
                "a parameter is written NAME=VALUE",
                where=Where(text=pair),
                remedy="`cuegen new` alone lists them.",
            )
        values[name.replace("-", "_")] = value
    return values


def _show_shapes() -> None:
    from cuegen.plan.shapes import SHAPES

    out = console()
    for spec in SHAPES.values():
        out.print(f"{spec.name}: {spec.summary}", style="bold", markup=False)
        out.print(_parameter_table(spec))


def _parameter_table(spec: ShapeSpec) -> Table:
    table = plain_table("parameter", "default", "from", "to", "")
    for one in spec.parameters:
        default = "-" if one.default is None else one.text(one.default)
        add_row(table, one.name, default, one.text(one.low), one.text(one.high), one.help)
    return table
