"""The environment of worker processes (voices and aligners), and the cores they share.

Each is one of a few that share the cores, so that a library's own threads would only
get in one another's way. And each takes and frees arrays of a megabyte or two for every
line: glibc gives those back to the system and fetches fresh pages, which it is told not
to, nor to keep such a store for each thread (mallopt(3); 50 MB less, measured); other C
libraries do not read these names.
"""

from __future__ import annotations

import os

_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
_KEPT_BYTES = 64 << 20


def cores() -> int:
    """Return how many cores this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


def worker_environment() -> dict[str, str]:
    """Return this process's environment with what a worker needs of its own."""
    kept = {"MALLOC_MMAP_THRESHOLD_": _KEPT_BYTES // 2, "MALLOC_TRIM_THRESHOLD_": _KEPT_BYTES}
    own = {name: str(value) for name, value in kept.items()} | {"MALLOC_ARENA_MAX": "1"}
    return own | os.environ | dict.fromkeys(_ONE_THREAD, "1")
