"""A page in a real browser: the Chromium that is installed here, driven by Playwright.

Where there is none a test fails and says how to get one: a page that nobody has opened
is not tested.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]
from playwright.sync_api import Browser, BrowserContext, Page, Playwright

from tests.pages.chromium import NONE_FOUND, chromium_path

AFTER_EACH_FRAME = """
const ask = window.requestAnimationFrame.bind(window);
window.requestAnimationFrame = (act) => ask((now) => { act(now); if (window.seen) window.seen(); });
"""
"""Lets a test look right after the page has drawn, however busy the machine is."""


def find_chromium(player: Playwright) -> str:
    """Return the browser's path; without one the test fails."""
    found = chromium_path(player)
    if found is None:
        pytest.fail(NONE_FOUND, pytrace=False)
    return found


@dataclass
class Opened:
    """A page that is open, and all that it said and asked for meanwhile."""

    page: Page
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def text(self, name: str) -> str:
        return self.page.locator(f"#{name}").inner_text()

    def ask(self, script: str, argument: object = None) -> Any:
        return self.page.evaluate(script, argument)

    @property
    def track_ms(self) -> float:
        return float(self.ask("document.getElementById('track').currentTime * 1000"))

    @property
    def mode(self) -> str:
        return str(self.ask("document.documentElement.dataset.mode"))

    def until(self, condition: str) -> None:
        """Wait until an expression is true; a function, since a strict policy evaluates none."""
        self.page.wait_for_function(f"() => {condition}")

    def until_mode(self, mode: str) -> None:
        self.until(f"document.documentElement.dataset.mode === {mode!r}")


@contextmanager
def opened(
    browser: Browser, path: Path, size: tuple[int, int] = (1366, 768), **context: Any
) -> Iterator[Opened]:
    """Open a file as from a USB stick, without a network; context: Playwright's options.

    before: a script that is run before the page's own.
    """
    before = context.pop("before", "")
    place = browser.new_context(
        viewport={"width": size[0], "height": size[1]}, offline=True, timezone_id="UTC", **context
    )
    it = watched(place, before)
    try:
        it.page.goto(path.as_uri())
        yield it
    finally:
        place.close()


def watched(place: BrowserContext, before: str) -> Opened:
    """Return a new page of a browser that notes what it says and asks for."""
    page = place.new_page()
    it = Opened(page)
    page.on("console", lambda message: it.said.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: it.said.append(f"error: {error}"))
    page.on("request", lambda request: it.asked.append(request.url))
    if before:
        page.add_init_script(before)
    return it


def axe_finds_nothing(page: Page) -> None:
    """Hold a page to the rules of axe-core, those of level AAA and of best practice included."""
    rules = ("color-contrast-enhanced", "identical-links-same-purpose")
    options = {
        "resultTypes": ["violations", "incomplete"],
        "rules": {rule: {"enabled": True} for rule in rules},
    }
    found = Axe().run(page, options=options).response
    assert [(one["id"], [n["html"] for n in one["nodes"]]) for one in found["violations"]] == []
    assert len(found["passes"]) > 15


def at_clock(time: str) -> datetime.datetime:
    """Return a time of the day on which these tests play."""
    return datetime.datetime.fromisoformat(f"2026-01-12T{time}+00:00")


def stand_still(it: Opened, time: str = "18:20") -> None:
    """Load the page again on a clock that stands, until the test moves it."""
    it.page.clock.install(time=at_clock(time))
    it.page.reload()
    it.page.clock.pause_at(at_clock(time) + datetime.timedelta(seconds=1))
