"""The natural voice, opened once for all tests that hear words."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from cuegen.voice.booth import Booth, open_booth


@pytest.fixture(scope="session")
def booth() -> Iterator[Booth]:
    with open_booth("natural") as opened:
        yield opened
