"""`cuegen review`: from the log to a coach's words, on the terminal and in files."""

from __future__ import annotations

import json
import stat
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from cuegen.cli.review import review_session
from cuegen.log import LogEntry, open_log
from cuegen.plan.reading import read_plan
from cuegen.targets.reviewed import Outcome
from cuegen.targets.rowed import Result, Results
from tests.cli.running import CommandLine, Ran

PLAN = """\
title: Thursday by the slip
session: |
  warm-up 5:00 r18
  4 x 4:00 r17/19/21/23 @2:14/-3/-3/-3 70/75/80/85% (recovery/length/catch/legs)
  cool-down 4:00
"""
LAST = """\
title: Same splits
audience: solo
session: |
  warm-up 5:00 r18
  2 x 4:00 r18/20 @last
"""
DAY = date(2026, 11, 20)


@pytest.fixture(autouse=True)
def own_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test touches the log of whoever runs it."""
    path = tmp_path / "log.db"
    monkeypatch.setenv("CUEGEN_LOG", str(path))
    return path


@pytest.fixture
def thursday(cuegen: CommandLine) -> str:
    """A plan that Maren Holt rowed on 20 November: three targets held, the last one not."""
    cuegen.write("thursday.yaml", PLAN)
    held = ("2:14.2,2:13.8,2:14.6", "2:11.0", "2:08,1", "2:05.9,2:07.0,2:08.4,2:09.3")
    ran = cuegen.run("log", "add", "Maren Holt", *held, "--plan", "thursday.yaml", "--day",
                     "2026-11-20", "--felt", "70/75/85/100", "--heart-rate", "140")  # fmt: skip
    assert ran.code == 0, ran.err
    return "thursday.yaml"


def review(cuegen: CommandLine, *arguments: str) -> Ran:
    ran = cuegen.run("review", *arguments)
    assert ran.code == 0, ran.err
    return ran


def facts(cuegen: CommandLine, *arguments: str) -> dict[str, Any]:
    found = json.loads(review(cuegen, *arguments, "--json").out)
    assert isinstance(found, dict)
    return found


def refused(cuegen: CommandLine, *arguments: str) -> str:
    ran = cuegen.run("review", *arguments)
    assert (ran.code, ran.out) == (2, ""), ran
    assert "Traceback" not in ran.err
    return ran.err


# ------------------------------------------------------------- what is shown


def test_the_terminal_shows_words_then_figures(cuegen: CommandLine, thursday: str) -> None:
    """D: 4 / (1/134.2 + 1/131.0 + 1/128.1 + 1/127.6) = 130.17 s."""
    lines = [
        line.strip() for line in review(cuegen, thursday, "--rower", "maren holt").out.split("\n")
    ]
    assert lines[:5] == [
        "Thursday by the slip",
        "Maren Holt, 2026-11-20",
        "All 4 pieces were rowed, 16:00 at a mean of 2:10.2. "
        "3 of 4 targets were held within 0.5 s; piece 4 was 2.6 s slower.",
        "From 21 to 23 the step was worth 0.5 s per two strokes, below the usual 2 to 5 s, "
        "with 8 % less work in each stroke. The other 2 steps lay within.",
        "Piece 1 was the steadiest, its parts within 0.8 s. Piece 4 faded by 3.4 s. "
        "Piece 4 felt like 100 % where 85 % was planned. "
        "If that was not the idea, a qualified coach can help to find out why.",
    ]
    rows = [" ".join(line.split()) for line in lines]
    for row in (
        "piece length rate asked rowed off target",
        "1 recovery 4:00 17 2:14.0 2:14.2 +0.2 s held",
        "4 legs -6.0 % 439 J 100 % (85 %) 140",
        "4 legs 2:05.9 2:07.0 2:08.4 2:09.3 3.4 s 1.0 % faded by 3.4 s",
        "17 to 19 3.2 s faster (3.0 s) 3.2 s 4.9 s within",
    ):
        assert row in rows


def test_no_table_is_wider_than_a_terminal(cuegen: CommandLine, thursday: str) -> None:
    tables = review(cuegen, thursday, "--rower", "Maren Holt").out.split("\n")[5:]
    assert max(map(len, tables)) <= 80


def test_json_has_every_figure(cuegen: CommandLine, thursday: str) -> None:
    found = facts(cuegen, thursday, "--rower", "Maren Holt")
    assert (found["title"], found["rower"], found["day"]) == (
        "Thursday by the slip", "Maren Holt", "2026-11-20",
    )  # fmt: skip
    assert [piece["change_ms"] for piece in found["pieces"]] == [200, 0, 100, 2_600]
    assert [piece["outcome"] for piece in found["pieces"]] == ["held"] * 3 + ["slower"]
    assert found["pieces"][3]["steadiness"]["course"] == "faded"
    assert [step["rule"] for step in found["steps"]] == ["within", "within", "below"]
    assert (found["whole"]["held"], found["whole"]["targets"]) == (3, 4)
    assert len(found["summary"]) == 3
    assert found["notes"] == []


@pytest.mark.parametrize("suffix", [".html", ".txt", ".json"])
def test_a_review_is_written_for_its_owner_alone(
    cuegen: CommandLine, thursday: str, suffix: str
) -> None:
    out = Path(f"review{suffix}")
    ran = review(cuegen, thursday, "--rower", "Maren Holt", "--out", str(out))
    assert ran.out.splitlines()[-1] == f"review{suffix}: the review of Maren Holt, 2026-11-20"
    text = out.read_text(encoding="utf-8")
    assert "Thursday by the slip" in text
    assert "3 of 4 targets were held" in " ".join(text.split())
    assert stat.S_IMODE(out.stat().st_mode) == 0o600
    assert cuegen.names() == {"thursday.yaml", f"review{suffix}"}


def test_a_text_file_has_no_colours_and_no_long_lines(cuegen: CommandLine, thursday: str) -> None:
    review(cuegen, thursday, "--rower", "Maren Holt", "--out", "r.txt")
    text = Path("r.txt").read_text(encoding="utf-8")
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= 100


def test_the_json_that_is_written_is_the_one_that_is_printed(
    cuegen: CommandLine, thursday: str
) -> None:
    ran = review(cuegen, thursday, "--rower", "Maren Holt", "--out", "r.json", "--json")
    assert json.loads(Path("r.json").read_text(encoding="utf-8")) == json.loads(ran.out)


def test_help(cuegen: CommandLine) -> None:
    said = review(cuegen, "--help").out
    assert "Usage" in said
    for option in ("--rower", "--day", "--log", "--results", "--out", "--json"):
        assert option in said


# -------------------------------------------------------- which session, which targets


def add(cuegen: CommandLine, day: str, *held: str, plan: str = "last.yaml") -> None:
    ran = cuegen.run("log", "add", "Maren Holt", *held, "--plan", plan, "--day", day, "--yes")
    assert ran.code == 0, ran.err


def test_the_newest_day_counts_unless_another_is_named(cuegen: CommandLine, thursday: str) -> None:
    add(cuegen, "2026-11-27", "2:14", "2:11", "2:08", "2:05", plan=thursday)
    assert facts(cuegen, thursday, "--rower", "Maren Holt")["day"] == "2026-11-27"
    named = facts(cuegen, thursday, "--rower", "Maren Holt", "--day", "2026-11-20")
    assert (named["day"], named["whole"]["held"]) == ("2026-11-20", 3)


def test_targets_come_from_earlier_days_only(cuegen: CommandLine) -> None:
    """Held a week before: 2:12 at 18. Her own 2:10 of that day, or of later, is no target."""
    cuegen.write("last.yaml", LAST)
    add(cuegen, "2026-11-13", "2:12.0", "2:08.0")
    add(cuegen, "2026-11-20", "2:10.0", "2:08.2")
    add(cuegen, "2026-11-27", "2:09.0", "2:07.0")
    found = facts(cuegen, "last.yaml", "--rower", "Maren Holt", "--day", "2026-11-20")
    assert [piece["planned"]["split_ms"] for piece in found["pieces"]] == [132_000, 128_000]
    assert [piece["outcome"] for piece in found["pieces"]] == ["faster", "held"]


def test_the_first_session_of_all_was_led_by_effort(cuegen: CommandLine) -> None:
    cuegen.write("last.yaml", LAST)
    add(cuegen, "2026-11-20", "2:10.0", "2:08.0")
    found = facts(cuegen, "last.yaml", "--rower", "Maren Holt")
    assert [piece["planned"]["split_ms"] for piece in found["pieces"]] == [None, None]
    assert found["summary"][0].endswith("No split was asked: effort led.")


def test_targets_may_come_from_a_file(cuegen: CommandLine) -> None:
    cuegen.write("last.yaml", LAST)
    cuegen.write(
        "held.csv",
        "rower,date,rate,split\nMaren Holt,2026-11-19,18,2:11\nMaren Holt,2026-11-20,18,2:01\n"
        "Maren Holt,2026-11-19,20,2:08\n",
    )
    add(cuegen, "2026-11-20", "2:11.2", "2:08.0")
    found = facts(cuegen, "last.yaml", "--rower", "Maren Holt", "--results", "held.csv")
    assert [piece["planned"]["split_ms"] for piece in found["pieces"]] == [131_000, 128_000]


def test_another_log_is_named_by_an_option(
    cuegen: CommandLine, thursday: str, own_log: Path
) -> None:
    own_log.rename("mine.db")
    found = facts(cuegen, thursday, "--rower", "Maren Holt", "--log", "mine.db")
    assert found["whole"]["held"] == 3
    assert not own_log.exists()


def test_the_plans_own_rower_is_meant_where_none_is_named(
    cuegen: CommandLine, thursday: str
) -> None:
    cuegen.write("hers.yaml", PLAN + "audience: solo\nrower: maren HOLT\n")
    assert facts(cuegen, "hers.yaml")["rower"] == "Maren Holt"


def test_a_session_under_another_title_is_said_to_be(cuegen: CommandLine, thursday: str) -> None:
    cuegen.write("other.yaml", PLAN.replace("Thursday by the slip", "Regatta rehearsal"))
    ran = review(cuegen, "other.yaml", "--rower", "Maren Holt", "--day", "2026-11-20")
    assert "These results were logged as 'Thursday by the slip'." in ran.out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("thursday.yaml",), "whose session it was is not said"),
        (("thursday.yaml", "--rower", "Maren Hold"), "Did you mean 'Maren Holt'?"),
        (("thursday.yaml", "--rower", "Maren Holt", "--day", "soon"), "--day: this is no date"),
        (
            ("thursday.yaml", "--rower", "Maren Holt", "--day", "2026-11-21"),
            "no results of this rower on that day",
        ),
        (("wednesday.yaml", "--rower", "Maren Holt"), "Did you mean 'Thursday by the slip'"),
        (("gone.yaml", "--rower", "Maren Holt"), "gone.yaml: there is no such plan"),
        (
            ("thursday.yaml", "--rower", "Maren Holt", "--log", "gone.db"),
            "there is no results log yet",
        ),
        (("thursday.yaml", "--rower", "Maren Holt", "--out", "r.pdf"), "not .pdf"),
    ],
)
def test_what_cannot_be_reviewed_writes_nothing(
    cuegen: CommandLine, thursday: str, arguments: tuple[str, ...], message: str
) -> None:
    cuegen.write("wednesday.yaml", PLAN.replace("Thursday", "Wensday"))
    said = refused(cuegen, *arguments)
    assert message in " ".join(said.replace("│", " ").split())
    assert cuegen.names() == {"thursday.yaml", "wednesday.yaml"}


# ------------------------------------------------------- a session that is no file


def test_a_session_can_be_reviewed_that_is_no_file(own_log: Path) -> None:
    """And results that are handed in are taken as they are, of whatever day."""
    with open_log(own_log) as book:
        book.add([LogEntry("Maren Holt", DAY, 18, 131_000, session="Same splits", segment=2)])
    given = Results((Result("Maren Holt", DAY, 18, 131_200),))
    found = review_session(
        read_plan(LAST), rower="Maren Holt", day=None, log=own_log, results=given
    )
    (piece,) = found.pieces
    assert (piece.planned.split_ms, piece.outcome) == (131_200, Outcome.HELD)
    assert [one.piece for one in found.not_rowed] == [2]
