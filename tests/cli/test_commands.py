"""The commands as a coach uses them, from a new plan to a checked track."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cuegen.sheet.formats import load_sheet
from tests.cli.running import EXAMPLES, CommandLine


@pytest.mark.parametrize("command", ["new", "sheet", "track", "check", "voices"])
def test_every_command_has_help_and_stands_in_the_readme(cuegen: CommandLine, command: str) -> None:
    ran = cuegen.run(command, "--help")
    assert ran.code == 0
    assert "Usage" in ran.out
    readme = (EXAMPLES.parent / "README.md").read_text(encoding="utf-8")
    assert f"cuegen {command}" in readme


def test_new_writes_a_plan_that_reads_back(cuegen: CommandLine) -> None:
    ran = cuegen.run(
        "new", "ladder", "rungs=3", "longest=3:00", "--title", "Mine", "--out", "p.yaml"
    )
    assert ran.code == 0
    checked = cuegen.run("check", "p.yaml", "--json")
    assert checked.code == 0
    facts = json.loads(checked.out)
    assert facts["title"] == "Mine"
    # warm-up, 3 rungs with 2 paddles between, cool-down
    assert len(facts["segments"]) == 7


def test_check_of_a_plan_warns_of_what_is_unsafe(cuegen: CommandLine) -> None:
    cuegen.write("p.yaml", "session: |\n  20:00 r42 95%\n")
    ran = cuegen.run("check", "p.yaml")
    assert ran.code == 0
    assert "warm-up" in ran.out.lower()
    assert "cool-down" in ran.out.lower()
    assert "42" in ran.out


@pytest.mark.spoken
@pytest.mark.slow
def test_a_track_is_made_checked_and_found_out_when_it_is_cut(cuegen: CommandLine) -> None:
    cuegen.run(
        "new", "steps", "count=2", "work=1:00", "warm_up=2:00", "cool_down=2:00", "-o", "p.yaml"
    )
    made = cuegen.run("track", "p.yaml", "--voice", "small", "--out", "t.opus")
    assert (made.code, made.out.splitlines()[-1][:3]) == (0, "OK:")
    assert cuegen.names() == {
        "p.yaml", "t.opus", "t.sheet.json", "t.vtt", "t.chapters.vtt", "t.report.json",
    }  # fmt: skip
    assert cuegen.run("check", "t.opus").code == 0
    whole = Path("t.opus").read_bytes()
    Path("t.opus").write_bytes(whole[: len(whole) // 2])
    cut = cuegen.run("check", "t.opus", "--json")
    assert cut.code == 1
    report = json.loads(cut.out)
    assert report["verdict"] == "failed"
    last = load_sheet("t.sheet.json").cues[-1].id
    assert last in {fault["cue"] for fault in report["faults"]}


@pytest.mark.slow
def test_an_edited_csv_comes_back_and_is_rendered(cuegen: CommandLine) -> None:
    cuegen.run(
        "new", "steps", "count=2", "work=1:00", "warm_up=2:00", "cool_down=2:00", "-o", "p.yaml"
    )
    cuegen.run("sheet", "p.yaml", "--voice", "small", "--out", "p.sheet.json")
    cuegen.run("sheet", "p.sheet.json", "--out", "p.csv")
    before = load_sheet("p.sheet.json")
    settle = next(cue for cue in before.cues if cue.kind == "settle")
    text = Path("p.csv").read_text(encoding="utf-8")
    Path("p.csv").write_text(text.replace(settle.text, "Row well."), encoding="utf-8")
    ran = cuegen.run("sheet", "p.sheet.json", "--edits", "p.csv", "--out", "q.sheet.json")
    assert ran.code == 0, ran.err
    after = {cue.id: cue.text for cue in load_sheet("q.sheet.json").cues}
    assert after[settle.id] == "Row well."
    assert cuegen.run("track", "q.sheet.json", "--out", "q.wav").code == 0


@pytest.mark.spoken
@pytest.mark.slow
def test_a_cache_that_takes_nothing_is_said_and_the_track_made(
    cuegen: CommandLine, tmp_path: Path
) -> None:
    (tmp_path / "no-folder").write_text("in the way", encoding="utf-8")
    cuegen.monkeypatch.setenv("CUEGEN_CACHE", str(tmp_path / "no-folder"))
    cuegen.write("p.yaml", "session: 1:30 r20\n")
    ran = cuegen.run("track", "p.yaml", "--voice", "small", "--out", "t.flac")
    assert (ran.code, ran.out.splitlines()[-1][:3]) == (0, "OK:")
    assert ran.err.count("spoken lines are not kept for next time") == 1
