"""`cuegen check PLAN`: what the script leaves out, why talk falls short, and a rower's tests."""

from __future__ import annotations

import json

import pytest

from tests.cli.running import CommandLine

PLAN = """title: By the weir
voice: small
talk_share: 10%
session: |
  warm-up 2:00 r18
  2 x 4:00 r20/22 @2:05/2:02 75/80%
  cool-down 2:00
"""


@pytest.fixture
def plan(cuegen: CommandLine) -> str:
    (cuegen.folder / "p.yaml").write_text(PLAN)
    return "p.yaml"


def test_names_what_was_left_out_and_why(cuegen: CommandLine, plan: str) -> None:
    report = json.loads(cuegen.run("check", plan, "--json").out)
    left = report["script"]["left_out"]
    assert left
    assert all(cue["why"] for cue in left)
    assert {"id", "kind", "text", "at_ms", "lost_to"} <= left[0].keys()
    shown = cuegen.run("check", plan).out
    assert "Left out at" in shown
    assert left[0]["id"] in shown


def test_weighs_the_plan_against_tests(cuegen: CommandLine, plan: str) -> None:
    hard = json.loads(cuegen.run("check", plan, "--json", "--test", "2k 9:30").out)["realism"]
    easy = json.loads(cuegen.run("check", plan, "--json", "--test", "2k 6:30").out)["realism"]
    assert hard[0]["verdict"] != easy[0]["verdict"]
    assert easy[0]["verdict"] == "within reach"


def test_a_test_that_cannot_be_understood_is_bad_input(cuegen: CommandLine, plan: str) -> None:
    ran = cuegen.run("check", plan, "--test", "2k fast")
    assert ran.code == 2
    assert "2k fast" in ran.err
