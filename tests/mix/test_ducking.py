"""A bed is out of the way before a voice begins, comes back gently, and does not pump."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from cuegen.clock import samples_at
from cuegen.dsp.signal import Signal
from cuegen.mix.ducking import (
    DOWN_MS,
    HOLD_MS,
    READY_MS,
    UP_AT_LEAST_MS,
    UP_MS,
    Ducking,
    Span,
    down_stretches,
    open_stretches,
    speech_spans,
)
from cuegen.schedule.cuesheet import LEAD_MS, Cue, Sound
from tests.mix.beds import bed_alone, noise, part, write
from tests.mix.sheets import WORDS, line_at, sheet_of

Curve = NDArray[np.float64]
LEVELS = st.lists(st.floats(-40, 0), min_size=13, max_size=13)


def decibels(x: Signal) -> Curve:
    return np.asarray(20 * np.log10(x), dtype=np.float64)


def spans_of_lines(lines: list[tuple[int, int]]) -> tuple[Span, ...]:
    cues = [
        line_at(start, "x").model_copy(update={"end_ms": start + length}) for start, length in lines
    ]
    return speech_spans(cues)


LINES = st.lists(st.tuples(st.integers(0, 60_000), st.integers(200, 9_000)), max_size=12)


@settings(max_examples=25, deadline=None)
@given(LINES, LEVELS, LEVELS)
def test_each_span_and_each_open_stretch_has_its_level(
    lines: list[tuple[int, int]], up: list[float], under: list[float]
) -> None:
    spans = spans_of_lines(lines)
    ducking = Ducking(spans, up[: len(spans) + 1], under[: len(spans)])
    for stretch, level in zip(down_stretches(spans), under, strict=False):
        gain = ducking.gain(stretch.start, min(stretch.end - stretch.start, 48_000))
        assert np.abs(decibels(gain) - level).max() < 1e-4
    for stretch, level in zip(open_stretches(spans, 9_000_000), up, strict=False):
        if stretch.end > max(0, stretch.start):
            ends = ducking.gain(max(0, stretch.start), 1), ducking.gain(stretch.end - 1, 1)
            assert decibels(np.concatenate(ends)) == pytest.approx(level, abs=1e-3)


@settings(max_examples=25, deadline=None)
@given(LINES)
def test_gain_bends_gently(lines: list[tuple[int, int]]) -> None:
    """No step is steeper than the middle of the way down, 1.5 times its mean."""
    spans = spans_of_lines(lines)
    ducking = Ducking(spans, [-8.0] * (len(spans) + 1), [-20.0] * len(spans))
    steps = np.diff(decibels(ducking.gain(0, 240_000)))
    assert np.abs(steps).max() <= 1.5 * 12 / samples_at(DOWN_MS) + 1e-4


@settings(max_examples=25, deadline=None)
@given(start=st.integers(0, 200_000), length=st.integers(1, 60_000))
def test_gain_is_the_same_however_it_is_asked_for(start: int, length: int) -> None:
    ducking = Ducking((Span(60_000, 90_000),), [-8.0, -5.0], [-20.0])
    whole = ducking.gain(0, 300_000)
    assert np.abs(ducking.gain(start, length) - whole[start : start + length]).max() < 1e-7


@settings(max_examples=50, deadline=None)
@given(LINES)
def test_between_two_spans_there_is_time_to_come_back(lines: list[tuple[int, int]]) -> None:
    for before, after in pairwise(spans_of_lines(lines)):
        least = HOLD_MS + UP_MS + UP_AT_LEAST_MS + DOWN_MS + READY_MS
        assert after.start - before.end >= samples_at(least)


def test_bed_stays_down_between_lines_close_together() -> None:
    """Lines 3 s apart: the gain under both and between them is one."""
    first = line_at(15_000, WORDS[0])
    second = line_at(first.end_ms + 3_000, WORDS[1])
    spans = speech_spans([first, second])
    assert spans == (Span(samples_at(first.start_ms), samples_at(second.end_ms)),)
    gain = Ducking(spans, [-8.0, -8.0], [-20.0]).gain(spans[0].start, spans[0].end - spans[0].start)
    assert np.ptp(gain) == 0.0


def test_an_alert_belongs_to_the_span_of_its_line() -> None:
    line = line_at(15_000, WORDS[0])
    spans = speech_spans([line], alerts_ms=[14_460])
    assert spans == (Span(samples_at(14_460), samples_at(line.end_ms)),)


def test_levels_must_fit_the_spans() -> None:
    with pytest.raises(ValueError, match="one level for each span"):
        Ducking((Span(0, 9),), [-8.0], [-20.0])


def envelope(x: Signal, ms: int) -> Curve:
    """Return the power of each `ms` of a steady noise, in dB."""
    frames = x[: len(x) // samples_at(ms) * samples_at(ms)].reshape(-1, samples_at(ms) * 2)
    return np.asarray(10 * np.log10(np.square(frames).mean(axis=1)))


def quiet_line(tmp_path: Path) -> tuple[Cue, Signal]:
    """Return a line and what a bed of steady noise does around it."""
    bed = write(tmp_path / "noise.wav", noise(60, 3))
    cue = line_at(20_000, WORDS[0])
    return cue, bed_alone(sheet_of(40_000, [cue], sound=Sound(bed=bed)))


def test_the_bed_is_at_its_depth_before_the_first_word(tmp_path: Path) -> None:
    """Heard on the bed alone: the 140 ms before the clip are as quiet as those under it."""
    cue, left = quiet_line(tmp_path)
    ahead = envelope(part(left, cue.start_ms - 140, cue.start_ms + LEAD_MS), 150)
    under = envelope(part(left, cue.start_ms, cue.end_ms), 150)
    before = envelope(part(left, cue.start_ms - 5_000, cue.start_ms - 1_000), 150)
    assert ahead[0] == pytest.approx(under.mean(), abs=0.3)
    assert before.mean() - under.mean() > 10


def test_the_bed_comes_back_gently_and_once(tmp_path: Path) -> None:
    """From 400 ms after the line on it rises for 2 s, never falling, 1.5 dB in 100 ms at most."""
    cue, left = quiet_line(tmp_path)
    rise = envelope(part(left, cue.end_ms + HOLD_MS, cue.end_ms + HOLD_MS + UP_MS), 100)
    assert rise[-1] - rise[0] > 10
    assert np.diff(rise).min() > -0.3
    assert np.diff(rise).max() < 1.5
