"""A bed lies as far under speech as it should, under each line and between lines.

What the bed does is heard from its layer alone.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.errors import AudioError
from cuegen.mix.bed import (
    IN_THE_OPEN_DB,
    MOST_LIFT_DB,
    MOST_RIDE_DB,
    in_the_open_db,
    lift_db,
    open_bed,
)
from cuegen.mix.ducking import Span, open_stretches, spans_of
from cuegen.mix.timeline import mix_blocks
from cuegen.schedule.cuesheet import Cue, CueSheet, SheetBed, Sound
from tests.mix.beds import bed_alone, heard_in, loudness, music, noise, part, write
from tests.mix.sheets import WORDS, line_at, sheet_of
from tests.voice.fake import FakeSpeaker

SPEECH_LUFS = -16.0


@pytest.fixture(scope="module")
def bed(tmp_path_factory: pytest.TempPathFactory) -> SheetBed:
    return write(tmp_path_factory.mktemp("bed") / "chords.flac", music(17.3))


def lines(*starts_ms: int) -> list[Cue]:
    return [line_at(start, WORDS[number % 4]) for number, start in enumerate(starts_ms)]


def sheet_with(bed: SheetBed, duration_ms: int, cues: list[Cue]) -> CueSheet:
    return sheet_of(duration_ms, cues, sound=Sound(bed=bed))


@pytest.mark.parametrize("below_db", [20.0, 26.0, 12.0])
def test_bed_lies_below_every_line(bed: SheetBed, below_db: float) -> None:
    """W3C WCAG 2.2, 1.4.7 by default: from the first sample of a clip to its last."""
    cues = lines(*range(6_017, 50_000, 9_000))
    left = bed_alone(sheet_with(bed.model_copy(update={"below_db": below_db}), 60_000, cues))
    for cue in cues:
        assert loudness(part(left, cue.start_ms, cue.end_ms)) <= SPEECH_LUFS - below_db


def test_bed_lies_under_lines_as_near_as_asked(bed: SheetBed) -> None:
    """Its loudest 400 ms in a span are 1.5 dB under the limit, not far under it."""
    cues = lines(20_000)
    left = bed_alone(sheet_with(bed, 60_000, cues))
    down = part(left, cues[0].start_ms - 150, cues[0].end_ms + 400)
    loudest = max(
        loudness(down[start : start + 19_200]) for start in range(0, len(down) - 19_200, 960)
    )
    assert loudest == pytest.approx(SPEECH_LUFS - 21.5, abs=0.1)


def test_every_stretch_between_lines_has_its_level(tmp_path: Path) -> None:
    """Music that grows from soft to loud and back is as loud in each stretch; within 0.5 LU."""
    seconds = np.arange(90 * SAMPLE_RATE) / SAMPLE_RATE
    growing = 10 ** (5 * np.sin(2 * np.pi * seconds / 60) / 20)
    bed = write(tmp_path / "growing.flac", 0.3 * noise(90, 1) * growing[:, None].astype(np.float32))
    sheet = sheet_with(bed, 90_000, lines(*range(10_000, 80_000, 13_000)))
    left, spans = bed_alone(sheet), spans_of(sheet)
    target = SPEECH_LUFS - in_the_open_db(spans, len(left))
    stretches = open_stretches(spans, len(left))
    assert len(stretches) == 7
    for stretch in stretches:
        assert loudness(heard_in(left, stretch)) == pytest.approx(target, abs=0.5)


def test_a_stretch_is_moved_no_further_than_it_may_be(tmp_path: Path) -> None:
    """A passage 30 dB under the rest is lifted by MOST_RIDE_DB, not to the level of the rest."""
    loud, soft = noise(30, 1), noise(30, 2, level=0.1 * 10 ** (-30 / 20))
    bed = write(tmp_path / "halves.wav", np.concatenate([loud, soft]))
    left = bed_alone(sheet_with(bed, 58_000, lines(26_000)))
    heard = [loudness(part(left, *ends)) for ends in ((5_000, 20_000), (38_000, 52_000))]
    assert heard[0] - heard[1] == pytest.approx(30.0 - MOST_RIDE_DB, abs=0.5)


def test_bed_is_back_between_lines_far_apart(bed: SheetBed) -> None:
    cues = lines(5_000, 30_000, 36_000)
    sheet = sheet_with(bed, 45_000, cues)
    open_db = in_the_open_db(spans_of(sheet), samples_at(45_000))
    assert open_db <= IN_THE_OPEN_DB
    assert loudness(part(bed_alone(sheet), 13_000, 25_000)) == pytest.approx(
        SPEECH_LUFS - open_db, abs=1.0
    )


def test_a_bed_that_may_be_near_is_not_nearer_in_the_open(bed: SheetBed) -> None:
    """At 3 dB under speech, the open stretches lie 3 LU under it and lines no less."""
    cues = lines(20_000)
    left = bed_alone(sheet_with(bed.model_copy(update={"below_db": 3.0}), 60_000, cues))
    assert loudness(part(left, 30_000, 55_000)) == pytest.approx(SPEECH_LUFS - 3.0, abs=0.5)
    assert loudness(part(left, cues[0].start_ms, cues[0].end_ms)) <= SPEECH_LUFS - 3.0


def test_bed_fades_in_and_out(bed: SheetBed) -> None:
    left = bed_alone(sheet_with(bed, 30_000, []))
    assert not left[0].any()
    assert np.abs(left[:480]).max() < 0.01 * np.abs(left).max()
    assert np.abs(left[-480:]).max() < 0.01 * np.abs(left).max()


def test_a_bed_longer_than_the_track_keeps_its_samples(tmp_path: Path) -> None:
    """And a bed of one channel sounds from both."""
    mono = music(12)[:, :1]
    left = bed_alone(sheet_with(write(tmp_path / "long.flac", mono), 8_000, []))
    inner = slice(samples_at(2_100), samples_at(3_900))
    gain = left[inner, 0] / np.where(np.abs(mono[inner, 0]) > 0.02, mono[inner, 0], np.nan)
    assert np.nanstd(gain) < 0.01 * np.nanmean(gain)
    assert (left[:, 0] == left[:, 1]).all()


def test_the_mix_is_its_lines_and_its_bed(bed: SheetBed) -> None:
    sheet = sheet_with(bed, 20_000, lines(8_000))
    without = sheet.model_copy(update={"sound": Sound(bed=bed)})
    whole = np.concatenate(list(mix_blocks(sheet, FakeSpeaker(), bed=open_bed(sheet))))
    voice = np.concatenate(list(mix_blocks(without, FakeSpeaker(), bed=None)))
    assert np.abs(whole - voice - bed_alone(sheet)).max() < 1e-6


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


def test_a_track_without_a_bed_has_none() -> None:
    assert open_bed(sheet_of(5_000, [])) is None


def test_an_unknown_name_is_told_which_beds_there_are() -> None:
    sheet = sheet_with(SheetBed(file="pulze", below_db=20.0), 5_000, [])
    with pytest.raises(AudioError, match=r"no such audio file\n.*Beds of our own: pulse, swell\."):
        open_bed(sheet)
