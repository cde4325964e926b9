"""What a track is laid up from: layers that add themselves to one block after another.

Conventions
    A block is float32 (n, channels); blocks come in order, without holes, from
    sample 0 on. `start` is the absolute index of a block's first sample.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from typing import Protocol

import numpy as np

from cuegen.clock import SAMPLE_RATE, ms_at, samples_at
from cuegen.dsp.signal import Signal, gain_of
from cuegen.errors import SheetError, Where
from cuegen.schedule.cuesheet import Cue, CueSheet
from cuegen.script.candidate import Line
from cuegen.voice.clip import Samples, Speaker


class Layer(Protocol):
    """One part of a mix."""

    def add_to(self, block: Signal, start: int) -> None:
        """Add what sounds in the samples from `start` on to `block`, in place."""
        ...


class Sounding:
    """Sounds that have begun and may run on into the next block; all channels get the same."""

    def __init__(self) -> None:
        self._sounds: list[tuple[int, Samples]] = []

    def begin(self, at: int, samples: Samples) -> None:
        """Let a sound start at an absolute sample."""
        self._sounds.append((at, samples))

    def add_to(self, block: Signal, start: int) -> None:
        """Add what falls into the block and let go of what has ended."""
        stop = start + len(block)
        for at, samples in self._sounds:
            first, last = max(at, start), min(at + len(samples), stop)
            if first < last:
                block[first - start : last - start] += samples[first - at : last - at, np.newaxis]
        self._sounds = [each for each in self._sounds if each[0] + len(each[1]) > stop]


class SpeechLayer:
    """The lines of a sheet. A clip is fetched when its block comes and dropped after its end."""

    def __init__(self, sheet: CueSheet, speaker: Speaker, gain_db: float) -> None:
        self._waiting = deque(sorted(sheet.cues, key=lambda cue: cue.start_ms))
        self._speaker = speaker
        self._gain = np.float32(gain_of(gain_db))
        self._length = samples_at(sheet.duration_ms)
        self._sounding = Sounding()

    def add_to(self, block: Signal, start: int) -> None:
        """Add the lines that sound in the samples from `start` on."""
        stop = start + len(block)
        while self._waiting and samples_at(self._waiting[0].start_ms) < stop:
            cue = self._waiting.popleft()
            self._sounding.begin(samples_at(cue.start_ms), self._samples(cue))
        self._sounding.add_to(block, start)

    def _samples(self, cue: Cue) -> Samples:
        samples = self._speaker.clip(Line(cue.text, cue.speed)).samples
        over = samples_at(cue.start_ms) + len(samples) - self._length
        if over > 0:
            raise SheetError(
                f"cue {cue.id} speaks {max(1, ms_at(over))} ms past the end of the track",
                where=Where(text=cue.text),
                remedy="Start it earlier, shorten its words or make duration_ms larger.",
            )
        return samples * self._gain


def blocks_of(length: int, channels: int, layers: Iterable[Layer]) -> Iterator[Signal]:
    """Give the sum of the layers, `length` samples, a second at a time."""
    parts = tuple(layers)
    for start in range(0, length, SAMPLE_RATE):
        block = np.zeros((min(SAMPLE_RATE, length - start), channels), dtype=np.float32)
        for part in parts:
            part.add_to(block, start)
        yield block
