"""`cuegen page prompter`: the page, its name, the printed sheet it leads to."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuegen.sheet.formats import save_sheet
from tests.cli.running import CommandLine
from tests.pages.hall_pages import short_sheet


@pytest.fixture
def saved(cuegen: CommandLine) -> CommandLine:
    """The command line, with a sheet of three seconds as a.sheet.json."""
    save_sheet(short_sheet(), Path("a.sheet.json"))
    return cuegen


def test_it_has_help_and_stands_in_the_readme(cuegen: CommandLine) -> None:
    ran = cuegen.run("page", "prompter", "--help")
    assert ran.code == 0
    assert "--out" in ran.out
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    assert "cuegen page prompter" in readme
    assert "cuegen takes record" in readme


def test_a_sheet_becomes_a_page_beside_where_one_stands(saved: CommandLine) -> None:
    ran = saved.run("page", "prompter", "a.sheet.json")
    assert (ran.code, ran.out, ran.err) == (0, "a.prompter.html\n", "")
    html = Path("a.prompter.html").read_text(encoding="utf-8")
    assert "Alder ladder &lt;thirteen&gt;" in html
    assert "The printed sheet" not in html


@pytest.mark.parametrize("page", ["prompter", "hall"])
def test_a_finished_sheet_needs_no_voice(cuegen: CommandLine, page: str) -> None:
    sheet = short_sheet()
    sound = sheet.sound.model_copy(update={"voice": "piper:gone.onnx"})
    save_sheet(sheet.model_copy(update={"sound": sound}), Path("a.sheet.json"))
    ran = cuegen.run("page", page, "a.sheet.json")
    assert (ran.code, ran.out) == (0, f"a.{page}.html\n")


@pytest.mark.parametrize("page", ["prompter", "hall"])
def test_the_printed_sheet_beside_it_is_led_to(saved: CommandLine, page: str) -> None:
    saved.run("sheet", "a.sheet.json", "--out", "a.html")
    Path("out").mkdir()
    ran = saved.run("page", page, "a.sheet.json", "--out", "out/p.html")
    assert ran.code == 0, ran.err
    html = Path("out/p.html").read_text(encoding="utf-8")
    assert '<a href="./../a.html" target="_blank" rel="noopener">The printed sheet</a>' in html


def test_a_name_that_is_no_page_s_is_refused(saved: CommandLine) -> None:
    ran = saved.run("page", "prompter", "a.sheet.json", "--out", "p.pdf")
    assert ran.code == 2
    assert "a page's name ends in .html" in ran.err
    assert saved.names() == {"a.sheet.json"}


def test_a_page_for_one_rower_is_noted(saved: CommandLine, monkeypatch: pytest.MonkeyPatch) -> None:
    noted: list[Path] = []
    monkeypatch.setattr("cuegen.cli.page.note_made", lambda paths, *_: noted.extend(paths))
    saved.run("page", "prompter", "a.sheet.json", "--out", "p.html")
    assert noted == [Path("p.html")]
