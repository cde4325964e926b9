"""The Chromium that pages are opened with: found, or fetched by Playwright.

    python -m tests.pages.chromium

says which one the tests would take, and has Playwright fetch one where there is none
(`make test` runs this). It never fails: without a browser the tests do, and say why.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import Playwright, sync_playwright

VARIABLE = "CUEGEN_CHROMIUM"
_NAMES = (
    *("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome"),
    "microsoft-edge",
)
NONE_FOUND = (
    "there is no Chromium to open the page with. Install one (Debian and Ubuntu: apt install "
    "chromium; elsewhere: python -m playwright install chromium), or name the one you have in "
    f"the environment variable {VARIABLE}"
)


def chromium_path(player: Playwright) -> str | None:
    """Return the browser's path: the one that is named, that is on PATH, or Playwright's own."""
    named = os.environ.get(VARIABLE)
    if named:
        return shutil.which(named)
    found = next(filter(None, map(shutil.which, _NAMES)), None)
    if found is None and Path(player.chromium.executable_path).is_file():
        found = player.chromium.executable_path
    return found


def main() -> None:
    with sync_playwright() as player:
        found = chromium_path(player)
    if found is None and not os.environ.get(VARIABLE):
        print("no Chromium found: Playwright fetches one for the tests of the pages")
        subprocess.run([sys.executable, "-m", "playwright", "install", "chromium"], check=False)
        with sync_playwright() as player:
            found = chromium_path(player)
    print(f"pages are opened with {found}" if found else NONE_FOUND)


if __name__ == "__main__":
    main()
