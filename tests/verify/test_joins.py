"""No click where a line begins or ends: the steps there, measured on the decoded track.

A click is a jump from one sample to the next that the sound around it does not make. At
each join (1 ms on either side of a clip's first and last sample) the largest second
difference, which is where a jump shows most, is set against the largest one of the line itself.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import signal
from scipy.io import wavfile

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import read_audio
from cuegen.dsp.signal import Signal
from cuegen.mix.render import render
from cuegen.plan.model import ToneSpan
from cuegen.schedule.cuesheet import Cue, CueSheet, SheetBed
from cuegen.script.candidate import Line
from cuegen.voice.booth import Booth
from cuegen.voice.clip import Clip, Speaker

pytestmark = pytest.mark.slow

NEAR = samples_at(1)
CLICK_DB = -24.0
"""A bend at a join this near to the largest of its line is a jump. Measured with the natural
voice: -51 dB at most in wav, -47 dB in mp3; where clips are cut off in full sound, -18 dB at
half of the joins and up to +9 dB."""


class Cut:
    """A speaker whose clips lack their first and last 60 ms: they begin and end in full sound."""

    def __init__(self, booth: Booth) -> None:
        self.booth = booth

    def length_ms(self, line: Line) -> int:
        return self.booth.length_ms(line) - 120

    def clip(self, line: Line) -> Clip:
        off = samples_at(60)
        return Clip(line, self.booth.clip(line).samples[off:-off])


def bend(x: Signal) -> float:
    return float(np.abs(np.diff(x.astype(np.float64), 2, axis=0)).max(initial=1e-9))


def joins_db(track: Signal, cue: Cue, length: int) -> tuple[float, float]:
    """Return how far the largest bend at a line's start and end lies under that of the line."""
    start = samples_at(cue.start_ms)
    line = bend(track[start : start + length])
    ends = (track[at - NEAR : at + NEAR] for at in (start, start + length))
    first, last = (float(20 * np.log10(bend(end) / line)) for end in ends)
    return first, last


def measured(sheet: CueSheet, speaker: Speaker, track: Path) -> list[float]:
    """Render, decode, and return the joins of all lines."""
    render(sheet, speaker, track)
    heard = read_audio(track)
    found: list[float] = []
    for cue in sheet.cues:
        found += joins_db(heard, cue, len(speaker.clip(Line(cue.text, cue.speed)).samples))
    return found


@pytest.mark.parametrize("suffix", [".wav", ".mp3"])
def test_no_line_begins_or_ends_with_a_click(
    sheet: CueSheet, booth: Booth, tmp_path: Path, suffix: str
) -> None:
    assert max(measured(sheet, booth, tmp_path / f"track{suffix}")) < CLICK_DB - 12.0


def test_a_click_would_be_seen(sheet: CueSheet, booth: Booth, tmp_path: Path) -> None:
    """Clips that are cut off in full sound jump at most of their joins."""
    found = measured(sheet, Cut(booth), tmp_path / "track.wav")
    assert np.mean(np.array(found) > CLICK_DB) > 0.5


def test_a_bed_and_tones_do_not_jump_at_a_join(
    sheet: CueSheet, booth: Booth, tmp_path: Path
) -> None:
    """Ducking moves the bed's gain slowly: its bends at a join are those of the bed around it."""
    rng = np.random.default_rng(5)
    music = signal.lfilter([1], [1, -0.9], rng.normal(size=20 * SAMPLE_RATE)) * 0.02
    wavfile.write(tmp_path / "bed.wav", SAMPLE_RATE, music.astype(np.float32))
    bed = SheetBed(file=str(tmp_path / "bed.wav"), below_db=20.0)
    sound = sheet.sound.model_copy(update={"bed": bed, "stroke_tones": ToneSpan.ALL})
    over = sheet.model_copy(update={"sound": sound})
    render(over, booth, tmp_path / "track.wav")
    heard = read_audio(tmp_path / "track.wav")
    for cue in over.cues:
        start = samples_at(cue.start_ms)
        if start < SAMPLE_RATE:
            continue
        around = bend(heard[start - samples_at(140) : start - NEAR])
        assert bend(heard[start - NEAR : start + NEAR]) < 2 * around
