"""Prompter pages for the tests, of the sample sheet."""

from __future__ import annotations

from pathlib import Path

from cuegen.pages.prompter import save_prompter_page
from cuegen.schedule.cuesheet import CueSheet
from tests.pages.browsing import Opened
from tests.sheet.samples import sample_sheet


def prompter_file(folder: Path, sheet: CueSheet | None = None, printed: str | None = None) -> Path:
    """Write the page."""
    path = folder / "prompter.html"
    save_prompter_page(sheet or sample_sheet(), path, printed)
    return path


def run_to(it: Opened, ms: int) -> None:
    """Start the page on its standing clock and move it on to an instant, at once."""
    it.page.locator("#start-button").click()
    if ms > 1_000:
        it.page.clock.fast_forward(ms - 1_000)
    it.page.clock.run_for(min(ms, 1_000))


def to_say(it: Opened) -> tuple[str, str, str]:
    """Return what stands over the line, the seconds, and the line."""
    return it.text("until-word"), it.text("until"), it.text("line")
