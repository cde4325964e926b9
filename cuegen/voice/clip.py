"""A finished clip, and what can speak one.

Conventions
    Samples are float32 mono at SAMPLE_RATE, shape (n,). A finished clip is
    trimmed, levelled to CLIP_LUFS, limited to CLIP_DBTP, and its first word begins
    exactly LEAD_MS after its first sample, so that a mixer needs no more than
    the cue's `start_ms`. The same line in the same voice gives the same samples
    in every track.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

from cuegen.clock import SAMPLE_RATE
from cuegen.script.candidate import Line
from cuegen.telling import Progress

Samples = NDArray[np.float32]


FINISHING_VERSION = 3
"""Rises with any audible change to how a clip is finished (cuegen.voice.finishing)."""

CLIP_LUFS = -19.0
"""Gated loudness of a finished clip heard from one channel."""

CLIP_DBTP = -2.0
"""Highest true peak of a finished clip: 1 dB under the track's, for the bed and the encoder."""


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


@runtime_checkable
class Preparing(Protocol):
    """A speaker that is told of many lines before they are asked for, and so is sooner done."""

    def prepare(self, lines: Iterable[Line], on_progress: Progress | None = None) -> None:
        """Speak all lines that are missing, each once."""
        ...
