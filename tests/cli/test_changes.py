"""`cuegen changes` as a coach uses it: sheets in JSON and CSV, a plan, and what it leaves with."""

from __future__ import annotations

import json

import pytest

from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.csv_format import to_text as csv_text
from cuegen.sheet.json_format import to_text as json_text
from tests.cli.running import EXAMPLES, CommandLine
from tests.sheet.samples import cues, sample_sheet


def reworded(name: str, text: str) -> CueSheet:
    return sample_sheet(
        cues=tuple(c.model_copy(update={"text": text}) if c.id == name else c for c in cues())
    )


@pytest.fixture
def old(cuegen: CommandLine) -> str:
    return cuegen.write("old.sheet.json", json_text(sample_sheet()))


def test_it_has_help_and_stands_in_the_readme(cuegen: CommandLine) -> None:
    ran = cuegen.run("changes", "--help")
    assert ran.code == 0
    assert "Usage" in ran.out
    assert "cuegen changes" in (EXAMPLES.parent / "README.md").read_text(encoding="utf-8")


def test_sheets_that_are_the_same_say_so_and_leave_with_0(cuegen: CommandLine, old: str) -> None:
    new = cuegen.write("new.sheet.json", json_text(sample_sheet()))
    ran = cuegen.run("changes", old, new)
    assert (ran.code, ran.out, ran.err) == (0, "The sheets are the same: 17 lines.\n", "")


def test_a_change_is_shown_on_the_rowing_clock_and_leaves_with_1(
    cuegen: CommandLine, old: str
) -> None:
    new = cuegen.write("new.sheet.json", json_text(reworded("cool.3", "Long [and] easy.")))
    ran = cuegen.run("changes", old, new)
    assert ran.code == 1
    shown = [" ".join(line.split()) for line in ran.out.splitlines() if line.strip()]
    assert shown[0] == "clock what change"
    assert shown[2:] == [
        "9:35 cool.3 reworded",
        "was: Long and light.",
        "now: Long [and] easy.",
        "1 line differs; 16 lines the same.",
    ]


def test_json_is_for_scripts(cuegen: CommandLine, old: str) -> None:
    new = cuegen.write("new.sheet.json", json_text(reworded("cool.3", "Long and easy.")))
    ran = cuegen.run("changes", old, new, "--json")
    assert ran.code == 1
    found = json.loads(ran.out)
    assert (found["different"], found["clock"], found["same"]) == (True, "rowing", 16)
    assert [(c["id"], c["was"], c["text"], c["clock_ms"]) for c in found["cues"]] == [
        ("cool.3", "Long and light.", "Long and easy.", 575_450)
    ]


@pytest.mark.parametrize("csv_first", [True, False])
def test_a_csv_is_compared_with_a_sheet_either_way(
    cuegen: CommandLine, old: str, csv_first: bool
) -> None:
    edited = cuegen.write("e.csv", csv_text(reworded("cool.3", "Long and easy.")))
    ran = cuegen.run("changes", *((edited, old) if csv_first else (old, edited)), "--json")
    assert ran.code == 1
    (change,) = json.loads(ran.out)["cues"]
    words = ("Long and light.", "Long and easy.")
    assert (change["was"], change["text"]) == (words[::-1] if csv_first else words)
    assert change["clock_ms"] == 575_450


def test_two_csvs_are_compared_on_the_track_clock(cuegen: CommandLine) -> None:
    first = cuegen.write("a.csv", csv_text(sample_sheet()))
    second = cuegen.write("b.csv", csv_text(reworded("cool.3", "Long and easy.")))
    ran = cuegen.run("changes", first, second)
    assert ran.code == 1
    assert ran.out.split()[:3] == ["track", "what", "change"]
    assert "10:00" in ran.out
    assert cuegen.run("changes", first, first).code == 0


@pytest.mark.parametrize(
    ("name", "text", "message"),
    [
        ("gone.sheet.json", None, "gone.sheet.json: there is no such cue sheet"),
        ("gone.csv", None, "gone.csv: there is no such CSV sheet"),
        ("s.vtt", "WEBVTT\n", "s.vtt: a webvtt file does not hold the whole sheet"),
        ("s.csv", "id,at,text\nx,soon,Hi.\n", "row 2, column B 'at': this is no time"),
    ],
)
def test_what_cannot_be_compared_leaves_with_2(
    cuegen: CommandLine, old: str, name: str, text: str | None, message: str
) -> None:
    if text is not None:
        cuegen.write(name, text)
    ran = cuegen.run("changes", old, name)
    assert ran.code == 2
    assert message in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.slow
def test_a_plan_is_compared_with_the_sheet_made_from_it(cuegen: CommandLine) -> None:
    plan = "voice: small\nsession: |\n  warm-up 2:00 r18\n  1:00 r20 @2:14\n"
    cuegen.write("p.yaml", plan)
    cuegen.run("sheet", "p.yaml", "--out", "p.sheet.json")
    assert cuegen.run("changes", "p.sheet.json", "p.yaml").code == 0
    cuegen.write("p.yaml", plan.replace("2:14", "2:12"))
    ran = cuegen.run("changes", "p.sheet.json", "p.yaml", "--json")
    assert ran.code == 1
    (segment,) = json.loads(ran.out)["segments"]
    assert segment["facts"] == [{"name": "target", "was": "2:14.0", "now": "2:12.0"}]
