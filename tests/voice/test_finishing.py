"""Finishing: the contract of a clip, on sounds whose onset and end are known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from pyloudnorm import Meter
from scipy import signal

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.errors import VoiceError
from cuegen.schedule.cuesheet import LEAD_MS
from cuegen.script.candidate import Line
from cuegen.voice.clip import CLIP_DBTP, CLIP_LUFS, Samples
from cuegen.voice.finishing import (
    END_DB,
    MARGIN_DB,
    ONSET_DB,
    STAY_MS,
    TAIL_MS,
    WINDOW_MS,
    finish,
    speech_span,
)

LINE = Line("Three.")


def _voiced(length_ms: int, rate: int = SAMPLE_RATE, pitch: float = 140.0) -> Samples:
    """Return a buzz with two formants, loud from its first sample on, as a vowel is."""
    at = np.arange(length_ms * rate // 1000) / rate
    buzz = signal.sawtooth(2 * np.pi * pitch * at)
    for centre in (500.0, 1500.0):
        band = signal.butter(1, (centre * 0.7, centre * 1.4), "bandpass", fs=rate, output="sos")
        buzz = buzz + signal.sosfilt(band, buzz)
    return np.asarray(0.1 * buzz, dtype=np.float32)


def _silence(ms: int, rate: int = SAMPLE_RATE) -> Samples:
    return np.zeros(ms * rate // 1000, dtype=np.float32)


def _loudness(clip: Samples) -> float:
    around = np.zeros(samples_at(400))
    return float(Meter(SAMPLE_RATE).integrated_loudness(np.concatenate([around, clip, around])))


def _true_peak_db(clip: Samples) -> float:
    return float(20 * np.log10(np.abs(signal.resample_poly(clip.astype(float), 8, 1)).max()))


@pytest.mark.parametrize("rate", [16_000, 22_050, 24_000, 44_100, 48_000])
def test_the_first_sound_stands_lead_ms_after_the_first_sample(rate: int) -> None:
    raw = np.concatenate([_silence(237, rate), _voiced(400, rate), _silence(200, rate)])
    clip = finish(raw, rate, LINE)
    loud = np.flatnonzero(np.abs(clip) > 0.1 * np.abs(clip).max())[0]
    assert loud == pytest.approx(samples_at(LEAD_MS), abs=samples_at(1))
    assert np.abs(clip[: samples_at(LEAD_MS - 1)]).max() < 0.01


def test_the_length_is_lead_speech_and_tail() -> None:
    """Up to 25 ms more: a sound that stops at once rings on a little in the high-pass."""
    raw = np.concatenate([_silence(300), _voiced(400), _silence(300)])
    length_ms = len(finish(raw, SAMPLE_RATE, LINE)) * 1000 / SAMPLE_RATE
    assert 0 <= length_ms - (LEAD_MS + 400 + TAIL_MS) <= 25


def test_a_sound_without_silence_around_it_is_finished_alike() -> None:
    """The small voice starts some words with its first sample."""
    clip = finish(_voiced(400), SAMPLE_RATE, LINE)
    assert not clip[: samples_at(LEAD_MS) - 1].any()
    assert abs(float(clip[-1])) < 1e-4
    assert np.abs(clip[samples_at(LEAD_MS) :][: samples_at(8)]).max() > 0.05


def test_a_soft_beginning_is_not_cut() -> None:
    """80 ms of hiss 30 dB under the vowel, as an f or th begins, belong to the word."""
    hiss = np.random.default_rng(2).standard_normal(samples_at(80)) * 0.1 * 10 ** (-30 / 20)
    raw = np.concatenate([_silence(200), hiss, _voiced(300), _silence(100)]).astype(np.float32)
    clip = finish(raw, SAMPLE_RATE, LINE)
    vowel = np.flatnonzero(np.abs(clip) > 0.2 * np.abs(clip).max())[0]
    assert vowel == pytest.approx(samples_at(LEAD_MS + 80), abs=samples_at(3))


def test_breath_and_clicks_before_the_word_are_not_the_word() -> None:
    rng = np.random.default_rng(3)
    breath = rng.standard_normal(samples_at(250)) * 0.1 * 10 ** (-50 / 20)
    breath[samples_at(60) : samples_at(60) + 40] += 0.02
    raw = np.concatenate([breath, _voiced(300), _silence(100)]).astype(np.float32)
    onset, _ = speech_span(raw.astype(np.float64))
    assert onset == pytest.approx(samples_at(250), abs=samples_at(2))


@pytest.mark.parametrize("after", [1_000, 3_500, 4_095, 4_096, 4_097, 9_000, 20_000])
def test_an_onset_is_found_however_long_after_a_click_it_lies(after: int) -> None:
    sound = np.zeros(samples_at(1_000))
    sound[500:540] = sound[500 + after : 500 + after + samples_at(200)] = 0.5
    onset, _ = speech_span(sound)
    assert onset == 500 + after


def test_a_noise_floor_is_not_taken_for_speech() -> None:
    """A recording 38 dB over its room's noise, as a coach's own voice file may be."""
    noise = np.random.default_rng(4).standard_normal(samples_at(1_000)) * 10 ** (-56 / 20)
    raw = noise.astype(np.float32)
    raw[samples_at(400) : samples_at(700)] += _voiced(300)
    onset, end = speech_span(raw.astype(np.float64))
    assert onset == pytest.approx(samples_at(400), abs=samples_at(3))
    assert end == pytest.approx(samples_at(700), abs=samples_at(20))


@given(st.integers(0, 2**32 - 1), st.integers(1, 300), st.floats(-70.0, -20.0))
@settings(max_examples=40, deadline=None)
def test_the_span_is_that_of_the_rule_worked_out_window_by_window(
    seed: int, blocks: int, noise_db: float
) -> None:
    """Blocks of 1 to 15 ms, loud, soft or silent, in noise: many windows are near a level."""
    rng = np.random.default_rng(seed)
    loudness = rng.choice([0.0, 0.0, 1e-3, 1e-2, 0.015, 0.02, 1.0], size=blocks)
    envelope = np.repeat(loudness, rng.integers(samples_at(1), samples_at(15), size=blocks))
    noise = rng.standard_normal(len(envelope)) * 10 ** (noise_db / 20)
    sound = rng.standard_normal(len(envelope)) * envelope + noise
    assert speech_span(sound) == _span_by_the_rule(sound)


def _span_by_the_rule(sound: NDArray[np.float64]) -> tuple[int, int]:
    """Return onset and end by the module's onset rule, written as it reads."""
    width, stay = samples_at(WINDOW_MS), samples_at(STAY_MS)
    power = np.concatenate([sound**2, np.zeros(width - 1)])
    energy = np.lib.stride_tricks.sliding_window_view(power, width).mean(axis=1)
    highest = energy.max() * 10 ** (-26 / 10)
    floor = min(np.percentile(energy, 10) * 10 ** (MARGIN_DB / 10), highest)
    start, end = (max(energy.max() * 10 ** (db / 10), floor) for db in (ONSET_DB, END_DB))
    over = np.concatenate([energy > start, np.zeros(stay - 1, dtype=bool)])
    counts = np.lib.stride_tricks.sliding_window_view(over, stay).sum(axis=1)
    candidates = np.flatnonzero(energy > start)
    lasting = candidates[counts[candidates] >= 0.75 * stay]
    first = int(lasting[0] if len(lasting) else candidates[0])
    reached = np.flatnonzero(power[first : first + width] > start)
    onset = first + int(reached[0]) if len(reached) else first
    return onset, min(len(sound), int(np.flatnonzero(energy > end)[-1]) + width)


def test_an_offset_and_rumble_are_taken_away() -> None:
    at = np.arange(samples_at(1_000)) / SAMPLE_RATE
    raw = np.concatenate([_silence(300), _voiced(400), _silence(300)])
    rumbling = (raw + 0.06 + 0.005 * np.sin(2 * np.pi * 15 * at)).astype(np.float32)
    clip = finish(rumbling, SAMPLE_RATE, LINE)
    clean = finish(raw, SAMPLE_RATE, LINE)
    assert abs(float(clip.mean())) < 1e-3
    assert len(clip) == pytest.approx(len(clean), abs=samples_at(15))


@pytest.mark.parametrize("length_ms", [220, 280, 400, 3_000])
def test_every_clip_has_the_loudness_by_an_outside_meter(length_ms: int) -> None:
    """pyloudnorm 0.2.0 (ITU-R BS.1770) over the clip with 400 ms of silence on both sides."""
    raw = np.concatenate([_silence(200), _voiced(length_ms), _silence(200)])
    text = "Go." if length_ms < 1_000 else "Hold this length."
    assert _loudness(finish(raw, SAMPLE_RATE, Line(text))) == pytest.approx(CLIP_LUFS, abs=0.1)


@pytest.mark.parametrize("pitch", [60.0, 90.0, 140.0])
def test_true_peak_keeps_under_the_ceiling_by_outside_oversampling(pitch: float) -> None:
    """Pulses with a crest of 20 dB and more; eight-fold oversampling by scipy."""
    pulses = _silence(500)
    pulses[:: int(SAMPLE_RATE / pitch)] = 1.0
    shape = signal.butter(2, 3_000, fs=SAMPLE_RATE, output="sos")
    clip = finish(signal.sosfilt(shape, pulses).astype(np.float32), SAMPLE_RATE, LINE)
    assert _true_peak_db(clip) <= CLIP_DBTP + 0.05
    assert _true_peak_db(clip) > CLIP_DBTP - 1.0


@given(st.floats(-50.0, 12.0), st.integers(0, 400), st.integers(0, 400))
@settings(max_examples=25, deadline=None)
def test_level_and_silence_around_change_nothing(gain_db: float, before: int, after: int) -> None:
    gain = np.float32(10 ** (gain_db / 20))
    plain = finish(np.concatenate([_silence(100), _voiced(300), _silence(100)]), SAMPLE_RATE, LINE)
    moved = np.concatenate([_silence(100 + before), _voiced(300), _silence(100 + after)]) * gain
    clip = finish(moved, SAMPLE_RATE, LINE)
    assert len(clip) == pytest.approx(len(plain), abs=2)
    shorter = min(len(clip), len(plain))
    assert np.abs(clip[:shorter] - plain[:shorter]).max() < 2e-3


def test_the_same_sound_gives_the_same_samples() -> None:
    raw = np.concatenate([_silence(100), _voiced(300), _silence(100)])
    assert np.array_equal(finish(raw, 24_000, LINE), finish(raw.copy(), 24_000, LINE))


def _with_nan(raw: Samples) -> Samples:
    raw[100] = np.nan
    return raw


@pytest.mark.parametrize(
    ("raw", "rate", "why"),
    [
        (_silence(0), SAMPLE_RATE, "spoke nothing$"),
        (_silence(500), SAMPLE_RATE, "nothing but silence"),
        (_with_nan(_voiced(300)), SAMPLE_RATE, "no numbers"),
        (_voiced(300), 0, "no mono sound"),
        (np.ones((100, 2), dtype=np.float32), SAMPLE_RATE, "no mono sound"),
        (_voiced(30), SAMPLE_RATE, "spoke 0.0[0-9] s, which cannot be this line"),
        (_voiced(9_000), SAMPLE_RATE, "spoke 9.0[0-9] s, which cannot be this line"),
    ],
    ids=["empty", "silent", "nan", "no rate", "stereo", "too short", "too long"],
)
def test_what_is_no_speech_is_refused(raw: Samples, rate: int, why: str) -> None:
    with pytest.raises(VoiceError, match=why):
        finish(raw, rate, LINE)


def test_the_fades_have_no_step() -> None:
    clip = finish(np.concatenate([_voiced(400), _silence(20)]), SAMPLE_RATE, LINE)
    steps: NDArray[np.float64] = np.abs(np.diff(clip.astype(np.float64), prepend=0.0, append=0.0))
    assert steps[: samples_at(LEAD_MS)].max() < 0.01
    assert steps[-samples_at(20) :].max() < 0.02
