"""Stroke tones: as many as strokes, each on its instant, for any rate and length."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.clock import samples_at
from cuegen.dsp.decode import read_audio
from cuegen.dsp.loudness import LoudnessMeter
from cuegen.dsp.signal import Signal
from cuegen.mix.encode import Tags, encoding
from cuegen.mix.timeline import mix_blocks
from cuegen.mix.tones import (
    BELOW_SPEECH_DB,
    catch_sound,
    drive_share,
    finish_sound,
    middle_rate,
    recovery_sound,
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


RATES = ("17", "19", "22", "18-20", "24", "16", "28", "20")
"""Five minutes each, 40 in all."""


def forty_minutes(*, recovery: bool) -> CueSheet:
    parts = [
        segment(15_000 + n * 300_000, 315_000 + n * 300_000, rate) for n, rate in enumerate(RATES)
    ]
    sound = Sound(stroke_tones=ToneSpan.ALL, recovery_tone=recovery)
    return sheet_of(2_430_000, [], segments=parts, sound=sound)


@pytest.mark.slow
def test_every_catch_and_finish_of_40_minutes_is_heard_on_its_instant(
    tmp_path: Path,
) -> None:
    """On the decoded file, recoveries sounding too, within 1 ms; strokes are minutes times rate."""
    sheet = forty_minutes(recovery=True)
    track = tmp_path / "tones.flac"
    with encoding(track, 2, Tags("tones"), []) as made:
        for block in mix_blocks(sheet, FakeSpeaker()):
            made.write(block)
    heard = read_audio(track)[:, 0]
    worst = counted = 0
    for part, rate in zip(sheet.segments, RATES, strict=True):
        middle = Fraction(sum(map(int, rate.split("-"))), len(rate.split("-")))
        period = 60_000 / middle
        strokes = int(5 * middle)
        for number in range(strokes):
            catch = (part.start_ms + number * period) * 48
            finish = catch + drive_share(middle) * period * 48
            for exact, sound in ((catch, catch_sound()), (finish, finish_sound())):
                found = onset_of(heard, sound, round(exact), within=4_800)
                worst = max(worst, abs(found - round(exact)))
        counted += strokes
    assert worst <= 48, f"{worst / 48:.2f} ms off at worst"
    assert counted == sum(len(list(strokes_of(p, ToneSpan.ALL))) for p in sheet.segments)


class TestRecovery:
    def test_is_silent_until_the_finish_has_sounded_and_before_the_catch(self) -> None:
        sound = recovery_sound(samples_at(1_860))
        assert not sound[: samples_at(80)].any()
        assert len(sound) == samples_at(1_860 - 60)
        assert abs(float(sound[-1])) < 1e-3 * float(np.abs(sound).max())

    def test_rises(self) -> None:
        sound = recovery_sound(samples_at(2_000))[samples_at(80) :]
        early, late = (
            float(np.argmax(np.abs(np.fft.rfft(part, 48_000)))) for part in np.array_split(sound, 2)
        )
        assert 180 < early < late < 300

    def test_is_softer_than_a_catch(self) -> None:
        meters = LoudnessMeter(1), LoudnessMeter(1)
        for meter, sound in zip(meters, (recovery_sound(90_000), catch_sound()), strict=True):
            quiet = np.zeros(24_000, dtype=np.float32)
            meter.add(np.concatenate([quiet, sound, quiet]))
        assert meters[0].momentary_max() - meters[1].momentary_max() == pytest.approx(-9, abs=0.3)

    def test_has_no_room_in_a_recovery_of_a_third_of_a_second(self) -> None:
        assert len(recovery_sound(samples_at(330))) == 0

    def test_sounds_only_on_wish_and_not_past_the_segment(self) -> None:
        part = segment(1_000, 7_000, "20")
        plain, full = (
            mixed(sheet_of(9_000, [], segments=[part], sound=sound))
            for sound in (ALL, Sound(stroke_tones=ToneSpan.ALL, recovery_tone=True))
        )
        added = np.flatnonzero(np.abs(full - plain) > 0)
        assert samples_at(1_000 + 1_140) < added[0] < samples_at(1_000 + 1_400)
        assert added[-1] < samples_at(7_000)

    def test_has_no_step_between_two_samples(self) -> None:
        """No click: the largest step is that of a sine of its own frequency and level."""
        sound = recovery_sound(90_000).astype(np.float64)
        steepest = 2 * np.pi * 294 / 48_000 * np.abs(sound).max()
        assert np.abs(np.diff(sound)).max() <= 1.05 * steepest


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
