"""What the C library does with memory that was freed: kept for what comes next, or given back.

glibc alone is told so (mallopt(3), malloc_trim(3)); with other libraries nothing happens.
"""

from __future__ import annotations

import ctypes
from contextlib import suppress

import numpy as np

_LARGEST_BLOCK = 31 << 20
"""Just under 32 MB, the largest block from which glibc learns (mallopt(3), M_MMAP_THRESHOLD)."""


def keep_freed_memory() -> None:
    """Have the C library keep what clips take and free, up to 64 MB, for the next clip.

    A clip needs some arrays of a megabyte or two. glibc gives them back to the system
    each time, and fetching fresh pages was a sixth of the time that finishing took;
    once it has seen a large block freed, it keeps them. The block itself is never touched.
    """
    np.empty(_LARGEST_BLOCK, dtype=np.uint8)


def give_back_freed_memory() -> None:
    """Have the C library give back what it keeps, also that of threads that have ended.

    Encoders leave 50 MB behind (measured, two channels), which would lie under all that is
    done afterwards.
    """
    with suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)
