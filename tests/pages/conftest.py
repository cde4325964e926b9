from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.pages.hall_pages import page_with_track, silent_page

if TYPE_CHECKING:
    from playwright.sync_api import Browser

    from tests.pages.browsing import Opened


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """A browser for a module's pages; each page is opened in a context of its own."""
    from playwright.sync_api import sync_playwright

    from tests.pages.browsing import find_chromium

    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=find_chromium(player))
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def hall_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A hall page of the sample sheet with its track inside."""
    return page_with_track(tmp_path_factory.mktemp("hall"))


@pytest.fixture
def hall(chromium: Browser, hall_path: Path) -> Iterator[Opened]:
    """That page, opened; it must not complain, nor ask for anything."""
    from tests.pages.browsing import AFTER_EACH_FRAME, opened

    with opened(chromium, hall_path, before=AFTER_EACH_FRAME) as it:
        yield it
        assert it.said == []
        assert it.asked == [hall_path.as_uri()]


@pytest.fixture
def silent(chromium: Browser, tmp_path: Path) -> Iterator[Opened]:
    """A hall page without a track, on a clock that is the test's."""
    from tests.pages.browsing import opened, stand_still

    with opened(chromium, silent_page(tmp_path)) as it:
        stand_still(it)
        yield it
        assert it.said == []
