"""The coach's own voice from the list of lines to the checked track, by the commands alone."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from cuegen.clock import samples_at
from cuegen.script.candidate import Line
from cuegen.sheet.formats import load_sheet
from cuegen.voice.booth import Booth, open_booth
from tests.cli.running import EXAMPLES, CommandLine
from tests.takes.coach import Room, in_room, recorded, save

pytestmark = pytest.mark.slow

PLAN = """\
title: By the slip
voice: small
talk_share: 15%
session: |
  warm-up 0:40 r18
  1:00 r20 @2:10
"""


@pytest.fixture(scope="module")
def coach() -> Iterator[Booth]:
    with open_booth("natural") as opened:
        yield opened


def listed(cuegen: CommandLine, *options: str) -> list[dict[str, str]]:
    ran = cuegen.run("takes", "list", "p.yaml", "--json", *options)
    assert ran.code == 0, ran.err
    lines: list[dict[str, str]] = json.loads(ran.out)["lines"]
    return lines


def record(coach: Booth, text: str, path: Path, seed: int = 1) -> None:
    path.parent.mkdir(exist_ok=True)
    room = Room(mains=50.02, hum=1.0, gain_db=-8.0, seed=seed)
    save(path, recorded(coach.clip(Line(text)).samples, 400 + 100 * (seed % 7), 300, room))


def numbers(path: Path) -> dict[str, str]:
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return {row["words"]: row["number"] for row in rows}


@pytest.mark.parametrize("command", ["list", "check", "cut"])
def test_every_takes_command_has_help(cuegen: CommandLine, command: str) -> None:
    ran = cuegen.run("takes", command, "--help")
    assert ran.code == 0
    assert "Usage" in ran.out


def test_the_list_names_each_line_once_with_its_room(cuegen: CommandLine) -> None:
    cuegen.write("p.yaml", PLAN)
    cuegen.run("sheet", "p.yaml", "--out", "p.sheet.json")
    lines = listed(cuegen)
    texts = [cue.text for cue in load_sheet("p.sheet.json").cues]
    assert [line["text"] for line in lines] == list(dict.fromkeys(texts))
    assert {line["state"] for line in lines} == {"missing"}
    shown = cuegen.run("takes", "list", "p.yaml")
    assert f"{len(lines)} lines, 0 of them recorded." in shown.out
    assert listed(cuegen) == lines
    by_sheet = cuegen.run("takes", "list", "p.sheet.json", "--json")
    assert json.loads(by_sheet.out)["lines"] == lines


@pytest.mark.parametrize("ending", ["csv", "txt", "md"])
def test_the_list_is_written_as_its_name_says(cuegen: CommandLine, ending: str) -> None:
    cuegen.write("p.yaml", PLAN)
    ran = cuegen.run("takes", "list", "p.yaml", "--out", f"t/lines.{ending}")
    assert (ran.code, ran.out) == (0, f"t/lines.{ending}\n")
    text = Path(f"t/lines.{ending}").read_text(encoding="utf-8")
    for line in listed(cuegen):
        assert line["name"] in text


def test_a_list_of_another_ending_is_refused(cuegen: CommandLine) -> None:
    cuegen.write("p.yaml", PLAN)
    ran = cuegen.run("takes", "list", "p.yaml", "--out", "lines.pdf")
    assert ran.code == 2
    assert "a list of lines ends in .csv, .txt or .md" in ran.err


def test_an_edited_wording_asks_only_for_the_changed_take(
    cuegen: CommandLine, coach: Booth
) -> None:
    own = "say:\n  - {piece: 1, after: '0:30', text: Long and calm here.}\n"
    cuegen.write("p.yaml", PLAN + own)
    cuegen.run("takes", "list", "p.yaml", "--out", "t/lines.csv")
    for line in listed(cuegen):
        Path("t", f"{line['number']:02d}.wav").write_bytes(b"")
    cuegen.write("p.yaml", PLAN + own.replace("calm", "easy"))
    states = {line["text"]: (line["state"], line["was"]) for line in listed(cuegen, "--takes", "t")}
    assert states.pop("Long and easy here.") == ("changed", "Long and calm here.")
    assert {state for state, _ in states.values()} == {"recorded"}
    before = numbers(Path("t/lines.csv"))
    cuegen.run("takes", "list", "p.yaml", "--out", "t/lines.csv")
    after = numbers(Path("t/lines.csv"))
    assert before.items() <= after.items()
    assert int(after["Long and easy here."]) == max(map(int, before.values())) + 1


def test_check_says_what_cannot_be_used_and_leaves_with_1(
    cuegen: CommandLine, coach: Booth
) -> None:
    cuegen.write("p.yaml", PLAN)
    first, second, third = (line["text"] for line in listed(cuegen)[:3])
    record(coach, first, Path(f"t/{first}.wav"))
    record(coach, third, Path("t/2.wav"), seed=2)
    ran = cuegen.run("takes", "check", "t", "p.yaml")
    assert ran.code == 1
    assert f"2.wav: other line: says line 3, '{third}'" in ran.out
    assert "1 takes can be used, 1 cannot" in ran.out
    facts = json.loads(cuegen.run("takes", "check", "t", "p.yaml", "--json").out)
    assert [[fault["kind"] for fault in take["faults"]] for take in facts["takes"]] == [
        [],
        ["other line"],
    ]
    assert facts["takes"][0]["onset_ms"] == pytest.approx(510, abs=20)
    assert facts["takes"][0]["measures"]["hum_hz"] == 50
    Path("t/2.wav").unlink()
    again = cuegen.run("takes", "check", "t", "p.yaml", "--rename")
    assert again.code == 0
    assert [path.name for path in Path("t").iterdir()] == [f"{listed(cuegen)[0]['name']}.wav"]
    assert second in [line["text"] for line in listed(cuegen, "--takes", "t")]


@pytest.mark.spoken
def test_a_track_with_takes_is_right_and_is_checked_again_without_the_folder(
    cuegen: CommandLine, coach: Booth, tmp_path: Path
) -> None:
    """Takes and voice are both in the track, all on time. Without the cache the takes are made
    again from their folder; the voice is one that says a line the same way every time."""
    cuegen.monkeypatch.setenv("CUEGEN_CACHE", str(tmp_path / "cache"))
    cuegen.write("p.yaml", PLAN.replace("small", "natural"))
    lines = listed(cuegen)
    for number, line in enumerate(lines[::2]):
        record(coach, line["text"], Path(f"t/{line['name']}.wav"), seed=number)
    save(Path(f"t/{lines[1]['name']}.wav"), np.zeros(samples_at(500)))
    made = cuegen.run("track", "p.yaml", "--takes", "t", "--out", "out/t.flac")
    assert (made.code, made.out.splitlines()[-1][:3]) == (0, "OK:"), made.out
    assert f"{lines[1]['name']}.wav is not used: empty: nobody speaks" in made.err
    sheet = load_sheet("out/t.sheet.json")
    assert sheet.sound.takes is not None
    assert sheet.sound.takes.folder == "../t"
    noted = {take.text for take in sheet.sound.takes.lines}
    said = {cue.text for cue in sheet.cues}
    assert noted == said & {line["text"] for line in lines[::2]}
    assert len(noted) > 5
    words = json.loads(Path("out/t.report.json").read_text(encoding="utf-8"))["counts"]
    assert words["heard_words"] == words["planned_words"] > 10
    Path("t").rename("gone")
    assert cuegen.run("check", "out/t.flac").code == 0
    cuegen.monkeypatch.setenv("CUEGEN_CACHE", str(tmp_path / "another"))
    lost = cuegen.run("check", "out/t.flac")
    assert lost.code == 2
    assert "this folder of takes cannot be read" in lost.err
    assert cuegen.run("check", "out/t.flac", "--takes", "gone").code == 0


def test_a_sheet_that_was_made_is_given_takes_afterwards(
    cuegen: CommandLine, coach: Booth, tmp_path: Path
) -> None:
    """Its lines stay where they are; a take too long for its place gives way to the voice.

    The session's voice is small, the coach's natural.
    """
    cuegen.write("p.yaml", PLAN)
    cuegen.run("sheet", "p.yaml", "--out", "p.sheet.json")
    before = load_sheet("p.sheet.json")
    good = "Go."
    two = next(line["text"] for line in listed(cuegen) if line["text"].count(". ") == 1)
    record(coach, good, Path("t/Go.wav"))
    first, second = two.split(". ")
    parts = [coach.clip(Line(text)).samples for text in (f"{first}.", second)]
    slow = np.concatenate([np.zeros(9_600), parts[0], np.zeros(samples_at(2_500)), parts[1]])
    save(Path(f"t/{two}.wav"), in_room(slow, Room()))
    made = cuegen.run("track", "p.sheet.json", "--takes", "t", "--out", "t.flac")
    assert (made.code, made.out.splitlines()[-1][:3]) == (0, "OK:"), made.out
    after = load_sheet("t.sheet.json")
    assert [cue.at_ms for cue in after.cues] == [cue.at_ms for cue in before.cues]
    assert after.sound.takes is not None
    assert [take.text for take in after.sound.takes.lines] == [good]
    assert f"{two}.wav is not used: too long: lasts " in made.err
    # A sheet made with takes is rendered with them again, and needs no option for it.
    assert cuegen.run("track", "t.sheet.json", "--out", "u.flac").code == 0
    assert load_sheet("u.sheet.json") == after


def test_a_long_recording_is_cut_and_used(cuegen: CommandLine, coach: Booth) -> None:
    cuegen.write("p.yaml", PLAN)
    lines = listed(cuegen)[:6]
    parts = [np.zeros(samples_at(700))]
    for line in lines:
        clip = coach.clip(Line(line["text"])).samples.astype(np.float64)
        parts += [clip, np.zeros(samples_at(1_200))]
    save(Path("long.wav"), in_room(np.concatenate(parts), Room(hum=1.0, gain_db=-8.0)))
    ran = cuegen.run("takes", "cut", "long.wav", "p.yaml", "--into", "t")
    assert ran.code == 0, ran.out
    assert ran.out.splitlines()[-1].startswith("6 takes, 0 unsure, ")
    assert {path.name for path in Path("t").iterdir()} == {f"{line['name']}.wav" for line in lines}
    assert cuegen.run("takes", "check", "t", "p.yaml").code == 0
    again = cuegen.run("takes", "cut", "long.wav", "p.yaml", "--into", "t", "--json")
    assert len(json.loads(again.out)["kept"]) == 6


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("check", "nowhere", "p.yaml"), "nowhere: this folder of takes cannot be read"),
        (("list", "p.yaml", "--takes", "nowhere"), "nowhere: this folder of takes cannot be read"),
        (("cut", "x.m4a", "p.yaml", "--into", "t"), "x.m4a: there is no such audio file"),
        (("list", "none.yaml"), "none.yaml: there is no such plan"),
    ],
)
def test_input_that_cannot_be_used_is_said_with_exit_code_2(
    cuegen: CommandLine, arguments: tuple[str, ...], message: str
) -> None:
    cuegen.write("p.yaml", PLAN)
    ran = cuegen.run("takes", *arguments)
    assert ran.code == 2
    assert message in ran.err


def test_a_week_of_a_block_lists_its_own_lines(cuegen: CommandLine) -> None:
    block = str(EXAMPLES / "blocks" / "harbour-block.yaml")
    ran = cuegen.run("takes", "list", block, "--week", "1", "--voice", "small", "--json")
    assert ran.code == 0, ran.err
    assert len(json.loads(ran.out)["lines"]) > 40
