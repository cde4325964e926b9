"""Cue sheets for the tests of sound, and lines placed on them; every line is a fake voice's."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from cuegen.clock import samples_at
from cuegen.dsp.signal import Signal
from cuegen.plan.model import SegmentKind
from cuegen.schedule.cuesheet import LEAD_MS, Cue, CueSheet, SheetSegment, Sound
from cuegen.script.candidate import Line
from cuegen.script.kinds import CueKind
from tests.voice.fake import FakeSpeaker, fake_length_ms

WORDS = (
    "Sit tall and let the handle run away",
    "Press together, then send it back",
    "Twenty strokes a minute from here",
    "Half of this one is behind you",
)


def segment(
    start_ms: int, end_ms: int, rate: str | None = "20", kind: SegmentKind = SegmentKind.ROW
) -> SheetSegment:
    return SheetSegment(
        start_ms=start_ms,
        end_ms=end_ms,
        kind=kind,
        rate=rate,
        split_ms=None,
        label=f"{kind.value}, from {start_ms} ms",
        effort_pct=70,
        metres=1.0,
        strokes=None,
        watts=None,
    )


def line_at(start_ms: int, text: str, name: str = "line") -> Cue:
    """Return a cue whose clip begins at `start_ms`."""
    length = fake_length_ms(Line(text))
    return Cue(
        id=f"{name}-{start_ms}",
        kind=CueKind.TECHNIQUE,
        firm=False,
        at_ms=start_ms + LEAD_MS,
        start_ms=start_ms,
        end_ms=start_ms + length,
        text=text,
        segment=0,
    )


def sheet_of(
    duration_ms: int,
    cues: Sequence[Cue],
    *,
    segments: Sequence[SheetSegment] | None = None,
    sound: Sound | None = None,
    lead_in_ms: int = 0,
    row_end_ms: int | None = None,
) -> CueSheet:
    end = duration_ms if row_end_ms is None else row_end_ms
    return CueSheet(
        title="Mist on the reservoir",
        duration_ms=duration_ms,
        lead_in_ms=lead_in_ms,
        row_end_ms=end,
        audience="group",
        talk_share=0.35,
        sound=sound or Sound(),
        segments=tuple(segments or [segment(lead_in_ms, end)]),
        cues=tuple(cues),
    )


def talked_through(
    duration_ms: int, *, sound: Sound | None = None, every_ms: int = 7_000
) -> CueSheet:
    """Return a sheet with a line every 7 s, speech for about a third of the time."""
    return sheet_of(duration_ms, list(_lines(duration_ms, every_ms)), sound=sound)


def _lines(duration_ms: int, every_ms: int) -> Iterator[Cue]:
    for number, start in enumerate(range(1_003, duration_ms - 4_000, every_ms)):
        yield line_at(start, WORDS[number % len(WORDS)])


def clip_of(cue: Cue) -> Signal:
    """Return the samples a cue speaks."""
    return FakeSpeaker().clip(Line(cue.text, cue.speed)).samples


def onset_of(heard: Signal, planned: Signal, near: int, within: int = 4_800) -> int:
    """Return where `planned` lies in one channel: the largest FFT cross-correlation near a sample.

    Written for the tests alone, apart from the package's own matched filter.
    """
    first = max(0, near - within)
    window = heard[first : near + within + len(planned)].astype(np.float64)
    size = 1 << int(np.ceil(np.log2(len(window) + len(planned))))
    product = np.fft.rfft(window, size) * np.conj(np.fft.rfft(planned.astype(np.float64), size))
    match = np.fft.irfft(product, size)[: len(window) - len(planned) + 1]
    return first + int(np.argmax(match))


def samples_of(cue: Cue) -> int:
    return samples_at(cue.start_ms)
