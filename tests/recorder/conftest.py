"""The browser of the pages' tests."""

from tests.pages.conftest import chromium

__all__ = ["chromium"]
