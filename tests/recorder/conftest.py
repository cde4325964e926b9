from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """A browser for a module's pages."""
    from playwright.sync_api import sync_playwright

    from tests.pages.browsing import find_chromium

    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=find_chromium(player))
        yield browser
        browser.close()
