"""What worker processes are told by their environment."""

from __future__ import annotations

import os

import pytest

from cuegen.children import cores, worker_environment


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


def test_threads_of_a_worker_share_one_heap() -> None:
    assert worker_environment()["MALLOC_ARENA_MAX"] == "1"


@pytest.mark.skipif(not hasattr(os, "sched_getaffinity"), reason="not on this system")
def test_cores_are_those_that_this_process_may_use(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {1, 4, 5})
    assert cores() == 3


def test_cores_are_all_of_them_where_a_system_does_not_say(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(os, "sched_getaffinity", raising=False)
    monkeypatch.setattr(os, "cpu_count", lambda: 6)
    assert cores() == 6
