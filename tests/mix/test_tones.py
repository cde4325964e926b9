"""Stroke tones: as many as strokes, each on its instant, for any rate and length."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.clock import samples_at
from cuegen.dsp.loudness import LoudnessMeter
from cuegen.dsp.signal import Signal
from cuegen.mix.timeline import mix_blocks
from cuegen.mix.tones import (
    BELOW_SPEECH_DB,
    catch_sound,
    drive_share,
    finish_sound,
    middle_rate,
    strokes_of,
)
from cuegen.plan.model import SegmentKind, ToneSpan
from cuegen.schedule.cuesheet import CueSheet, Sound
from tests.mix.sheets import onset_of, segment, sheet_of
from tests.voice.fake import FakeSpeaker

ALL = Sound(stroke_tones=ToneSpan.ALL)


def mixed(sheet: CueSheet) -> Signal:
    return np.concatenate(list(mix_blocks(sheet, FakeSpeaker())))[:, 0]


@pytest.mark.parametrize(
    ("rate", "share"),
    [(20, 0.38), (24, 0.44), (28, 0.48), (32, 0.52), (36, 0.55), (40, 0.55)],
)
def test_drive_share_of_the_measured_rates(rate: int, share: float) -> None:
    """Rowing Biomechanics Newsletter (V. Kleshnev), singles on water, read from its regression."""
    assert float(drive_share(Fraction(rate))) == pytest.approx(share)


def test_one_to_two_at_the_lowest_rates() -> None:
    """Common practice, no source."""
    assert drive_share(Fraction(14)) == drive_share(Fraction(16)) == Fraction(1, 3)


@settings(deadline=None)
@given(rate=st.integers(28, 80).map(lambda halves: Fraction(halves, 2)))
def test_drive_share_never_falls_with_the_rate(rate: Fraction) -> None:
    assert drive_share(rate) <= drive_share(rate + Fraction(1, 2))


@pytest.mark.parametrize(("rate", "middle"), [("20", 20), ("18-20", 19), ("19-20", 19.5)])
def test_a_band_keeps_time_at_its_middle(rate: str, middle: float) -> None:
    assert middle_rate(rate) == Fraction(middle)


@pytest.mark.parametrize(
    ("rate", "minutes", "strokes"), [("16", 5, 80), ("18", 6, 108), ("24", 40, 960), ("17", 3, 51)]
)
def test_as_many_catches_as_strokes(rate: str, minutes: int, strokes: int) -> None:
    """Minutes x rate: 5:00 at 16 is 80 strokes."""
    found = list(strokes_of(segment(20_000, 20_000 + minutes * 60_000, rate), ToneSpan.ALL))
    assert len(found) == strokes
    assert all(stroke.finish is not None for stroke in found)


def test_first_catch_is_the_first_sample_of_its_segment() -> None:
    first = next(strokes_of(segment(20_007, 80_000), ToneSpan.ALL))
    assert first.catch == samples_at(20_007)


@settings(max_examples=20, deadline=None)
@given(low=st.integers(14, 36), wider=st.integers(0, 4), start=st.integers(0, 10_000_000))
def test_no_error_adds_up(low: int, wider: int, start: int) -> None:
    """Over 40 minutes every catch lies within half a sample of its exact instant."""
    rate = f"{low}-{low + wider}" if wider else str(low)
    for number, stroke in enumerate(
        strokes_of(segment(start, start + 2_400_000, rate), ToneSpan.ALL)
    ):
        exact = Fraction(start * 48) + Fraction(number * 60 * 48_000 * 2, 2 * low + wider)
        assert abs(stroke.catch - exact) <= Fraction(1, 2)


def test_finishes_divide_the_stroke_by_its_ratio() -> None:
    """At 24 a stroke takes 2.5 s, 44 % of it drive: 1.1 s."""
    stroke = next(strokes_of(segment(0, 60_000, "24"), ToneSpan.ALL))
    assert stroke.finish == samples_at(1_100)


def test_a_finish_after_the_segment_does_not_sound() -> None:
    last = list(strokes_of(segment(0, 60_500, "20"), ToneSpan.ALL))[-1]
    assert (last.catch, last.finish) == (samples_at(60_000), None)


def test_only_the_first_minute_of_each_step_sounds() -> None:
    strokes = list(strokes_of(segment(5_000, 245_000, "20"), ToneSpan.FIRST_MINUTE))
    assert len(strokes) == 20
    assert strokes[-1].catch < samples_at(65_000)


@pytest.mark.parametrize(
    ("rate", "kind", "span"),
    [
        (None, SegmentKind.ROW, ToneSpan.ALL),
        ("20", SegmentKind.REST, ToneSpan.ALL),
        ("20", SegmentKind.ROW, ToneSpan.NONE),
    ],
)
def test_no_rate_no_rowing_or_no_wish_no_tones(
    rate: str | None, kind: SegmentKind, span: ToneSpan
) -> None:
    assert list(strokes_of(segment(0, 60_000, rate, kind), span)) == []


@pytest.mark.slow
def test_tones_lie_on_their_instants_in_the_sound() -> None:
    """40 minutes at four rates: every 25th stroke is found within 1 ms, by correlation."""
    rates = ["17", "19", "21", "23"]
    parts = [segment(15_000 + n * 600_000, 615_000 + n * 600_000, r) for n, r in enumerate(rates)]
    heard = mixed(sheet_of(2_430_000, [], segments=parts, sound=ALL))
    for part in parts:
        period = Fraction(60_000, int(part.rate or 0))
        for number in range(0, 170, 25):
            exact = (part.start_ms + number * period) * 48
            found = onset_of(heard, catch_sound(), round(exact), within=9_600)
            assert abs(found - exact) <= 48


def test_strokes_can_be_counted_in_the_sound() -> None:
    """Each sound begins out of silence: five minutes at 18 have 90 catches and 90 finishes."""
    heard = mixed(sheet_of(310_000, [], segments=[segment(4_000, 304_000, "18")], sound=ALL))
    frames = np.abs(heard).reshape(-1, 480).max(axis=1) > 0
    onsets = np.flatnonzero(frames[1:] & ~frames[:-1])
    assert len(onsets) == 180


def test_catch_and_finish_differ_in_pitch() -> None:
    def pitch(sound: Signal) -> float:
        spectrum = np.abs(np.fft.rfft(sound, 48_000))
        return float(np.argmax(spectrum))

    assert pitch(finish_sound()) / pitch(catch_sound()) == pytest.approx(2.0, abs=0.1)


def test_tones_are_quiet_beside_speech() -> None:
    """A catch heard over 400 ms lies 20 dB under speech at -16 LUFS."""
    meter = LoudnessMeter(2)
    sheet = sheet_of(70_000, [], segments=[segment(2_000, 62_000, "18")], sound=ALL)
    for block in mix_blocks(sheet, FakeSpeaker()):
        meter.add(block)
    assert meter.momentary_max() == pytest.approx(-16.0 - BELOW_SPEECH_DB, abs=0.1)


def test_a_sound_begins_at_once_and_ends_in_silence() -> None:
    """The first sample belongs to the rise of 2 ms; no click at the end."""
    for sound in (catch_sound(), finish_sound()):
        assert np.argmax(np.abs(sound) > 0.2 * np.abs(sound).max()) < 96
        assert abs(float(sound[-1])) < 1e-3 * float(np.abs(sound).max())
