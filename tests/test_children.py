"""What worker processes are told by their environment."""

from __future__ import annotations

import pytest

from cuegen.children import worker_environment


def test_a_worker_has_one_thread_of_maths_whatever_its_parent_has(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("OMP_NUM_THREADS", "8")
    assert worker_environment()["OMP_NUM_THREADS"] == "1"


def test_all_else_is_the_parent_s_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CUEGEN_CACHE", "kept")
    monkeypatch.setenv("MALLOC_TRIM_THRESHOLD_", "1")
    found = worker_environment()
    assert found["CUEGEN_CACHE"] == "kept"
    assert found["MALLOC_TRIM_THRESHOLD_"] == "1"
    assert found["MALLOC_MMAP_THRESHOLD_"] == str(32 << 20)
