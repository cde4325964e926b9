"""`cuegen block`, and `--week` wherever a plan is taken."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cuegen.plan.reading import load_plan
from tests.cli.running import CommandLine
from tests.plan.blocks import BLOCK, PLANS

HELD = (
    "rower,date,rate,split\n"
    "Edda Kolm,2031-03-05,18,2:16\nEdda Kolm,2031-03-05,20,2:12.4\n"
    "Edda Kolm,2031-03-05,22,2:08\nEdda Kolm,2031-03-05,24,2:05.2\n"
)


@pytest.fixture
def spring(cuegen: CommandLine) -> CommandLine:
    for name, text in (*PLANS.items(), ("spring.yaml", BLOCK), ("held.csv", HELD)):
        cuegen.write(name, text)
    return cuegen


def test_shows_the_weeks(spring: CommandLine) -> None:
    spring.monkeypatch.setenv("COLUMNS", "200")
    ran = spring.run("block", "spring.yaml")
    assert ran.code == 0
    for words in ("Weir spring", "2031-03-10", "same splits, 2 strokes lower", "16/18/20/22"):
        assert words in ran.out


def test_shows_everybody_s_targets_and_why(spring: CommandLine) -> None:
    spring.monkeypatch.setenv("COLUMNS", "200")
    ran = spring.run("block", "spring.yaml", "--week", "2", "--results", "held.csv")
    assert ran.code == 0
    assert (
        "Edda Kolm held 2:12.4 at rate 20 a week ago (2031-03-05); at rate 18 that is 11 %"
        in ran.out
    )
    assert "no results of Tore Vass yet: led by effort, a modest step" in ran.out
    assert "A qualified coach who sees the rower goes before them." in ran.out


def test_gives_them_to_scripts(spring: CommandLine) -> None:
    ran = spring.run(
        "block", "spring.yaml", "-w", "2", "-r", "held.csv", "--rower", "edda kolm", "--json"
    )
    (one,) = json.loads(ran.out)["for"]
    assert one["rower"] == "Edda Kolm"
    assert [piece["split_ms"] for piece in one["pieces"]] == [136_000, 132_400, 128_000, 125_200]
    assert [piece["rate"] for piece in one["pieces"]] == [16, 18, 20, 22]


def test_writes_a_week_as_a_plan_of_its_own(spring: CommandLine) -> None:
    ran = spring.run("block", "spring.yaml", "-w", "2", "--rower", "Tore Vass", "-o", "two.yaml")
    assert ran.code == 0
    plan = load_plan(Path("two.yaml"))
    assert (plan.title, plan.rower, plan.rower_say) == (
        "Lock steps, week 2",
        "Tore Vass",
        "Toor-uh Vass",
    )


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--rower", "Edda Kolm"), "are of one week: add --week"),
        (("-w", "2", "-o", "two.yaml"), "writes one plan: add --rower NAME or --group"),
        (("-w", "2", "--group", "-o", "two.txt"), "a plan is written as .yaml"),
        (("-w", "9"), "has no week 9"),
        (("-w", "2", "--rower", "Edda Colm"), "Did you mean 'Edda Kolm'?"),
    ],
)
def test_a_wrong_word_gets_one_message(
    spring: CommandLine, arguments: tuple[str, ...], message: str
) -> None:
    ran = spring.run("block", "spring.yaml", *arguments)
    assert (ran.code, ran.out) == (2, "")
    assert message in " ".join(ran.err.split())


class TestWeek:
    def test_a_block_needs_one(self, spring: CommandLine) -> None:
        ran = spring.run("sheet", "spring.yaml")
        assert (ran.code, ran.out) == (2, "")
        assert "Say which one with --week, 1 to 5." in ran.err

    def test_a_plan_has_none(self, spring: CommandLine) -> None:
        ran = spring.run("sheet", "steps.yaml", "--week", "1")
        assert ran.code == 2
        assert "this plan is one session; it has no weeks" in ran.err

    def test_the_user_s_own_log_is_looked_up(self, spring: CommandLine) -> None:
        added = spring.run(
            "log", "add", "Edda Kolm", "2:16", "2:12.4", "2:08", "2:05.2", "--yes",
            "--rates", "18/20/22/24", "--day", "2031-03-05",
        )  # fmt: skip
        assert added.code == 0
        ran = spring.run(
            "sheet", "spring.yaml", "-w", "2", "--rower", "Edda Kolm", "--voice", "small", "--json"
        )
        sheet = json.loads(ran.out)
        work = [one for one in sheet["segments"] if one["kind"] == "row"]
        assert [one["split_ms"] for one in work] == [136_000, 132_400, 128_000, 125_200]
        assert sheet["title"] == "Lock steps, week 2"
        assert sheet["block"] == {"name": "Weir spring", "week": 2}

    def test_check_weighs_a_week(self, spring: CommandLine) -> None:
        ran = spring.run(
            "check", "spring.yaml", "-w", "2", "-r", "held.csv", "--rower", "Edda Kolm",
            "--voice", "small", "--test", "2k 8:00",
        )  # fmt: skip
        assert ran.code == 0
        assert "2:12.4" in ran.out
