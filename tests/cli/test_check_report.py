"""`cuegen check TRACK --out`: the report as a page or as JSON, what it leads to, whose it is."""

from __future__ import annotations

from pathlib import Path

import pytest

import cuegen.steps
from cuegen.handouts import handouts_of
from cuegen.sheet.formats import save_sheet
from cuegen.verify.report import ListeningReport
from tests.cli.running import CommandLine
from tests.pages.samples import bad_report, good_report
from tests.sheet.pages import read_page
from tests.sheet.samples import sample_sheet


@pytest.fixture
def heard(cuegen: CommandLine) -> CommandLine:
    """A sheet beside a track that is heard as good; listening itself is tested elsewhere."""
    save_sheet(sample_sheet(), Path("a.sheet.json"))
    hear(cuegen, good_report(title=sample_sheet().title))
    return cuegen


def hear(line: CommandLine, report: ListeningReport) -> None:
    line.monkeypatch.setattr(cuegen.steps, "verify_track", lambda *_, **__: report)


def test_the_page_leads_to_the_printed_sheet_and_the_hall_page_beside_it(
    heard: CommandLine,
) -> None:
    save_sheet(sample_sheet(), Path("a.html"))
    assert heard.run("page", "hall", "a.sheet.json", "--no-audio", "-o", "hall.html").code == 0
    assert heard.run("check", "a.mp3", "--out", "report.html").code == 0
    page = read_page(Path("report.html").read_text(encoding="utf-8"))
    assert [one.attributes["href"] for one in page.having("a")] == ["./a.html", "./hall.html"]


def test_a_page_with_nothing_beside_it_leads_nowhere(heard: CommandLine) -> None:
    assert heard.run("check", "a.mp3", "--out", "report.htm").code == 0
    page = read_page(Path("report.htm").read_text(encoding="utf-8"))
    page.check_self_contained()
    assert page.texts("h2")[0] == "OK"


def test_a_failed_track_leaves_its_page_and_code_1(heard: CommandLine) -> None:
    hear(heard, bad_report())
    assert heard.run("check", "a.mp3", "--out", "report.html").code == 1
    assert "1 line is missing" in Path("report.html").read_text(encoding="utf-8")


def test_any_other_name_gets_json_that_loads(heard: CommandLine) -> None:
    assert heard.run("check", "a.mp3", "--out", "report.json").code == 0
    text = Path("report.json").read_text(encoding="utf-8")
    assert ListeningReport.model_validate_json(text) == good_report(title=sample_sheet().title)


@pytest.mark.parametrize("name", ["report.html", "report.json"])
def test_a_report_on_a_rower_s_track_is_noted_as_made_for_them(
    heard: CommandLine, own_log: Path, name: str
) -> None:
    mine = sample_sheet().model_copy(update={"rower": "Edda Kolm", "audience": "solo"})
    save_sheet(mine, Path("a.sheet.json"))
    assert heard.run("check", "a.mp3", "--out", name).code == 0
    assert [one.path.name for one in handouts_of(own_log, "Edda Kolm")] == [name]


def test_a_report_on_a_squad_s_track_is_nobody_s(heard: CommandLine, own_log: Path) -> None:
    assert heard.run("check", "a.mp3", "--out", "report.html").code == 0
    assert not own_log.with_name("log.made").exists()
