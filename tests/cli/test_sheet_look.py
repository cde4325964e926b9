"""`cuegen sheet` on a terminal, through a pipe, without colour and in an old encoding.

NO_COLOR: no-color.org asks that no colour codes be sent where it is set.
"""

from __future__ import annotations

import re
import sys
from io import BytesIO, TextIOWrapper
from pathlib import Path

import pytest
from rich.cells import cell_len

from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.formats import load_sheet, save_sheet
from cuegen.sheet.wording import script_lines
from tests.cli.running import CommandLine
from tests.sheet.samples import cues, sample_sheet

_CODE = re.compile(r"\x1b\[([0-9;]*)m")
_COLOURS = {*range(30, 50), *range(90, 108)}
"""Select Graphic Rendition parameters that set a colour (ECMA-48, 8.3.117)."""


@pytest.fixture
def saved(cuegen: CommandLine) -> CommandLine:
    """The command line, with the sample sheet as a.sheet.json and no wish about colour."""
    for name in ("NO_COLOR", "FORCE_COLOR", "COLUMNS"):
        cuegen.monkeypatch.delenv(name, raising=False)
    save_sheet(sample_sheet(), Path("a.sheet.json"))
    return cuegen


def colours(text: str) -> list[int]:
    codes = [int(code or 0) for found in _CODE.findall(text) for code in found.split(";")]
    return [code for code in codes if code in _COLOURS]


def as_if_a_terminal(cuegen: CommandLine, columns: int) -> str:
    """Return what a terminal of so many columns is sent."""
    cuegen.monkeypatch.setenv("FORCE_COLOR", "1")
    cuegen.monkeypatch.setenv("TERM", "xterm-256color")
    cuegen.monkeypatch.setenv("COLUMNS", str(columns))
    return cuegen.run("sheet", "a.sheet.json").out


def test_a_pipe_gets_plain_text_of_80_columns(saved: CommandLine) -> None:
    ran = saved.run("sheet", "a.sheet.json")
    assert (ran.code, ran.err) == (0, "")
    assert "\x1b" not in ran.out
    assert 70 < max(cell_len(line) for line in ran.out.splitlines()) <= 80


@pytest.mark.parametrize("columns", [60, 120])
def test_the_width_of_the_terminal_is_used(saved: CommandLine, columns: int) -> None:
    saved.monkeypatch.setenv("COLUMNS", str(columns))
    widths = [cell_len(line) for line in saved.run("sheet", "a.sheet.json").out.splitlines()]
    assert columns - 10 < max(widths) <= columns


def test_colour_is_an_aid_and_says_nothing_alone(saved: CommandLine) -> None:
    plain = saved.run("sheet", "a.sheet.json").out
    shown = as_if_a_terminal(saved, 80)
    assert colours(shown)
    assert _CODE.sub("", shown) == plain


def test_no_color_is_respected(saved: CommandLine) -> None:
    saved.monkeypatch.setenv("NO_COLOR", "1")
    assert colours(as_if_a_terminal(saved, 80)) == []


def test_words_that_would_drive_a_terminal_do_not(saved: CommandLine) -> None:
    bad = "Row \x1b]0;owned\x07\x1b[2J\u202eon\r\nnow [red]loud[/red]"
    line = cues()[0].model_copy(update={"text": bad})
    sheet = sample_sheet(title=bad, cues=(line,), notes=(bad,))
    save_sheet(CueSheet.model_validate(sheet.model_dump()), Path("a.sheet.json"))
    shown = as_if_a_terminal(saved, 80)
    assert not set(_CODE.sub("", shown)) & {"\x1b", "\x07", "\r", "\u202e"}
    assert "Row ]0;owned [2Jon now [red]loud[/red]" in _CODE.sub("", shown)


def test_script_shows_every_line(saved: CommandLine) -> None:
    short = saved.run("sheet", "a.sheet.json").out
    whole = " ".join(saved.run("sheet", "a.sheet.json", "--script").out.split())
    lines = [line.text for line in script_lines(sample_sheet())]
    assert all(line in whole for line in lines)
    assert not all(line in short for line in lines)


def test_json_is_the_sheet_itself(saved: CommandLine) -> None:
    ran = saved.run("sheet", "a.sheet.json", "--json")
    Path("b.sheet.json").write_text(ran.out, encoding="utf-8")
    assert load_sheet("b.sheet.json") == sample_sheet()


def test_json_is_utf_8_whatever_the_terminal_is(saved: CommandLine) -> None:
    save_sheet(sample_sheet(title="Ełk"), Path("a.sheet.json"))
    file = BytesIO()
    saved.monkeypatch.setattr(sys, "stdout", TextIOWrapper(file, encoding="ascii"))
    assert saved.run("sheet", "a.sheet.json", "--json").code == 0
    assert '"title": "Ełk"' in file.getvalue().decode("utf-8")


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_an_old_encoding_gets_a_time_line_it_can_hold(saved: CommandLine, encoding: str) -> None:
    save_sheet(sample_sheet(title="Ełk \u2192 Åre"), Path("a.sheet.json"))
    file = BytesIO()
    saved.monkeypatch.setattr(sys, "stdout", TextIOWrapper(file, encoding=encoding))
    ran = saved.run("sheet", "a.sheet.json")
    sys.stdout.flush()
    assert (ran.code, ran.err) == (0, "")
    shown = file.getvalue().decode(encoding)
    assert shown.splitlines()[0] == {"ascii": "E?k ? ?re", "cp1252": "E?k ? Åre"}[encoding]
    assert "I#=___" in shown
