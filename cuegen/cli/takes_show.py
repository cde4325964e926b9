"""How lists of lines, checked takes and cut recordings are shown and written."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from cuegen.cli.terminal import add_row, console, plain_table

if TYPE_CHECKING:
    from cuegen.takes.checking import CheckedFolder, CheckedTake
    from cuegen.takes.cutout import CutOut
    from cuegen.takes.listing import Listed, Standing


def save_list(
    standings: Sequence[Standing], before: Sequence[Listed], title: str, out: Path
) -> None:
    """Write a list of lines; the name's ending says how. Raises OutputError."""
    from cuegen.errors import OutputError, Where
    from cuegen.files import write_text
    from cuegen.takes.listing import to_csv, to_markdown, to_text

    ending = out.suffix.lower()
    if ending == ".csv":
        write_text(out, to_csv(standings, before))
    elif ending == ".txt":
        write_text(out, to_text(standings, title))
    elif ending == ".md":
        write_text(out, to_markdown(standings, title))
    else:
        raise OutputError(
            "a list of lines ends in .csv, .txt or .md",
            where=Where(file=str(out)),
            remedy="Name it lines.csv, in the folder of takes.",
        )


def show_list(standings: Sequence[Standing], *, as_json: bool) -> None:
    """Print a list of lines."""
    from cuegen.takes.listing import seconds, times_text

    if as_json:
        _print_json(
            {
                "lines": [
                    {**asdict(s.line), "state": s.state.value, "was": s.was or None}
                    for s in standings
                ]
            }
        )
        return
    table = plain_table("", "take", "words", "at most", "at", "")
    table.columns[1].overflow = "fold"
    for s in standings:
        line, room = s.line, f"{seconds(s.line.longest_ms)} s"
        words = (str(line.number), line.name, line.text)
        add_row(table, *words, room, times_text(line), s.state_words)
    out = console()
    out.print(table)
    done = sum(s.state == "recorded" for s in standings)
    out.print(f"{len(standings)} lines, {done} of them recorded.", markup=False)


def show_checked(checked: CheckedFolder, *, as_json: bool) -> None:
    """Print what was found out about the takes of a folder."""
    if as_json:
        _print_json(_checked_json(checked))
        return
    table = plain_table("take", "length", "at most", "first word", "level", "noise", "")
    table.columns[0].overflow = "fold"
    for one in checked.takes:
        add_row(table, *_row(one), bold=not one.is_good)
    out = console()
    if checked.takes:
        out.print(table)
    for one in checked.faulty:
        for fault in one.take.faults:
            out.print(f"{one.path.name}: {fault}. {fault.remedy}", style="red", markup=False)
    for one in checked.takes:
        if one.doubt and one.is_good:
            out.print(f"{one.path.name}: {one.doubt}.", style="yellow", markup=False)
    _tell_files("Left aside, another file goes before:", checked.doubles)
    _tell_files("No line of this session:", checked.strangers)
    good = len(checked.takes) - len(checked.faulty)
    out.print(
        f"{good} takes can be used, {len(checked.faulty)} cannot, "
        f"{len(checked.missing)} lines have none.",
        style="bold",
        markup=False,
    )


def _row(one: CheckedTake) -> tuple[str, ...]:
    from cuegen.takes.listing import seconds

    take, measures = one.take, one.take.measures
    faults = ", ".join(fault.kind for fault in take.faults)
    hum = f"{measures.hum_hz} Hz hum reduced" if measures.hum_hz else ""
    return (
        one.path.name,
        "" if take.length_ms is None else f"{take.length_ms / 1000:.2f} s",
        f"{seconds(one.line.longest_ms)} s",
        "" if take.onset_ms is None else f"{take.onset_ms / 1000:.3f} s",
        _figure(measures.level_lufs, "LUFS"),
        "" if measures.snr_db is None else f"-{measures.snr_db:.0f} dB",
        faults or ", ".join(word for word in ("in doubt" if one.doubt else "ok", hum) if word),
    )


def show_cutting(done: CutOut, *, as_json: bool) -> None:
    """Print what a long recording was cut into."""
    if as_json:
        _print_json(_cut_json(done))
        return
    from cuegen.clock import stamp_text

    out = console()
    table = plain_table("from", "to", "take", "words")
    for take in done.cutting.taken:
        add_row(table, stamp_text(take.start_ms), stamp_text(take.end_ms), take.name, take.text)
    if done.cutting.taken:
        out.print(table)
    for take in done.cutting.unsure:
        place, file = stamp_text(take.start_ms), done.files[take]
        words = f"{place}: not sure, may be {take.text!r}; listen to {file}"
        out.print(words, style="yellow", markup=False)
    for piece in done.cutting.left:
        place = f"{stamp_text(piece.start_ms)} to {stamp_text(piece.end_ms)}"
        out.print(f"{place}: none of the lines", markup=False)
    for take in done.cutting.superseded:
        out.print(f"{stamp_text(take.start_ms)}: {take.text!r} is said again later", markup=False)
    for name in done.kept:
        out.print(f"{name}: there already; --replace takes the new one", markup=False)
    for line in done.cutting.missing:
        out.print(f"missing: {line.number}, {line.text}", markup=False)
    out.print(
        f"{len(done.cutting.taken)} takes, {len(done.cutting.unsure)} unsure, "
        f"{len(done.cutting.missing)} lines missing.",
        style="bold",
        markup=False,
    )


def _tell_files(words: str, paths: Iterable[Path]) -> None:
    names = ", ".join(path.name for path in paths)
    if names:
        console().print(f"{words} {names}", markup=False)


def _figure(value: float | None, unit: str) -> str:
    return "" if value is None else f"{value:.1f} {unit}"


def _checked_json(checked: CheckedFolder) -> dict[str, Any]:
    return {
        "takes": [_take_json(one) for one in checked.takes],
        "missing": [line.name for line in checked.missing],
        "doubles": [path.name for path in checked.doubles],
        "strangers": [path.name for path in checked.strangers],
    }


def _take_json(one: CheckedTake) -> dict[str, Any]:
    take = one.take
    onset_ms = None if take.onset_ms is None else round(take.onset_ms, 2)
    return {
        "file": one.path.name,
        "take": one.line.name,
        "number": one.line.number,
        "words": one.line.text,
        "length_ms": take.length_ms,
        "longest_ms": one.line.longest_ms,
        "onset_ms": onset_ms,
        "follows": take.follows,
        "fit": None if take.said is None else take.said.fit,
        "measures": {
            name: None if value in (float("inf"), float("-inf")) else value
            for name, value in asdict(take.measures).items()
        },
        "faults": [
            {"kind": f.kind.value, "problem": f.problem, "remedy": f.remedy} for f in take.faults
        ],
        "doubt": one.doubt or None,
    }


def _cut_json(done: CutOut) -> dict[str, Any]:
    def shown(takes: Iterable[Any]) -> list[dict[str, Any]]:
        return [
            {**asdict(t), "file": str(done.files[t]) if t in done.files else None} for t in takes
        ]

    return {
        "taken": shown(done.cutting.taken),
        "superseded": shown(done.cutting.superseded),
        "unsure": shown(done.cutting.unsure),
        "left": [asdict(piece) for piece in done.cutting.left],
        "kept": list(done.kept),
        "missing": [line.name for line in done.cutting.missing],
    }


def _print_json(data: dict[str, Any]) -> None:
    typer.echo(json.dumps(data, indent=2, ensure_ascii=False).encode())
