"""The coach's voice, opened once, and a cache that is nobody's."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from cuegen.voice.booth import Booth, open_booth


@pytest.fixture(scope="session")
def booth() -> Iterator[Booth]:
    with open_booth("natural") as opened:
        yield opened


@pytest.fixture
def cache_dir(tmp_path: Path) -> Path:
    return tmp_path / "cache"
