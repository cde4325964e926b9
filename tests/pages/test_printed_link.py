"""From hall page and prompter the printed sheet is one press away, in a real Chromium."""

from __future__ import annotations

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]
from playwright.sync_api import Browser

from cuegen.pages.beside import printed_beside
from cuegen.pages.hall import save_hall_page
from cuegen.pages.prompter import save_prompter_page
from cuegen.sheet.formats import save_sheet
from tests.pages.browsing import opened
from tests.sheet.samples import sample_sheet

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("kind", ["hall", "prompter"])
@pytest.mark.parametrize("size", [(360, 640), (1366, 768)])
def test_the_link_opens_the_printed_sheet_beside_the_page(
    chromium: Browser, tmp_path: Path, kind: str, size: tuple[int, int]
) -> None:
    sheet, page = sample_sheet(), tmp_path / f"{kind}.html"
    save_sheet(sheet, tmp_path / "alder ladder.html")
    printed = printed_beside(tmp_path / "alder ladder.sheet.json", sheet, page)
    if kind == "hall":
        save_hall_page(sheet, page, None, printed)
    else:
        save_prompter_page(sheet, page, printed)
    with opened(chromium, page, size) as it:
        link = it.page.get_by_role("link", name="The printed sheet")
        box, start = link.bounding_box(), it.page.locator("#start-button").bounding_box()
        assert box is not None
        assert start is not None
        assert min(box["width"], box["height"]) >= 44
        assert start["y"] + start["height"] <= size[1]
        assert it.ask("document.documentElement.scrollWidth") <= size[0]
        assert Axe().run(it.page).response["violations"] == []
        with it.page.context.expect_page() as new:
            link.click()
        assert new.value.url == (tmp_path / "alder ladder.html").as_uri()
        assert new.value.locator("ol.pieces").count() == 1
        assert it.said == []
