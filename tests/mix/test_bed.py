"""A bed is out of the way before a voice begins, deep enough, without pumping, at any length.

What the bed does is heard by taking the known lines out of the mix again.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np
import pyebur128
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError
from cuegen.mix.bed import (
    CROSSFADE_MS,
    IN_THE_OPEN_DB,
    MOST_LIFT_DB,
    in_the_open_db,
    lift_db,
    looped,
    measure_bed,
)
from cuegen.mix.ducking import Ducking, Span, speech_spans
from cuegen.mix.encode import Tags, encoding
from cuegen.mix.levels import levels_of
from cuegen.mix.timeline import mix_blocks
from cuegen.schedule.cuesheet import Cue, SheetBed, Sound
from tests.mix.sheets import WORDS, clip_of, line_at, sheet_of
from tests.voice.fake import FakeSpeaker


def music(seconds: float) -> Signal:
    """Return two channels of chords, louder in every other bar of 2 s."""
    at = np.arange(round(seconds * SAMPLE_RATE)) / SAMPLE_RATE
    bars = (at // 2).astype(int)
    roots = np.array([110.0, 147.0, 131.0, 98.0])[bars % 4]
    chord = sum(np.sin(2 * np.pi * roots * ratio * at) for ratio in (1, 1.25, 1.5, 2, 4.01))
    swell = np.where(bars % 2, 1.0, 0.6) * (0.7 + 0.3 * np.cos(2 * np.pi * at))
    return np.stack([chord * swell * 0.1, chord * swell * 0.07], axis=1).astype(np.float32)


def write(path: Path, x: Signal) -> SheetBed:
    with encoding(path, x.shape[1], Tags("bed"), []) as track:
        track.write(x)
    return SheetBed(file=str(path), below_db=20.0)


@pytest.fixture(scope="module")
def bed(tmp_path_factory: pytest.TempPathFactory) -> SheetBed:
    return write(tmp_path_factory.mktemp("bed") / "chords.flac", music(17.3))


def bed_alone(duration_ms: int, cues: Sequence[Cue], bed: SheetBed) -> Signal:
    """Return what is left of a mix when its lines are taken out again."""
    sheet = sheet_of(duration_ms, cues, sound=Sound(bed=bed))
    left = np.concatenate(list(mix_blocks(sheet, FakeSpeaker(), bed=measure_bed(bed))))
    gain = np.float32(10 ** (levels_of(sheet).speech_db / 20))
    for cue in cues:
        at, clip = samples_at(cue.start_ms), clip_of(cue)
        left[at : at + len(clip)] -= (clip * gain)[:, np.newaxis]
    return left


def loudness(x: Signal) -> float:
    """Return the gated loudness of a stretch of two channels, by libebur128."""
    state = pyebur128.R128State(2, SAMPLE_RATE, pyebur128.MeasurementMode.MODE_I)
    state.add_frames(np.ascontiguousarray(x).reshape(-1), len(x))
    return float(pyebur128.get_loudness_global(state))


def part(x: Signal, start_ms: int, end_ms: int) -> Signal:
    return x[samples_at(start_ms) : samples_at(end_ms)]


@pytest.mark.parametrize("below_db", [20.0, 26.0, 12.0])
def test_bed_lies_below_every_line(bed: SheetBed, below_db: float) -> None:
    """W3C WCAG 2.2, 1.4.7 by default: from the first sample of a clip to its last."""
    cues = [line_at(start, WORDS[n % 4]) for n, start in enumerate(range(6_017, 50_000, 9_000))]
    left = bed_alone(60_000, cues, bed.model_copy(update={"below_db": below_db}))
    for cue in cues:
        assert loudness(part(left, cue.start_ms, cue.end_ms)) <= -16.0 - below_db


def test_bed_is_down_before_the_voice_begins(bed: SheetBed) -> None:
    """The 100 ms before a clip are as quiet as those after its beginning: ducked ahead."""
    cue = line_at(20_000, WORDS[0])
    with_line, without = bed_alone(40_000, [cue], bed), bed_alone(40_000, [], bed)
    ahead = slice(samples_at(19_900), samples_at(20_000))
    under = slice(samples_at(20_000), samples_at(20_500))
    ratio = [np.abs(with_line[s]).sum() / np.abs(without[s]).sum() for s in (ahead, under)]
    assert ratio[0] == pytest.approx(ratio[1], rel=1e-3)
    assert 20 * np.log10(ratio[0]) < -10


def test_bed_is_back_between_lines_far_apart(bed: SheetBed) -> None:
    """About 8 dB under speech, where the chords are in the open for long enough to tell."""
    cues = [line_at(start, WORDS[n % 4]) for n, start in enumerate((5_000, 30_000, 36_000))]
    left = bed_alone(45_000, cues, bed)
    open_db = in_the_open_db(speech_spans(cues), samples_at(45_000))
    assert open_db <= IN_THE_OPEN_DB
    assert loudness(part(left, 13_000, 25_000)) == pytest.approx(-16.0 - open_db, abs=2.0)


def test_bed_stays_down_between_lines_close_together(bed: SheetBed) -> None:
    """Lines 3 s apart: the gain under both and between them is one."""
    first = line_at(15_000, WORDS[0])
    second = line_at(first.end_ms + 3_000, WORDS[1])
    spans = speech_spans([first, second])
    assert spans == (Span(samples_at(first.start_ms), samples_at(second.end_ms)),)
    gain = Ducking(spans, -8.0, -20.0).gain(spans[0].start, spans[0].end - spans[0].start)
    assert np.ptp(gain) == 0.0


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 60_000), st.integers(200, 9_000)), max_size=12))
def test_gain_bends_gently_and_is_down_under_all_speech(lines: list[tuple[int, int]]) -> None:
    spans = speech_spans(
        [
            line_at(start, "x").model_copy(update={"end_ms": start + length})
            for start, length in lines
        ]
    )
    ducking = Ducking(spans, -8.0, -20.0)
    for span in spans:
        gain = 20 * np.log10(ducking.gain(span.start, min(span.end - span.start, 48_000)))
        assert np.abs(gain + 20.0).max() < 1e-4
    for before, after in pairwise(spans):
        middle = ducking.gain(before.end + samples_at(2_500), 10)
        assert 20 * np.log10(middle) == pytest.approx(-8.0, abs=1e-4)
        assert after.start - before.end >= samples_at(5_000)
    steps = np.diff(20 * np.log10(ducking.gain(0, 240_000)))
    assert np.abs(steps).max() <= 1.5 * 12 / samples_at(700) + 1e-4


@settings(max_examples=25, deadline=None)
@given(start=st.integers(0, 200_000), length=st.integers(1, 60_000))
def test_gain_is_the_same_however_it_is_asked_for(start: int, length: int) -> None:
    ducking = Ducking((Span(60_000, 90_000),), -8.0, -20.0)
    whole = ducking.gain(0, 300_000)
    assert np.abs(ducking.gain(start, length) - whole[start : start + length]).max() < 1e-7


def test_bed_fades_in_and_out(bed: SheetBed) -> None:
    left = bed_alone(30_000, [], bed)
    assert not left[0].any()
    assert np.abs(left[:480]).max() < 0.01 * np.abs(left).max()
    assert np.abs(left[-480:]).max() < 0.01 * np.abs(left).max()


def test_a_loop_has_no_hole_and_no_jump(bed: SheetBed) -> None:
    """At equal power over 1.5 s the loudness of the join is that of the rest."""
    measured = measure_bed(bed)
    blocks, length = [], 0
    for block in looped(measured):
        blocks.append(block)
        length += len(block)
        if length > 3 * measured.length:
            break
    x = np.concatenate(blocks)
    join = measured.length - samples_at(CROSSFADE_MS)
    assert np.abs(x[:join] - music(17.3)[:join]).max() < 1e-4
    assert np.abs(np.diff(x, axis=0)).max() <= 2 * np.abs(np.diff(x[:join], axis=0)).max()
    around = [loudness(x[join * n : join * n + samples_at(CROSSFADE_MS)]) for n in (1, 2)]
    assert around == pytest.approx([measured.integrated_lufs] * 2, abs=4.0)


def test_a_bed_longer_than_the_track_is_not_looped(tmp_path: Path) -> None:
    """And a bed of one channel sounds from both."""
    mono = music(12)[:, :1]
    left = bed_alone(8_000, [], write(tmp_path / "long.flac", mono))
    inner = slice(samples_at(2_100), samples_at(3_900))
    gain = left[inner, 0] / np.where(np.abs(mono[inner, 0]) > 0.02, mono[inner, 0], np.nan)
    assert np.nanstd(gain) < 0.01 * np.nanmean(gain)
    assert (left[:, 0] == left[:, 1]).all()


@pytest.mark.parametrize(("spoken", "expected"), [(0.35, 6.33), (0.6, 8.0), (0.0, 8.0), (1.0, 8.0)])
def test_in_the_open_the_bed_comes_nearer_where_speech_is_rare(
    spoken: float, expected: float
) -> None:
    """10 log10(0.65 / (10^-0.3 - 0.35)) = 6.33 dB for speech of a third of the time."""
    spans = (Span(0, int(spoken * 1_000_000)),) if spoken else ()
    assert in_the_open_db(spans, 1_000_000) == pytest.approx(expected, abs=0.01)


@settings(deadline=None)
@given(st.integers(1, 1_000_000))
def test_no_track_is_lifted_far_for_its_bed(spoken: int) -> None:
    assert -1e-9 <= lift_db((Span(0, spoken),), 1_000_000) <= MOST_LIFT_DB + 1e-9


def test_a_bed_that_is_no_audio_is_refused(tmp_path: Path) -> None:
    (tmp_path / "river.mp3").write_text("not a river" * 100)
    with pytest.raises(AudioError, match=r"river\.mp3: this is no audio file"):
        measure_bed(SheetBed(file=str(tmp_path / "river.mp3"), below_db=20.0))


def test_a_silent_bed_is_refused(tmp_path: Path) -> None:
    silent = write(tmp_path / "still.wav", np.zeros((5 * SAMPLE_RATE, 1), dtype=np.float32))
    with pytest.raises(AudioError, match=r"still\.wav: this bed is silent"):
        measure_bed(silent)


def test_a_bed_too_short_to_loop_is_refused(tmp_path: Path) -> None:
    with pytest.raises(AudioError, match=r"lasts 1\.2 s, too short for a bed"):
        measure_bed(write(tmp_path / "hit.wav", music(1.2)))
