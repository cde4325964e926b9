"""A coach edits one line in a spreadsheet, and one line is spoken anew: all else is kept.

The natural voice, on a session of two minutes. What is spoken is counted by the
clips that the commands leave in an empty cache folder.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from cuegen.sheet.formats import load_sheet
from cuegen.voice.cache import CACHE_VARIABLE
from tests.cli.running import CommandLine

PLAN = """\
title: Two minutes by the lock
lead_in: 0:25
session: |
  warm-up 0:45 r18
  0:45 r20 @2:14
  cool-down 0:30
"""

Table = list[list[str]]
AT, TEXT = 1, 5


def clips(folder: Path) -> set[str]:
    return {path.name for path in folder.rglob("*.clip")}


def saved_by_a_spreadsheet(path: Path, edit: Callable[[Table], None]) -> None:
    """Rewrite a CSV as spreadsheets do: semicolons, quotes, CRLF, byte-order mark.

    The apostrophes before times are gone, and decimals are cut to one with a comma.
    """
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8-sig"), newline="")))
    for row in rows[1:]:
        row[AT] = row[AT].removeprefix("'").replace(".", ",")[:-2]
    edit(rows)
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=";", quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8-sig", newline="")


def row_like(rows: Table, ending: str) -> list[str]:
    return next(row for row in rows if row[0].endswith(ending))


@pytest.mark.spoken
@pytest.mark.slow
def test_one_edited_line_is_the_only_one_spoken_anew(cuegen: CommandLine, tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    cuegen.monkeypatch.setenv(CACHE_VARIABLE, str(cache))
    cuegen.write("p.yaml", PLAN)
    for name in ("p.sheet.json", "s.csv"):
        assert cuegen.run("sheet", "p.yaml", "--out", name).code == 0
    before = clips(cache)
    assert len(before) > 20

    def edit(rows: Table) -> None:
        line = row_like(rows, ".cool-down.1")
        line[TEXT] = "Loosen both hands \N{EN DASH} 8 easy strokes."

    saved_by_a_spreadsheet(cuegen.folder / "s.csv", edit)
    merged = cuegen.run("sheet", "p.yaml", "--edits", "s.csv", "--out", "e.sheet.json")
    assert merged.code == 0, merged.err
    spoken = clips(cache) - before
    assert len(spoken) == 1

    made = cuegen.run("track", "e.sheet.json", "--out", "t.opus")
    assert (made.code, made.out.splitlines()[-1][:3]) == (0, "OK:"), made.out + made.err
    assert clips(cache) - before == spoken
    report = json.loads((cuegen.folder / "t.report.json").read_text(encoding="utf-8"))
    assert report["verdict"] == "ok"

    shown = cuegen.run("changes", "p.sheet.json", "e.sheet.json", "--json")
    (change,) = json.loads(shown.out)["cues"]
    assert (change["text"], change["moved_ms"]) == (
        "Loosen both hands - eight easy strokes.",
        0,
    )


@pytest.mark.spoken
@pytest.mark.slow
def test_a_line_that_only_moves_is_not_spoken_at_all(cuegen: CommandLine, tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    cuegen.monkeypatch.setenv(CACHE_VARIABLE, str(cache))
    cuegen.write("p.yaml", PLAN.replace("lead_in", "voice: small\nlead_in"))
    cuegen.run("sheet", "p.yaml", "--out", "s.csv")
    before = clips(cache)

    def edit(rows: Table) -> None:
        row_like(rows, ".cool-down.1")[AT] = "2:08"

    saved_by_a_spreadsheet(cuegen.folder / "s.csv", edit)
    merged = cuegen.run("sheet", "p.yaml", "--edits", "s.csv", "--out", "e.sheet.json")
    assert merged.code == 0, merged.err
    cues = {cue.id: cue.at_ms for cue in load_sheet(cuegen.folder / "e.sheet.json").cues}
    assert next(at for name, at in cues.items() if name.endswith(".cool-down.1")) == 128_000
    assert cuegen.run("track", "e.sheet.json", "--out", "t.wav").code == 0
    assert clips(cache) == before


BROKEN: dict[str, tuple[Callable[[Table], None], str, str]] = {
    "an overlap": (
        lambda rows: row_like(rows, ".target").__setitem__(AT, "0:22,5"),
        "column B 'at'",
        "overlap",
    ),
    "a firm cue that moved": (
        lambda rows: row_like(rows, "s02.beat.go").__setitem__(AT, "1:11"),
        "column B 'at'",
        "the firm cue 's02.beat.go' was moved from 1:10.000",
    ),
    "an emptied text": (
        lambda rows: row_like(rows, "welcome").__setitem__(TEXT, ""),
        "row 2, column F 'text'",
        "there is nothing to say",
    ),
    "an unknown id": (
        lambda rows: row_like(rows, "welcome").__setitem__(0, "wellcome"),
        "row 2, column A 'id'",
        "Did you mean 'welcome'?",
    ),
    "a firm row that is gone": (
        lambda rows: rows.remove(row_like(rows, "s02.beat.2")),
        "column A 'id'",
        "the row of the firm cue 's02.beat.2' (1:08.000 'Two.') is gone from above this one",
    ),
}


@pytest.mark.slow
def test_what_an_edit_breaks_is_said_and_nothing_is_written(
    cuegen: CommandLine, tmp_path: Path
) -> None:
    cuegen.monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path / "cache"))
    cuegen.write("p.yaml", PLAN.replace("lead_in", "voice: small\nlead_in"))
    cuegen.run("sheet", "p.yaml", "--out", "p.sheet.json")
    cuegen.run("sheet", "p.sheet.json", "--out", "s.csv")
    whole = (cuegen.folder / "s.csv").read_bytes()
    for case, (edit, cell, message) in BROKEN.items():
        (cuegen.folder / "s.csv").write_bytes(whole)
        saved_by_a_spreadsheet(cuegen.folder / "s.csv", edit)
        ran = cuegen.run("sheet", "p.sheet.json", "--edits", "s.csv", "--out", "e.sheet.json")
        assert ran.code == 2, case
        assert cell in ran.err, case
        assert message in ran.err, case
    assert cuegen.names() == {"p.yaml", "p.sheet.json", "s.csv"}
