"""The fake voice keeps the promises that other stages' tests lean on."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.schedule.cuesheet import LEAD_MS
from cuegen.script.candidate import Line
from cuegen.voice.clip import CLIP_LUFS
from tests.voice.fake import FakeSpeaker, fake_length_ms

LINES = [Line("Go."), Line("Three."), Line("Rate up, twenty."), Line("Sit tall. " * 12, 1.12)]


@pytest.mark.parametrize("line", LINES, ids=lambda line: line.text[:12])
def test_a_fake_clip_is_finished_like_a_real_one(line: Line) -> None:
    """Exact length, onset at LEAD_MS, CLIP_LUFS by an outside meter, true peak under -2 dBTP."""
    from pyloudnorm import Meter

    clip = FakeSpeaker().clip(line)
    around = np.zeros(samples_at(400))
    heard = Meter(SAMPLE_RATE).integrated_loudness(np.concatenate([around, clip.samples, around]))
    oversampled = signal.resample_poly(clip.samples.astype(float), 4, 1)
    assert clip.length_ms == fake_length_ms(line) == FakeSpeaker().length_ms(line)
    assert not clip.samples[: samples_at(LEAD_MS)].any()
    assert np.abs(clip.samples[samples_at(LEAD_MS) :][:96]).max() > 0.03
    assert heard == pytest.approx(CLIP_LUFS, abs=0.05)
    assert 20 * np.log10(np.abs(oversampled).max()) < -2


def test_length_is_250_ms_and_55_ms_a_character() -> None:
    assert fake_length_ms(Line("Go.")) == 415
    assert fake_length_ms(Line("Go.", speed=1.12)) == 371


def test_different_lines_do_not_correlate_and_equal_lines_are_equal() -> None:
    speaker = FakeSpeaker()
    three, trees = speaker.clip(Line("Three.")).samples, speaker.clip(Line("Trees.")).samples
    likeness = np.dot(three, trees) / np.sqrt(np.dot(three, three) * np.dot(trees, trees))
    assert abs(likeness) < 0.1
    assert np.array_equal(three, FakeSpeaker().clip(Line("Three.")).samples)
