"""A finished clip, and what can speak one.

Conventions
    Samples are float32 mono at SAMPLE_RATE, shape (n,). A finished clip is
    trimmed, levelled to CLIP_LUFS and peak-limited, and its first word begins
    exactly LEAD_MS after its first sample, so that a mixer needs no more than
    the cue's `start_ms`. The same line in the same voice gives the same samples
    in every track.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from cuegen.clock import SAMPLE_RATE
from cuegen.script.candidate import Line

Samples = NDArray[np.float32]

CLIP_LUFS = -19.0
"""Gated loudness of a finished clip heard from one channel."""


@dataclass(frozen=True, slots=True, eq=False)
class Clip:
    """follows: whether the aligner follows a take's words; None for what a voice spoke."""

    line: Line
    samples: Samples
    follows: bool | None = None

    @property
    def length_ms(self) -> int:
        """Whole milliseconds that hold every sample of the clip."""
        return length_ms_of(len(self.samples))


def length_ms_of(samples: int) -> int:
    """Return the whole milliseconds that hold so many samples."""
    return -(-samples * 1000 // SAMPLE_RATE)


class Speaker(Protocol):
    """What speaks lines: a Booth with a real voice, takes before it, or a fake one in tests."""

    def length_ms(self, line: Line) -> int:
        """Return the length of the finished clip; speaks the line if it is not cached."""
        ...

    def clip(self, line: Line) -> Clip:
        """Return the finished clip."""
        ...
