"""`cuegen log` with the splits of the parts of a piece, joined by commas."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.running import CommandLine, Ran
from tests.cli.test_log import PLAN, kept, log, refused


@pytest.fixture(autouse=True)
def own_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test touches the log of whoever runs it."""
    path = tmp_path / "log.db"
    monkeypatch.setenv("CUEGEN_LOG", str(path))
    return path


def add_parts(cuegen: CommandLine) -> Ran:
    cuegen.write("thursday.yaml", PLAN)
    held = ("2:14.2,2:13.8,2:14.6", "2:11.0", "2:08,1", "-")
    return log(cuegen, "add", "Maren Holt", *held, "--plan", "thursday.yaml", "--day", "2026-11-20")


def test_parts_of_a_piece_are_joined_by_commas(cuegen: CommandLine, own_log: Path) -> None:
    """D: 3 / (1/134.2 + 1/133.8 + 1/134.6) = 134.199 s."""
    add_parts(cuegen)
    assert [(one.split_ms, one.parts_ms) for one in kept(own_log)] == [
        (134_200, (134_200, 133_800, 134_600)),
        (131_000, ()),
        (128_100, ()),
    ]


def test_the_help_says_that_parts_are_equally_long(cuegen: CommandLine) -> None:
    said = " ".join(log(cuegen, "add", "--help").out.replace("│", " ").split())
    assert "2:14.2,2:13.8, are the equally long parts of one piece" in said
    assert "equal in time, or in metres where the piece is given in metres" in said


def test_odd_parts_are_asked_about(cuegen: CommandLine, own_log: Path) -> None:
    said = refused(cuegen, "add", "Maren Holt", "0:58,1:12", "--rates", "20")
    assert "segment 1: part 1, 0:58.0, is faster than 1:10.0" in said
    said = refused(cuegen, "add", "Maren Holt", "2:14,2:34", "--rates", "20")
    assert "segment 1: part 2, 2:34.0, is 20.0 s slower than the part before it" in said
    assert not own_log.exists()


def test_a_list_shows_parts_where_there_are_any(cuegen: CommandLine) -> None:
    add_parts(cuegen)
    lines = log(cuegen, "list").out.splitlines()
    assert lines[0].split()[-3:] == ["split", "parts", "time"]
    assert lines[1].split()[-3:] == ["2:14.2", "2:14.2/2:13.8/2:14.6", "4:00"]
    assert lines[2].split()[-2:] == ["2:11.0", "4:00"]


def test_a_split_follows_corrected_parts(cuegen: CommandLine, own_log: Path) -> None:
    """D: 2 / (1/133 + 1/135) = 133.993 s."""
    add_parts(cuegen)
    ran = log(cuegen, "correct", "1", "--parts", "2:13.0,2:15.0")
    assert ran.out.splitlines()[:2] == [
        "split: 2:14.2 -> 2:14.0",
        "parts: 2:14.2/2:13.8/2:14.6 -> 2:13.0/2:15.0",
    ]
    assert "parts: 2:13.0/2:15.0 -> nothing" in log(cuegen, "correct", "1", "--parts", "-").out
    first, *_ = kept(own_log)
    assert (first.split_ms, first.parts_ms) == (134_000, ())


def test_a_split_that_its_parts_do_not_make_is_asked_about(cuegen: CommandLine) -> None:
    add_parts(cuegen)
    said = refused(cuegen, "correct", "1", "--split", "2:09.0")
    assert "number 1: its parts make 2:14.2, not 2:09.0" in said
    log(cuegen, "correct", "1", "--split", "2:09.0", "--parts", "2:09.0/2:09.0")
