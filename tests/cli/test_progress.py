"""`cuegen progress`: a block looked back on, on the terminal and as files."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cuegen.handouts import handouts_of
from tests.cli.running import CommandLine
from tests.cli.test_block import HELD
from tests.plan.blocks import BLOCK, PLANS

MORE = HELD + "Edda Kolm,2031-03-12,18,2:12.2\nEdda Kolm,2031-03-12,20,2:08.9\n"


@pytest.fixture
def spring(cuegen: CommandLine) -> CommandLine:
    for name, text in (*PLANS.items(), ("spring.yaml", BLOCK), ("held.csv", MORE)):
        cuegen.write(name, text)
    return cuegen


def progress(spring: CommandLine, *more: str) -> str:
    ran = spring.run("progress", "spring.yaml", "--rower", "Edda Kolm", "-r", "held.csv", *more)
    assert ran.code == 0, ran.err
    return ran.out


def test_shows_what_was_held_against_what_was_asked(spring: CommandLine) -> None:
    out = progress(spring)
    row = next(line for line in out.splitlines() if "2:12.2" in line)
    assert "2:12.4" in row


def test_gives_it_to_scripts(spring: CommandLine) -> None:
    found = json.loads(progress(spring, "--json"))
    assert [piece["week"] for piece in found["pieces"]] == [1, 1, 1, 1, 2, 2]
    assert [piece["target_ms"] for piece in found["pieces"][4:]] == [132_400, 128_000]


@pytest.mark.parametrize("suffix", [".html", ".txt", ".svg", ".png", ".csv"])
def test_writes_a_file_and_notes_whose_it_is(
    spring: CommandLine, own_log: Path, suffix: str
) -> None:
    out = progress(spring, "--out", f"edda{suffix}")
    assert out.strip() == f"edda{suffix}"
    assert Path(f"edda{suffix}").stat().st_size > 100
    assert [one.path.name for one in handouts_of(own_log, "Edda Kolm")] == [f"edda{suffix}"]


def test_a_name_that_no_file_has_is_refused_before_any_work(spring: CommandLine) -> None:
    ran = spring.run("progress", "none.yaml", "--rower", "Edda Kolm", "--out", "edda.docx")
    assert ran.code == 2
    assert ".docx" in ran.err


def test_a_rower_with_nothing_yet_is_told_so(spring: CommandLine) -> None:
    ran = spring.run("progress", "spring.yaml", "--rower", "Tore Vass")
    assert ran.code == 0
    assert "Nothing rowed yet." in ran.out
