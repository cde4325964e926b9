"""The phrase commands as a coach uses them, on our books and on one of their own."""

from __future__ import annotations

import json
import re
import wave
from itertools import pairwise
from pathlib import Path

import pytest
from mutagen.id3 import ID3

from cuegen.script.kinds import CUE_KINDS
from cuegen.script.phrasebook import house_books
from tests.cli.running import EXAMPLES, CommandLine

README = (EXAMPLES.parent / "README.md").read_text(encoding="utf-8")

OURS = """\
book: ours
extends: plain
lines:
  settle:
    - when: rest
      audience: solo
      lines: |
        Put the handle down, {{ rower }}, and look at the river. / Look at the river.
"""


class TestList:
    def test_counts_by_kind_case_and_theme(self, cuegen: CommandLine) -> None:
        ran = cuegen.run("phrases", "list")
        assert ran.code == 0
        lines = ran.out.splitlines()
        for row in (r" ?settle +rest +\d+ +\d+ +\d+ *", r" ?catch +20-60 +\d+ +\d+ .*"):
            assert any(re.fullmatch(row, line) for line in lines)
        assert lines[-1] == f"Books that come with cuegen: {', '.join(house_books())}"

    def test_counts_as_json(self, cuegen: CommandLine) -> None:
        facts = json.loads(cuegen.run("phrases", "list", "--json").out)
        assert facts["book"] == "plain"
        rows = {(row["kind"], row["case"]): row for row in facts["kinds"]}
        assert len(rows) == sum(len(s.cases) or 1 for s in CUE_KINDS.values() if s.written)
        assert rows["finish", None]["firm"] is True
        assert facts["wordings"] > facts["lines"] / 2
        (catch,) = (row for row in facts["themes"] if row["name"] == "catch")
        assert catch["rates"] == [20, 60]

    def test_lines_on_sample_values_and_what_they_may_mention(self, cuegen: CommandLine) -> None:
        cuegen.write("ours.yaml", OURS)
        ran = cuegen.run(
            "phrases", "list", "ours.yaml", "--kind", "settle", "--case", "rest",
            "--audience", "solo",
        )  # fmt: skip
        assert ran.code == 0
        lines = ran.out.splitlines()
        assert lines[1] == "cases: work, warm-up, paddle, rest"
        assert "  {{ rate | rate }}  the segment's rate or band of rates" in lines
        assert lines[-3:-1] == [
            "settle: rest, solo",
            "  Put the handle down, Robin, and look at the river. / Look at the river.",
        ]
        assert lines[-1].endswith(" lines")

    def test_lines_as_json_with_their_places(self, cuegen: CommandLine) -> None:
        cuegen.write("ours.yaml", OURS)
        ran = cuegen.run("phrases", "list", "ours.yaml", "--kind", "settle", "--json")
        line = json.loads(ran.out)["lines"][-1]
        assert (line["case"], line["audience"], line["line"]) == ("rest", "solo", 8)
        assert line["file"] == str(Path("ours.yaml").resolve())
        assert line["phrases"][1] == "Look at the river."

    @pytest.mark.parametrize(
        ("arguments", "said"),
        [
            (("--kind", "setle"), "Did you mean 'settle'?"),
            (("--kind", "settle", "--case", "wrok"), "Did you mean 'work'?"),
            (("--theme", "cathc"), "Did you mean 'catch'?"),
            (("plian",), "Did you mean 'plain'?"),
            (("gone.yaml",), "there is no such phrase book"),
        ],
    )
    def test_a_wrong_name_is_said(
        self, cuegen: CommandLine, arguments: tuple[str, ...], said: str
    ) -> None:
        ran = cuegen.run("phrases", "list", *arguments)
        assert (ran.code, ran.out) == (2, "")
        assert said in ran.err


class TestSpeak:
    def test_a_file_with_a_chapter_for_each_phrase(self, cuegen: CommandLine) -> None:
        cuegen.write("ours.yaml", OURS)
        ran = cuegen.run(
            "phrases", "speak", "ours.yaml", "--kind", "settle", "--case", "rest",
            "--audience", "solo", "--most", "2", "--voice", "small", "--out", "said.wav", "--json",
        )  # fmt: skip
        assert ran.code == 0, ran.err
        facts = json.loads(ran.out)
        phrases = facts["phrases"]
        assert facts["file"] == "said.wav"
        assert len(phrases) >= 2
        assert phrases[0]["at_ms"] == 0
        for before, after in pairwise(phrases):
            gap_ms = after["at_ms"] - before["at_ms"] - before["length_ms"]
            assert gap_ms in (600, 1_400)
        whole_ms = phrases[-1]["at_ms"] + phrases[-1]["length_ms"]
        assert 0 <= whole_ms - length_ms("said.wav") <= 1

    def test_prints_each_phrase_with_its_length(self, cuegen: CommandLine) -> None:
        ran = cuegen.run(
            "phrases", "speak", "--kind", "finish", "--most", "2", "--voice", "small", "-o", "out"
        )
        assert ran.code == 0, ran.err
        found = re.findall(r"^ ?0:(\d\d) +\d\.\d +(\S.*?) *$", ran.out, re.M)
        marked = chapters("out/plain-finish.mp3")
        assert len(found) >= 2
        assert [(int(at), text) for at, text in found] == [
            (at // 1000, text) for at, text in marked
        ]
        last = ran.out.splitlines()[-1]
        assert re.fullmatch(rf"{len(found)} phrases, 0:\d\d: out/plain-finish\.mp3", last)
        assert cuegen.names() == {"out/plain-finish.mp3"}

    def test_an_unknown_format_is_said_before_any_work(self, cuegen: CommandLine) -> None:
        ran = cuegen.run("phrases", "speak", "--kind", "finish", "--out", "said.aiff")
        assert ran.code == 2
        assert ".aiff" in ran.err
        assert cuegen.names() == set()

    def test_a_kind_is_asked_for(self, cuegen: CommandLine) -> None:
        ran = cuegen.run("phrases", "speak")
        assert ran.code == 2
        assert "--kind" in ran.err


FAULTY = """\
extends: plain
parts: [mine/gone.yaml]
lines:
  setle:
    - Swing along.
  settle:
    - "Hold {{ efort | percent }}."
    - ROW along at your own good pace!
"""


class TestLint:
    def test_a_sound_book_of_ones_own(self, cuegen: CommandLine) -> None:
        cuegen.write("ours.yaml", OURS)
        ran = cuegen.run("phrases", "lint", "ours.yaml")
        assert (ran.code, ran.err) == (0, "")
        assert ran.out.splitlines()[-1] == (
            "ours: 0 errors, 0 warnings in 2 phrases; lengths are estimated"
        )

    def test_all_faults_at_once_with_their_remedies(self, cuegen: CommandLine) -> None:
        cuegen.write("ours.yaml", FAULTY)
        ran = cuegen.run("phrases", "lint", "ours.yaml")
        assert ran.code == 1
        out = ran.out.splitlines()
        assert out[0].startswith("load, 3: ")
        assert out[1].startswith("  error: ours.yaml, line 2, column 9: 'mine/gone.yaml': there is")
        assert out[2].startswith("  error: ours.yaml, line 4, column 3: 'setle': there is no cue k")
        assert out[2].endswith("Did you mean 'settle'?")
        assert "a settle line has no field 'efort'. Did you mean 'effort'?" in out[3]
        assert out[-1].startswith("ours: 3 errors, 2 warnings in 1 phrase;")

    def test_findings_as_json(self, cuegen: CommandLine) -> None:
        cuegen.write("ours.yaml", FAULTY)
        ran = cuegen.run("phrases", "lint", "ours.yaml", "--json")
        assert ran.code == 1
        report = json.loads(ran.out)
        assert (report["errors"], report["warnings"], report["phrases"]) == (3, 2, 1)
        last = report["findings"][-1]
        assert last == {
            "rule": "exclamations",
            "severity": "warning",
            "file": str(Path("ours.yaml").resolve()),
            "line": 8,
            "text": "ROW along at your own good pace!",
            "problem": "an exclamation mark",
            "remedy": "End with a full stop.",
        }

    def test_one_rule_alone_and_so_many_of_it(self, cuegen: CommandLine) -> None:
        rows = "".join(f"    - {word} AND on.\n" for word in ("Ay", "Bee", "Cee"))
        cuegen.write("ours.yaml", f"extends: plain\nlines:\n  settle:\n    - Oh!\n{rows}")
        ran = cuegen.run("phrases", "lint", "ours.yaml", "--rule", "capitals", "--most", "2")
        assert ran.code == 0
        assert len(re.findall("AND in capitals", ran.out)) == 2
        assert "  and 1 more; --rule capitals --most 0 shows all" in ran.out
        assert "exclamation" not in ran.out

    def test_an_unknown_rule_is_said(self, cuegen: CommandLine) -> None:
        ran = cuegen.run("phrases", "lint", "--rule", "capitls")
        assert ran.code == 2
        assert "Did you mean 'capitals'?" in ran.err

    def test_lengths_by_a_voice(self, cuegen: CommandLine) -> None:
        text = "Let the handle go out and come back on one level line. " * 3
        cuegen.write("ours.yaml", f"extends: plain\nlines:\n  settle:\n    - {text}\n")
        ran = cuegen.run("phrases", "lint", "ours.yaml", "--voice", "small", "--rule", "length")
        assert ran.code == 0
        assert re.search(r"this lasts \d+\.\d\d s, over the 7\.00 s of a long settle form", ran.out)
        assert ran.out.splitlines()[-1].endswith("lengths are measured by the voice small")

    @pytest.mark.parametrize(
        ("book", "said"),
        [
            ("extends: ./ours.yaml\n", "extend one another in a circle"),
            ("extends: plian\n", "there is no phrase book 'plian'"),
            ("lines: [\n", "this bracket is not closed"),
            ("", "this file is empty"),
        ],
    )
    def test_a_book_that_cannot_be_read(self, cuegen: CommandLine, book: str, said: str) -> None:
        cuegen.write("ours.yaml", book)
        ran = cuegen.run("phrases", "lint", "ours.yaml")
        assert (ran.code, ran.out) == (2, "")
        assert said in ran.err


@pytest.mark.parametrize("command", ["list", "speak", "lint"])
def test_every_command_has_help_and_stands_in_the_readme(cuegen: CommandLine, command: str) -> None:
    ran = cuegen.run("phrases", command, "--help")
    assert ran.code == 0
    assert f"cuegen phrases {command}" in README


@pytest.mark.parametrize("name", house_books())
def test_every_book_is_named_in_the_readme(name: str) -> None:
    assert f"`{name}`" in README


def test_the_book_shown_in_the_readme_is_a_good_one(cuegen: CommandLine) -> None:
    (shown,) = re.findall(r"```yml\n(extends.*?)```", README, re.S)
    cuegen.write("ours.yaml", shown)
    (Path("mine")).mkdir()
    cuegen.write("mine/rests.yaml", "lines:\n  settle:\n    - Nothing to do, and time to do it.\n")
    ran = cuegen.run("phrases", "lint", "ours.yaml")
    assert ran.code == 0, ran.out


def test_a_plan_finds_its_book_from_its_own_folder(cuegen: CommandLine) -> None:
    (cuegen.folder / "club").mkdir()
    cuegen.write("club/ours.yaml", OURS.replace("rower", "rowr"))
    cuegen.write("club/plan.yaml", "phrase_book: ours.yaml\nsession: 5:00 r20\n")
    ran = cuegen.run("sheet", "club/plan.yaml", "--voice", "small")
    assert ran.code == 2
    assert f"{cuegen.folder / 'club/ours.yaml'}, line 8" in ran.err


def length_ms(name: str) -> float:
    """Return how long a .wav lasts; outside truth: the standard library's reader."""
    with wave.open(name, "rb") as file:
        return 1_000 * file.getnframes() / file.getframerate()


def chapters(name: str) -> list[tuple[int, str]]:
    """Return start and title of each chapter of an .mp3; outside truth: mutagen."""
    frames = ID3(name).getall("CHAP")  # type: ignore[no-untyped-call]
    return sorted((chap.start_time, str(chap.sub_frames["TIT2"])) for chap in frames)
