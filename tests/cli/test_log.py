"""`cuegen log` as a coach uses it, with every wrong word answered by one message."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from cuegen.cli.log import MOST_LISTED
from cuegen.log import LogEntry, open_log
from tests.cli.running import CommandLine, Ran

PLAN = """\
title: Thursday by the slip
session: |
  warm-up 5:00 r18
  4 x 4:00 r17/19/21/23 @2:14/-3/-3/-3 (recovery/length/catch/legs)
  cool-down 4:00
"""
HELD = ("2:14.2", "2:11.0", "2:08.1", "2:05.9")
SUBCOMMANDS = ("add", "list", "correct", "remove", "undo", "import", "export", "forget", "rowers")


def log(cuegen: CommandLine, *arguments: str) -> Ran:
    """Run a command that must succeed."""
    ran = cuegen.run("log", *arguments)
    assert ran.code == 0, ran.err
    return ran


def refused(cuegen: CommandLine, *arguments: str) -> str:
    """Run a command that must not, and return its one message."""
    ran = cuegen.run("log", *arguments)
    assert (ran.code, ran.out) == (2, ""), ran
    assert "Traceback" not in ran.err
    return ran.err


def kept(path: Path) -> tuple[LogEntry, ...]:
    with open_log(path, create=False) as book:
        return book.entries()


def add_thursday(cuegen: CommandLine, day: str = "2026-11-20") -> Ran:
    cuegen.write("thursday.yaml", PLAN)
    return log(cuegen, "add", "Maren Holt", *HELD, "--plan", "thursday.yaml", "--day", day)


@pytest.mark.parametrize("command", SUBCOMMANDS)
def test_every_command_has_help(cuegen: CommandLine, command: str) -> None:
    ran = log(cuegen, command, "--help")
    assert "Usage" in ran.out
    assert "--log" in ran.out


def test_the_group_names_every_command(cuegen: CommandLine) -> None:
    listed = log(cuegen, "--help").out
    assert [command for command in SUBCOMMANDS if f"\n│ {command} " not in listed] == []


# --------------------------------------------------------------------- add


def test_a_whole_session_in_one_line(cuegen: CommandLine, own_log: Path) -> None:
    ran = add_thursday(cuegen)
    assert ran.out.splitlines()[-1] == "4 results added; `cuegen log undo` takes it back."
    found = kept(own_log)
    assert [(one.segment, one.rate, one.split_ms, one.label) for one in found] == [
        (2, 17, 134_200, "1 of 4, recovery"),
        (3, 19, 131_000, "2 of 4, length"),
        (4, 21, 128_100, "3 of 4, catch"),
        (5, 23, 125_900, "4 of 4, legs"),
    ]
    assert {(one.rower, str(one.day), one.session, one.duration_ms) for one in found} == {
        ("Maren Holt", "2026-11-20", "Thursday by the slip", 240_000)
    }


def test_watts_metres_and_a_piece_not_rowed(cuegen: CommandLine, own_log: Path) -> None:
    """180 W is 2:04.8, 896 m in 4:00 is 2:13.9 (by the relations of cuegen.targets.power)."""
    cuegen.write("thursday.yaml", PLAN)
    log(cuegen, "add", "Maren Holt", "896m", "-", "2:08", "180W", "--plan", "thursday.yaml",
        "--day", "2026-11-20", "--felt", "70/-/80/95", "--heart-rate", "140/-/155/171",
        "--note", "windy")  # fmt: skip
    assert [
        (one.segment, one.split_ms, one.watts, one.metres, one.felt_pct, one.heart_rate, one.note)
        for one in kept(own_log)
    ] == [
        (2, 133_900, None, 896.0, 70, 140, "windy"),
        (4, 128_000, None, None, 80, 155, "windy"),
        (5, 124_800, 180.0, None, 95, 171, "windy"),
    ]


def test_without_a_plan_the_rates_are_named(cuegen: CommandLine, own_log: Path) -> None:
    log(cuegen, "add", "Maren Holt", *HELD, "--rates", "17/19/21/23", "--session", "Tuesday")
    assert [(one.segment, one.rate, one.session) for one in kept(own_log)] == [
        (1, 17, "Tuesday"),
        (2, 19, "Tuesday"),
        (3, 21, "Tuesday"),
        (4, 23, "Tuesday"),
    ]


def test_today_is_the_day_unless_another_is_named(cuegen: CommandLine, own_log: Path) -> None:
    from cuegen.cli.log_typed import today

    log(cuegen, "add", "Maren Holt", "2:14", "--rates", "17")
    assert [one.day for one in kept(own_log)] == [today()]


def test_another_file_is_named_by_an_option(cuegen: CommandLine, own_log: Path) -> None:
    log(cuegen, "add", "Maren Holt", "2:14", "--rates", "17", "--log", "mine.db")
    assert not own_log.exists()
    assert len(kept(Path("mine.db"))) == 1


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("2:14", "--plan", "thursday.yaml"), "4 pieces of work in the plan there is 1 result"),
        (("2:14", "--plan", "gone.yaml"), "gone.yaml: there is no such plan"),
        (("2:14",), "the rate of segment 1 is not known"),
        (("fast", "--rates", "17"), "this is no split"),
        (("896m", "--rates", "17"), "--lengths 4:00"),
        (("2:14", "--rates", "17/19"), "rate: there are 2 values for 1 piece"),
        (("2:14", "--rates", "17", "--day", "20/11/2026"), "--day: this is no date"),
        (("2:14", "--rates", "17", "--felt", "hard"), "felt: this is no whole number"),
        (("-", "--rates", "17"), "no piece was rowed"),
    ],
)
def test_what_cannot_be_added_begins_no_log(
    cuegen: CommandLine, own_log: Path, arguments: tuple[str, ...], message: str
) -> None:
    cuegen.write("thursday.yaml", PLAN)
    assert message in refused(cuegen, "add", "Maren Holt", *arguments)
    assert not own_log.exists()


# ------------------------------------------------------------------ doubts


def test_each_doubt_is_said_and_nothing_is_written(cuegen: CommandLine, own_log: Path) -> None:
    odd = ("0:58", "2:10", "--rates", "90/20", "--day", "2199-01-01")
    said = refused(cuegen, "add", "Maren Holt", *odd)
    assert said.splitlines() == [
        "cuegen: hard to believe:",
        "  segment 1: a split of 0:58.0 is faster than 1:10.0",
        "  segment 1: a rate of 90 is outside 12 to 50",
        "  segment 1, segment 2: the day 2199-01-01 is still to come",
        "  Put it right, or say --yes to keep it as it is. Nothing was written.",
    ]
    assert not own_log.exists()


def test_yes_keeps_what_is_doubtful_and_says_so(cuegen: CommandLine, own_log: Path) -> None:
    ran = log(cuegen, "add", "Maren Holt", "0:58", "--rates", "20", "--yes")
    assert "kept as told, though hard to believe:\n  segment 1: a split of 0:58.0" in ran.err
    assert len(kept(own_log)) == 1


def test_a_jump_and_a_session_added_twice_are_asked_about(
    cuegen: CommandLine, own_log: Path
) -> None:
    add_thursday(cuegen)
    said = refused(
        cuegen, "add", "Maren Holt", "2:34.2", "-", "-", "-", "--plan", "thursday.yaml",
        "--day", "2026-11-20",
    )  # fmt: skip
    assert "2:34.2 at rate 17 is 20.0 s slower than 2:14.2 at rate 17 on 2026-11-20" in said
    assert "segment 2 of that session is in the log already, number 1 (2:14.2" in said
    assert len(kept(own_log)) == 4


def on_a_terminal(answer: str, *arguments: str) -> tuple[int, str]:
    """Run the command with a terminal for its questions; return exit code and what was said."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-c", "from cuegen.cli.main import main; main()", "log", *arguments],
        stdin=theirs,
        stderr=theirs,
        stdout=subprocess.DEVNULL,
    )
    os.close(theirs)
    os.write(ours, answer.encode())
    code = process.wait(timeout=60)
    said = os.read(ours, 100_000).decode()
    os.close(ours)
    return code, said


@pytest.mark.parametrize(("answer", "code", "count"), [("y\n", 0, 1), ("n\n", 2, 0), ("\n", 2, 0)])
def test_a_terminal_is_asked(own_log: Path, answer: str, code: int, count: int) -> None:
    arguments = ("add", "Maren Holt", "0:58", "--rates", "20")
    left, said = on_a_terminal(answer, *arguments)
    assert "a split of 0:58.0 is faster than 1:10.0" in said
    assert "Keep it all the same?" in said
    assert ("Nothing was written." in said) == (code == 2)
    assert left == code
    assert (len(kept(own_log)) if own_log.exists() else 0) == count


# -------------------------------------------------------------------- list


def test_a_list_shows_what_there_is_and_no_empty_column(cuegen: CommandLine) -> None:
    add_thursday(cuegen)
    lines = log(cuegen, "list").out.splitlines()
    assert lines[:2] == [
        "id  day         rower       session               segment  what              rate   split"
        "  time",
        " 1  2026-11-20  Maren Holt  Thursday by the slip        2  1 of 4, recovery    17  2:14.2"
        "  4:00",
    ]
    assert len(lines) == 5


def test_filters_and_json(cuegen: CommandLine) -> None:
    add_thursday(cuegen)
    log(cuegen, "add", "Idris Vale", "1:58", "--rates", "20", "--day", "2026-11-21")
    log(cuegen, "add", "Idris Vale", "1:57", "--rates", "20", "--day", "2026-11-22",
        "--session", "Sunday")  # fmt: skip

    def days(*filters: str) -> list[Any]:
        found = json.loads(log(cuegen, "list", "--json", *filters).out)["results"]
        return [one["day"][-2:] + one["rower"][0] for one in found]

    assert days("--rower", "idris vale") == ["21I", "22I"]
    assert days("--since", "2026-11-21", "--until", "2026-11-21") == ["21I"]
    assert days("--session", "sun") == ["22I"]
    assert days("--session", "nothing") == []


def test_json_has_every_field(cuegen: CommandLine) -> None:
    log(cuegen, "add", "Maren Holt", "896m", "--rates", "17", "--lengths", "4:00", "--felt", "70%",
        "--heart-rate", "140", "--note", "für später", "--day", "2026-11-20")  # fmt: skip
    (found,) = json.loads(log(cuegen, "list", "--json").out)["results"]
    assert found.pop("added").startswith("20")
    assert found == {
        "id": 1, "batch": 1, "rower": "Maren Holt", "day": "2026-11-20", "session": None,
        "segment": 1, "label": None, "kind": "row", "rate": 17, "split_ms": 133_900,
        "split": "2:13.9", "watts": None, "metres": 896.0, "duration_ms": 240_000,
        "heart_rate": 140, "felt_pct": 70, "note": "für später", "parts_ms": [],
    }  # fmt: skip


def test_rowers_are_listed(cuegen: CommandLine) -> None:
    add_thursday(cuegen)
    log(cuegen, "add", "Idris Vale", "1:58", "--rates", "20", "--day", "2026-11-21")
    assert json.loads(log(cuegen, "rowers", "--json").out)["rowers"] == [
        {"rower": "Idris Vale", "results": 1, "first": "2026-11-21", "last": "2026-11-21"},
        {"rower": "Maren Holt", "results": 4, "first": "2026-11-20", "last": "2026-11-20"},
    ]
    assert "Maren Holt" in log(cuegen, "rowers").out


@pytest.mark.parametrize("command", ["list", "rowers"])
def test_an_empty_log_is_said(cuegen: CommandLine, own_log: Path, command: str) -> None:
    open_log(own_log).close()
    assert log(cuegen, command).out == "No results.\n"


READING = (
    ("list",), ("rowers",), ("correct", "1", "--rate", "20"), ("remove", "1"), ("undo",),
    ("export", "a.csv"), ("forget", "Maren Holt", "--yes"),
)  # fmt: skip


@pytest.mark.parametrize("arguments", READING, ids=[one[0] for one in READING])
def test_a_log_that_is_not_there_is_not_begun(
    cuegen: CommandLine, own_log: Path, arguments: tuple[str, ...]
) -> None:
    assert "there is no results log yet" in refused(cuegen, *arguments)
    assert not own_log.exists()
    assert cuegen.names() == set()


# --------------------------------------------- correct, remove, undo


def test_a_correction_says_what_changed(cuegen: CommandLine, own_log: Path) -> None:
    log(cuegen, "add", "Maren Holt", "180W", "--rates", "23")
    ran = log(cuegen, "correct", "1", "--split", "2:09.0")
    # 2.80 / (129 / 500)^3 = 163.04 W
    assert ran.out.splitlines()[:2] == ["split: 2:04.8 -> 2:09.0", "watts: 180 -> 163"]
    assert [(one.split_ms, one.watts) for one in kept(own_log)] == [(129_000, 163.0)]


def test_a_dash_takes_away_what_was_noted(cuegen: CommandLine, own_log: Path) -> None:
    log(cuegen, "add", "Maren Holt", "2:14", "--rates", "23", "--note", "windy")
    assert "note: windy -> nothing" in log(cuegen, "correct", "1", "--note", "-").out
    assert kept(own_log)[0].note is None


def test_a_doubtful_correction_is_asked_about(cuegen: CommandLine, own_log: Path) -> None:
    log(cuegen, "add", "Maren Holt", "2:14", "--rates", "23")
    assert "number 1: a rate of 90" in refused(cuegen, "correct", "1", "--rate", "90")
    assert kept(own_log)[0].rate == 23
    log(cuegen, "correct", "1", "--rate", "90", "--yes")
    log(cuegen, "correct", "1", "--note", "that rate was no slip")
    assert (kept(own_log)[0].rate, kept(own_log)[0].note) == (90, "that rate was no slip")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("1",), "nothing is said to be changed"),
        (("1", "--split", "fast"), "--split: this is no split"),
        (("1", "--parts", "2:14.2"), "--parts: a piece has 2 to 100 parts, and here is 1"),
        (("1", "--split", "-"), "--split: no result is without it"),
        (("1", "--day", "soon"), "--day: this is no date"),
        (("1", "--kind", "sprint"), "--kind: there is no such kind"),
        (("7", "--rate", "20"), "there is no result of that number"),
    ],
)
def test_what_cannot_be_corrected(
    cuegen: CommandLine, arguments: tuple[str, ...], message: str
) -> None:
    add_thursday(cuegen)
    assert message in refused(cuegen, "correct", *arguments)


def test_removing_and_undoing(cuegen: CommandLine, own_log: Path) -> None:
    add_thursday(cuegen)
    before = kept(own_log)
    assert log(cuegen, "remove", "1", "3").out.splitlines()[-1].startswith("2 results removed;")
    assert [one.id for one in kept(own_log)] == [2, 4]
    assert log(cuegen, "undo").out.startswith("Undone: 2 results of Maren Holt, removed on ")
    assert kept(own_log) == before
    assert log(cuegen, "undo").out.startswith("Undone: 4 results of Maren Holt, added on ")
    assert kept(own_log) == ()
    assert "nothing to undo" in refused(cuegen, "undo")


# -------------------------------------------------------- import and export


def test_out_and_back_is_equal(cuegen: CommandLine, own_log: Path) -> None:
    add_thursday(cuegen)
    log(cuegen, "add", "=Idris Vale", "1:58", "--rates", "20", "--note", "@windy, cold; für später")
    log(cuegen, "add", "=Idris Vale", "1:58,1:57,5", "--rates", "22", "--session", "Sunday")
    log(cuegen, "export", "held.csv")
    log(cuegen, "import", "held.csv", "--log", "other.db")
    assert kept(Path("other.db")) == kept(own_log)
    ran = log(cuegen, "import", "held.csv")
    assert ran.out == "0 results added, 6 there already.\n"


def test_an_export_can_be_filtered(cuegen: CommandLine) -> None:
    add_thursday(cuegen)
    log(cuegen, "add", "Idris Vale", "1:58", "--rates", "20")
    log(cuegen, "export", "held.csv", "--rower", "Idris Vale")
    rows = list(csv.DictReader(Path("held.csv").read_text(encoding="utf-8-sig").splitlines()))
    assert [(row["rower"], row["split"]) for row in rows] == [("Idris Vale", "1:58.0")]


def test_only_a_csv_is_written(cuegen: CommandLine, own_log: Path) -> None:
    add_thursday(cuegen)
    before = own_log.read_bytes()
    assert "written as .csv" in refused(cuegen, "export", str(own_log))
    assert own_log.read_bytes() == before


def test_a_log_named_like_a_csv_is_not_written_over(cuegen: CommandLine) -> None:
    log(cuegen, "add", "Maren Holt", "2:14", "--rates", "20", "--log", "log.csv")
    assert "this is the log itself" in refused(cuegen, "export", "./log.csv", "--log", "log.csv")
    assert len(kept(Path("log.csv"))) == 1


def test_a_bad_row_keeps_every_row_out(cuegen: CommandLine, own_log: Path) -> None:
    cuegen.write(
        "held.csv", "rower,date,rate,split\nMaren,2026-11-20,20,2:05\nMaren,2026-11-20,20,9\n"
    )
    said = refused(cuegen, "import", "held.csv")
    assert said.startswith("cuegen: held.csv, line 3: '9': row 3, column split: this is no split")
    assert not own_log.exists()


def test_doubtful_rows_are_named(cuegen: CommandLine, own_log: Path) -> None:
    cuegen.write(
        "held.csv",
        "rower;date;rate;split;watts\nMaren;2026-11-20;20;2:05,0;179\nMaren;2026-11-21;20;2:05,0;250\n",
    )
    assert "row 3: the split 2:05.0 is 179 W, not 250 W" in refused(cuegen, "import", "held.csv")
    assert not own_log.exists()
    assert log(cuegen, "import", "held.csv", "--yes").out == "2 results added, 0 there already.\n"


def test_many_doubts_are_counted_not_poured_out(cuegen: CommandLine) -> None:
    rows = (f"Maren,2026-11-20,{rate},2:05" for rate in range(60, 160))
    cuegen.write("held.csv", "\n".join(["rower,date,rate,split", *rows]))
    said = refused(cuegen, "import", "held.csv").splitlines()
    assert len(said) == 1 + 20 + 1 + 1
    assert said[-2].strip() == "and 80 more"


def test_an_import_is_undone_at_once(cuegen: CommandLine, own_log: Path) -> None:
    cuegen.write(
        "held.csv", "rower,date,rate,split\nMaren,2026-11-20,20,2:05\nMaren,2026-11-20,22,2:03\n"
    )
    log(cuegen, "import", "held.csv")
    assert "2 results of Maren, brought in" in log(cuegen, "undo").out
    assert kept(own_log) == ()


# ------------------------------------------------------------------ forget


def test_forgetting_is_confirmed_and_for_good(cuegen: CommandLine, own_log: Path) -> None:
    add_thursday(cuegen)
    log(cuegen, "add", "Idris Vale", "1:58", "--rates", "20", "--note", "behind Maren Holt")
    assert "cannot be brought back" in refused(cuegen, "forget", "Maren Holt")
    assert len(kept(own_log)) == 5
    ran = log(cuegen, "forget", "maren holt", "--yes")
    assert ran.out.startswith("4 results of maren holt removed for good.\n")
    assert "The name still stands in what is noted on results of others: 5." in ran.out
    log(cuegen, "correct", "5", "--note", "-")
    assert "Undone: 1 result of Idris Vale, corrected" in log(cuegen, "undo").out


def test_a_rower_nobody_knows_cannot_be_forgotten(cuegen: CommandLine) -> None:
    add_thursday(cuegen)
    assert "Did you mean 'Maren Holt'?" in refused(cuegen, "forget", "Maren Hold", "--yes")


@pytest.mark.parametrize(("answer", "left"), [("y\n", 0), ("n\n", 4)])
def test_forgetting_asks_on_a_terminal(
    cuegen: CommandLine, own_log: Path, answer: str, left: int
) -> None:
    add_thursday(cuegen)
    _, said = on_a_terminal(answer, "forget", "Maren Holt")
    assert "Remove every result of Maren Holt for good?" in said
    assert len(kept(own_log)) == left


# --------------------------------------------------------------- the edges


@pytest.mark.parametrize("content", [b"a diary", b"\x00" * 5000])
def test_a_file_that_is_no_log_is_never_written_over(
    cuegen: CommandLine, own_log: Path, content: bytes
) -> None:
    own_log.write_bytes(content)
    said = refused(cuegen, "add", "Maren Holt", "2:14", "--rates", "20")
    assert "this file is no results log" in said
    assert own_log.read_bytes() == content


def test_a_name_that_no_text_can_hold(cuegen: CommandLine) -> None:
    add_thursday(cuegen)
    assert "no results of a rower of that name" in refused(cuegen, "list", "--rower", "\udcff")
    said = refused(cuegen, "add", "M\udcff", "2:14", "--rates", "20")
    assert "rower: the sign U+DCFF" in said
    assert "no result of that number" in refused(cuegen, "remove", "9" * 30)


def test_of_many_results_the_newest_are_listed(cuegen: CommandLine, own_log: Path) -> None:
    first = date(2026, 1, 1)
    with open_log(own_log) as book:
        book.add(
            LogEntry("Edda Kolm", first + timedelta(days=n // 4), 20, 120_000 + n)
            for n in range(MOST_LISTED + 3)
        )
    shown = log(cuegen, "list").out.splitlines()
    assert len(shown) == MOST_LISTED + 2
    assert shown[1].split()[0] == "4"
    assert shown[-1] == f"These are the newest {MOST_LISTED}; --all shows all there are."
    assert len(log(cuegen, "list", "--all").out.splitlines()) == MOST_LISTED + 4
    assert len(json.loads(log(cuegen, "list", "--json").out)["results"]) == MOST_LISTED + 3
