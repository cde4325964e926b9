"""Links to what lies beside a track: never to nothing, never to another session."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuegen.pages.beside import ALONE, Beside, pages_beside
from cuegen.pages.report import report_page, save_report_page
from cuegen.sheet.formats import save_sheet
from tests.pages.hall_pages import page_with_track, short_sheet, silent_page
from tests.pages.samples import good_report
from tests.sheet.pages import read_page
from tests.sheet.samples import sample_sheet

TITLE = sample_sheet().title
"""Holds < and >, which a page's title has escaped."""


def test_a_sheet_and_a_hall_page_of_the_session_are_found(tmp_path: Path) -> None:
    save_sheet(sample_sheet(), tmp_path / "alder.html")
    silent_page(tmp_path)
    found = pages_beside(tmp_path / "alder.mp3", tmp_path / "report.html", TITLE)
    assert found == Beside(sheet="./alder.html", hall="./hall.html")


def test_a_hall_page_with_its_track_inside_is_found_too(tmp_path: Path) -> None:
    page_with_track(tmp_path, short_sheet())
    found = pages_beside(tmp_path / "track.opus", tmp_path / "report.html", TITLE)
    assert found == Beside(hall="./hall.html")


def test_nothing_beside_is_no_link(tmp_path: Path) -> None:
    assert pages_beside(tmp_path / "alder.mp3", tmp_path / "report.html", TITLE) == ALONE


def test_another_session_s_page_is_no_link(tmp_path: Path) -> None:
    save_sheet(sample_sheet(), tmp_path / "alder.html")
    silent_page(tmp_path)
    assert pages_beside(tmp_path / "alder.mp3", tmp_path / "r.html", "Birch ladder") == ALONE


def test_a_page_of_the_other_kind_is_no_link(tmp_path: Path) -> None:
    silent_page(tmp_path).rename(tmp_path / "alder.html")
    save_sheet(sample_sheet(), tmp_path / "hall.html")
    assert pages_beside(tmp_path / "alder.mp3", tmp_path / "r.html", TITLE) == ALONE


def test_a_page_that_somebody_else_made_is_no_link(tmp_path: Path) -> None:
    save_sheet(sample_sheet(), tmp_path / "alder.html")
    text = (tmp_path / "alder.html").read_text(encoding="utf-8")
    theirs = text.replace('content="cuegen"', 'content="another"')
    (tmp_path / "alder.html").write_text(theirs, encoding="utf-8")
    assert pages_beside(tmp_path / "alder.mp3", tmp_path / "r.html", TITLE) == ALONE


def test_a_report_that_takes_the_sheet_s_place_does_not_lead_to_itself(tmp_path: Path) -> None:
    save_sheet(sample_sheet(), tmp_path / "alder.html")
    assert pages_beside(tmp_path / "alder.mp3", tmp_path / "alder.html", TITLE) == ALONE


def test_addresses_lead_from_the_report_and_hold_no_scheme(tmp_path: Path) -> None:
    folder = tmp_path / "Monday: 6 am"
    folder.mkdir()
    save_sheet(sample_sheet(), folder / "a:b #1.html")
    found = pages_beside(folder / "a:b #1.mp3", tmp_path / "r.html", TITLE)
    assert found.sheet == "./Monday%3A%206%20am/a%3Ab%20%231.html"


@pytest.mark.parametrize(
    ("beside", "links"),
    [
        (Beside("./a.html", "./hall.html"), ["The printed sheet", "The hall page"]),
        (Beside(hall="./hall.html"), ["The hall page"]),
        (ALONE, []),
    ],
)
def test_the_report_links_to_what_there_is(
    tmp_path: Path, beside: Beside, links: list[str]
) -> None:
    save_report_page(good_report(), tmp_path / "r.html", beside)
    page = read_page((tmp_path / "r.html").read_text(encoding="utf-8"))
    assert page.texts("a") == links
    addresses = [one.attributes["href"] for one in page.having("a")]
    assert addresses == [one for one in (beside.sheet, beside.hall) if one]


def test_an_address_with_quotes_cannot_leave_its_attribute() -> None:
    page = read_page(report_page(good_report(), Beside(sheet='./"><b>.html')))
    assert page.having("b") == []
    assert page.having("a")[0].attributes["href"] == './"><b>.html'
