"""Fixtures of the voice tests."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

_ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(autouse=True)
def workers_find_the_tests(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let worker processes import the engines in tests/, as an installed package cannot."""
    paths = [str(_ROOT), os.environ.get("PYTHONPATH", "")]
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(path for path in paths if path))


@pytest.fixture(autouse=True)
def own_cache(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Keep tests out of the cache of whoever runs them."""
    monkeypatch.setenv("CUEGEN_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"
