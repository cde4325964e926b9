"""A bed heard in a finished file where nobody speaks: between lines, and right before them.

Conventions
    Loudness by libebur128, in LU against speech: the gated loudness of all lines that
    last BLOCK_MS and more, as they lie in the same file. Between lines the bed is held to
    its target; before each line, in the BEFORE_MS that end where its clip begins, to the
    loudness of speech.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyebur128

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import open_audio
from cuegen.dsp.signal import Signal
from cuegen.mix.bed import FADE_IN_MS, FADE_OUT_MS, in_the_open_db
from cuegen.mix.ducking import READY_MS, Span, open_stretches, spans_of
from cuegen.schedule.cuesheet import CueSheet

BLOCK_MS = 400
"""The meter's block (BS.1770): it tells nothing of less."""
BEFORE_MS = READY_MS - 20
"""Codecs smear a sound some milliseconds ahead of itself."""


@dataclass(frozen=True, slots=True)
class Between:
    """off_lu: how far the bed is from its target between lines, at worst, either way.

    ahead_lu: how near it is to speech right before a line, at worst; negative is under it.
    """

    off_lu: float
    ahead_lu: float


def heard_between(track: Path, sheet: CueSheet) -> Between:
    """Measure a finished track of a sheet with a bed and no stroke tones."""
    length, spans = samples_at(sheet.duration_ms), spans_of(sheet)
    first, last = samples_at(FADE_IN_MS), length - samples_at(FADE_OUT_MS)
    inner = [
        Span(max(each.start, first), min(each.end, last)) for each in open_stretches(spans, length)
    ]
    between = [_Part([each]) for each in inner if each.end - each.start >= SAMPLE_RATE]
    before = samples_at(BEFORE_MS)
    ahead = [_Part([Span(each.start - before, each.start)]) for each in spans if each.start > first]
    lines = [
        Span(samples_at(cue.start_ms), samples_at(cue.end_ms))
        for cue in sheet.cues
        if cue.end_ms - cue.start_ms >= BLOCK_MS
    ]
    speech = _Part(lines)
    _measure(track, [*between, *ahead, speech])
    said, wanted = speech.lufs(), in_the_open_db(spans, length)
    return Between(
        off_lu=max(abs(part.lufs() - said + wanted) for part in between),
        ahead_lu=max(part.lufs() - said for part in ahead),
    )


class _Part:
    """One or more stretches of a file, metered as one."""

    def __init__(self, stretches: list[Span]) -> None:
        self._stretches = stretches
        self._length = sum(each.end - each.start for each in stretches)
        self._meter = pyebur128.R128State(2, SAMPLE_RATE, pyebur128.MeasurementMode.MODE_I)
        # What is shorter than a block is filled up with silence, which is then made up for.
        self._missing = max(0, samples_at(BLOCK_MS) - self._length)
        self._give(np.zeros((self._missing, 2), dtype=np.float32))

    def add(self, block: Signal, at: int) -> None:
        """Take of a block, whose first sample is `at`, what lies in the stretches."""
        for each in self._stretches:
            if each.start < at + len(block) and each.end > at:
                self._give(block[max(0, each.start - at) : each.end - at])

    def lufs(self) -> float:
        made_up = 10 * np.log10((self._length + self._missing) / self._length)
        return float(pyebur128.get_loudness_global(self._meter)) + float(made_up)

    def _give(self, sound: Signal) -> None:
        if len(sound):
            self._meter.add_frames(np.ascontiguousarray(sound).reshape(-1), len(sound))


def _measure(track: Path, parts: list[_Part]) -> None:
    at = 0
    for block in open_audio(track).blocks():
        for part in parts:
            part.add(block, at)
        at += len(block)
