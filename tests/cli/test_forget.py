"""`cuegen forget`: results, what was made, what was heard, and spoken lines, with one command."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cuegen.handouts import handouts_of, notes_folder
from cuegen.voice.cache import CACHE_VARIABLE, ClipCache
from tests.cli.running import CommandLine

PLAN = """\
title: A minute by the sluice
audience: solo
rower: {name: Edda Kolm, say: Edd-a Kolm}
voice: small
lead_in: 0:25
block: {name: Sluice spring, week: 1}
session: |
  1:00 r20 @last
say:
  - {at: "0:30", text: "Well rowed, Edda Kolm."}
"""
TWO = PLAN.replace("{name: Edda Kolm, say: Edd-a Kolm}", "Tore Vass").replace("Edda Kolm", "Tore")


@pytest.fixture
def made(cuegen: CommandLine, tmp_path: Path) -> CommandLine:
    """Tracks of two rowers, and a result of each."""
    cuegen.monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path / "cache"))
    for name, text, rower in (("edda", PLAN, "Edda Kolm"), ("tore", TWO, "Tore Vass")):
        cuegen.write(f"{name}.yaml", text)
        added = cuegen.run(
            "log", "add", rower, "2:10", "--rates", "20", "--day", "2031-03-05", "-y"
        )
        assert added.code == 0
        assert cuegen.run("track", f"{name}.yaml").code == 0
    return cuegen


@pytest.mark.spoken
def test_everything_of_a_rower_goes_and_nothing_else(
    made: CommandLine, tmp_path: Path, own_log: Path
) -> None:
    before, cache = made.names(), ClipCache(tmp_path / "cache")
    clips = cache.size().entries
    ran = made.run("forget", "edda kolm", "--yes")
    assert ran.code == 0, ran.err
    gone = {"edda.mp3", "edda.sheet.json", "edda.vtt", "edda.chapters.vtt", "edda.report.json"}
    assert before - made.names() == gone
    heard = json.loads(Path("sluice-spring.heard.json").read_text())
    assert [session["rower"] for session in heard["sessions"]] == ["Tore Vass"]
    assert 0 < clips - cache.size().entries < clips
    assert not any(b"Edd" in path.read_bytes() for path in (tmp_path / "cache").rglob("*.clip"))
    assert b"Edda" not in own_log.read_bytes()
    assert handouts_of(own_log, "Edda Kolm") == ()
    assert len(handouts_of(own_log, "Tore Vass")) == 6


def test_the_rest_still_works(made: CommandLine) -> None:
    made.run("forget", "Edda Kolm", "--yes")
    assert made.run("check", "tore.mp3").code == 0
    assert "Edda" not in made.run("log", "rowers").out


def test_a_rower_without_results_is_forgotten_too(made: CommandLine, own_log: Path) -> None:
    made.run("log", "forget", "Edda Kolm", "--yes")
    assert made.run("forget", "Edda Kolm", "--yes").code == 0
    assert handouts_of(own_log, "Edda Kolm") == ()


def test_nobody_is_forgotten_without_a_word(made: CommandLine) -> None:
    ran = made.run("forget", "Edda Kolm")
    assert ran.code == 2
    assert "Say --yes if it is meant" in ran.err
    assert Path("edda.mp3").exists()


def test_a_stranger_is_nobody(made: CommandLine, own_log: Path) -> None:
    ran = made.run("forget", "Edda Kolmm", "--yes")
    assert (ran.code, ran.out) == (2, "")
    assert "Did you mean 'Edda Kolm'?" in ran.err
    assert notes_folder(own_log).is_dir()


def test_where_there_is_nothing_at_all_it_says_so(cuegen: CommandLine) -> None:
    ran = cuegen.run("forget", "Edda Kolm", "--yes")
    assert ran.code == 2
    assert "nothing is known of a rower of that name" in ran.err
