from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from cuegen.log import Log, open_log


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "results.db"


@pytest.fixture
def log(path: Path) -> Iterator[Log]:
    with open_log(path) as opened:
        yield opened
