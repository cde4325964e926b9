"""Whatever a person gets wrong gives one clear message, exit code 2, and writes nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.running import CommandLine

GOOD_LINE = "  5:00 r20 @2:10\n"

BAD_PLANS = {
    "malformed YAML": ("title: [never closed\nsession: |\n" + GOOD_LINE, "plan.yaml, line"),
    "unknown field": ("sesion: |\n" + GOOD_LINE, "Did you mean 'session'?"),
    "wrong list count": ("session: |\n  4 x 4:00 r18/20/22\n", "line 2"),
    "5m for five minutes": ("session: |\n  5m r20\n", "5:00"),
    "zero length": ("session: |\n  0:00 r20\n", "line 2"),
    "over twelve hours": ("session: |\n  3 x 5:00:00 r20\n", "12"),
    "beats that cannot fit": (
        "count_in: 8\nsession: |\n  5:00 r20\n  0:05 r24\n  5:00 r20\n",
        "count_in",
    ),
    "missing voice file": (
        "voice: piper:gone.onnx\nsession: |\n" + GOOD_LINE,
        "gone.onnx",
    ),
    "unknown voice": ("voice: natral\nsession: |\n" + GOOD_LINE, "natural"),
    "bed that is missing": ("bed: gone.mp3\nsession: |\n" + GOOD_LINE, "gone.mp3"),
    "bed that is no audio": ("bed: plan.yaml\nsession: |\n" + GOOD_LINE, "plan.yaml"),
    "alias bomb": (
        "title: &a x\nsay: [*a, *a]\nsession: |\n" + GOOD_LINE,
        "line 1",
    ),
    "phrase book that is missing": (
        "phrase_book: gone.yaml\nsession: |\n" + GOOD_LINE,
        "gone.yaml",
    ),
    "not text at all": ("\x00\x01\x02", "plan.yaml"),
    "empty": ("", "empty"),
}


@pytest.mark.parametrize("case", BAD_PLANS)
def test_a_bad_plan_is_said_in_one_message(cuegen: CommandLine, case: str) -> None:
    plan, expected = BAD_PLANS[case]
    cuegen.write("plan.yaml", plan)
    ran = (
        cuegen.run("track", "plan.yaml", "--out", "out.mp3", "--voice", "small")
        if ("voice" not in plan)
        else cuegen.run("track", "plan.yaml", "--out", "out.mp3")
    )
    assert ran.code == 2
    assert expected in ran.err
    assert "Traceback" not in ran.err
    assert ran.err.startswith("cuegen: ")
    assert cuegen.names() == {"plan.yaml"}


BAD_BOOKS = {
    "an undefined name": ("technique", "{{ rat }} strokes", "Did you mean 'rate'?"),
    "an endless template": (
        "technique",
        "{% for i in range(99999) %}{% for j in range(99999) %}x{% endfor %}{% endfor %}",
        "for",
    ),
}


@pytest.mark.parametrize("case", BAD_BOOKS)
def test_a_bad_phrase_book_is_said_with_its_line(cuegen: CommandLine, case: str) -> None:
    kind, template, expected = BAD_BOOKS[case]
    cuegen.write("mine.yaml", book_of(kind, template))
    cuegen.write("plan.yaml", "phrase_book: mine.yaml\nsession: |\n" + GOOD_LINE)
    ran = cuegen.run("track", "plan.yaml", "--voice", "small")
    assert ran.code == 2
    assert "mine.yaml, line" in ran.err
    assert expected in ran.err
    assert cuegen.names() == {"mine.yaml", "plan.yaml"}


def book_of(kind: str, template: str) -> str:
    """Return a book that adds one phrase to the plain one."""
    return f"extends: plain\nlines:\n  {kind}:\n    - theme: catch\n      lines: ['{template}']\n"


def test_an_output_that_cannot_be_written_is_said(cuegen: CommandLine) -> None:
    cuegen.write("plan.yaml", "session: |\n" + GOOD_LINE)
    cuegen.write("file", "in the way")
    ran = cuegen.run("track", "plan.yaml", "--voice", "small", "--out", "file/out.mp3")
    assert ran.code == 2
    assert "file/out.mp3" in ran.err
    assert cuegen.names() == {"plan.yaml", "file"}


def test_an_unknown_format_is_said_before_any_work(cuegen: CommandLine) -> None:
    ran = cuegen.run("track", "never-looked-at.yaml", "--out", "out.aiff")
    assert ran.code == 2
    assert ".aiff" in ran.err
    assert "mp3" in ran.err


def test_a_track_without_its_sheet_is_said(cuegen: CommandLine) -> None:
    cuegen.write("lonely.mp3", "")
    ran = cuegen.run("check", "lonely.mp3")
    assert ran.code == 2
    assert "lonely.sheet.json" in ran.err


def test_a_file_is_never_overwritten_by_new(cuegen: CommandLine) -> None:
    cuegen.write("plan.yaml", "mine")
    ran = cuegen.run("new", "steps", "--out", "plan.yaml")
    assert ran.code == 2
    assert Path("plan.yaml").read_text(encoding="utf-8") == "mine"
