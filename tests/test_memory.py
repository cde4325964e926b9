"""Freed memory, counted by the system: kept while clips are made, given back after a track."""

from __future__ import annotations

import platform
import subprocess
import sys

import pytest

pytestmark = pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="habits of glibc")

_FAULTS = """
import resource, sys
import numpy as np
from cuegen.script.candidate import Line
from cuegen.memory import keep_freed_memory
from cuegen.voice.finishing import finish
if sys.argv[1:]:
    keep_freed_memory()
raw = (0.1 * np.sin(np.arange(72_000) ** 1.1)).astype(np.float32)
for count in range(12):
    if count == 2:
        before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
    finish(raw, 24_000, Line("Hold this length, and breathe."))
print(resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before)
"""


def test_freed_memory_is_kept_for_the_next_clip() -> None:
    """Counted in pages that the system had to give, over ten clips."""
    given, kept = (
        int(subprocess.check_output([sys.executable, "-c", _FAULTS, *option]))
        for option in ([], ["keep"])
    )
    assert kept < given / 4


_LEFT = """
import resource
import threading
import numpy as np
from cuegen.memory import give_back_freed_memory, keep_freed_memory

def held_mb():
    with open("/proc/self/statm") as told:
        return int(told.read().split()[1]) * resource.getpagesize() / 2**20

def fill_and_free():
    blocks = [np.ones(100_000) for _ in range(100)]
    keeper.append(np.ones(10))

keeper = []
keep_freed_memory()
start = held_mb()
for _ in range(2):
    thread = threading.Thread(target=fill_and_free)
    thread.start()
    thread.join()
left = held_mb() - start
give_back_freed_memory()
print(left, held_mb() - start)
"""


def test_freed_memory_is_given_back_when_asked() -> None:
    """Of 76 MB that a thread took and freed, most is left behind, and then nearly none."""
    told = subprocess.check_output([sys.executable, "-c", _LEFT], text=True)
    left, after = map(float, told.split())
    assert left > 30
    assert after < 8
