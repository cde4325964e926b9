"""The meters of a whole file."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.plan.model import SegmentKind, ToneSpan
from cuegen.schedule.cuesheet import CueSheet, SheetSegment, Sound
from cuegen.verify.levels import FRAME_MS, TrackMeters, coarse_shift_ms, noise_in_silences
from tests.verify.test_stretches import cue

CUES = (cue(0, 500, 1_500), cue(1, 3_000, 3_600), cue(2, 7_000, 9_000))
SHEET = CueSheet(
    title="Levels",
    duration_ms=10_000,
    lead_in_ms=0,
    row_end_ms=10_000,
    audience="group",
    talk_share=0.3,
    segments=(
        SheetSegment(
            start_ms=0,
            end_ms=10_000,
            kind=SegmentKind.ROW,
            rate="20",
            split_ms=None,
            label="row",
            effort_pct=70,
            metres=50.0,
            strokes=3.0,
            watts=None,
        ),
    ),
    cues=CUES,
)


def track(shift_ms: int = 0) -> NDArray[np.float32]:
    """Return noise at -20 dBFS RMS where lines were planned, silence elsewhere."""
    sound = np.zeros((10 * SAMPLE_RATE, 1), dtype=np.float32)
    noise = np.random.default_rng(4).normal(scale=0.1, size=sound.shape).astype(np.float32)
    for each in CUES:
        span = slice(samples_at(each.start_ms + shift_ms), samples_at(each.end_ms + shift_ms))
        sound[span] = noise[span]
    return sound


def frames(sound: NDArray[np.float32]) -> NDArray[np.float64]:
    meters = TrackMeters(sound.shape[1])
    for block in np.array_split(sound, 7):
        meters.add(block)
    measured = meters.measured()
    assert measured.duration_ms == 10_000
    return measured.frames


def test_planned_sound_breaks_no_silence() -> None:
    assert noise_in_silences(frames(track()), SHEET, -50.0) is None


def test_sound_in_a_silence_is_named_with_its_place_and_level() -> None:
    sound = track()
    sound[samples_at(5_000) : samples_at(5_200)] = 0.01
    noise = noise_in_silences(frames(sound), SHEET, -50.0)
    assert noise is not None
    assert 5_000 <= noise.at_ms < 5_200
    assert noise.db == pytest.approx(-40.0, abs=0.01)
    assert noise.frames == 200 // FRAME_MS


def test_a_silence_in_one_channel_is_no_silence() -> None:
    sound = np.repeat(track(), 2, axis=1)
    sound[samples_at(5_000) : samples_at(5_200), 1] = 0.01
    assert noise_in_silences(frames(sound), SHEET, -50.0) is not None


def test_stroke_tones_were_planned_too() -> None:
    """At 20 strokes a minute catches fall on 0, 3 and 6 s."""
    sound = track()
    sound[samples_at(6_000) : samples_at(6_100)] = 0.01
    toned = SHEET.model_copy(update={"sound": Sound(stroke_tones=ToneSpan.ALL)})
    assert noise_in_silences(frames(sound), toned, -50.0) is None
    assert noise_in_silences(frames(sound), SHEET, -50.0) is not None


@pytest.mark.parametrize("shift_ms", [-400, 0, 900])
def test_a_shift_of_the_whole_is_told_from_levels_alone(shift_ms: int) -> None:
    assert coarse_shift_ms(frames(track(shift_ms)), CUES) == pytest.approx(shift_ms, abs=FRAME_MS)


def test_an_empty_file_and_silence_have_no_level() -> None:
    measured = TrackMeters(1).measured()
    assert (measured.duration_ms, measured.lufs, measured.peak_dbtp) == (0, None, None)
