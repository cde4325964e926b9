"""Lines at their samples: against pydub's overlay, in any number, with memory that stays flat."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.signal import Signal
from cuegen.errors import SheetError
from cuegen.mix.levels import levels_of
from cuegen.mix.timeline import mix_blocks
from cuegen.plan.model import ToneSpan
from cuegen.schedule.cuesheet import CueSheet, SheetBed, Sound
from cuegen.voice.recorded import AudioSegment
from tests.mix.sheets import WORDS, clip_of, line_at, samples_of, sheet_of, talked_through
from tests.voice.fake import FakeSpeaker


def mixed(sheet: CueSheet) -> Signal:
    return np.concatenate(list(mix_blocks(sheet, FakeSpeaker())))


def as_segment(x: Signal) -> AudioSegment:
    whole = np.rint(x * np.float64(1 << 31)).astype("<i4")
    return AudioSegment(data=whole.tobytes(), sample_width=4, frame_rate=SAMPLE_RATE, channels=1)


def test_a_short_track_equals_pydub_overlay() -> None:
    """pydub 0.25.1 lays the same clips over silence: no sample differs by more than -80 dB."""
    sheet = talked_through(30_000)
    track = AudioSegment.silent(duration=30_000, frame_rate=SAMPLE_RATE).set_sample_width(4)
    for cue in sheet.cues:
        track = track.overlay(as_segment(clip_of(cue)), position=cue.start_ms)
    theirs = np.frombuffer(track.raw_data, dtype="<i4") / (1 << 31)
    ours = mixed(sheet)[:, 0]
    assert len(ours) == len(theirs)
    assert np.abs(ours).max() > 0.1
    assert np.abs(ours - theirs).max() < 1e-4


@settings(max_examples=30, deadline=None)
@given(start=st.integers(0, 7_000), text=st.sampled_from(WORDS))
def test_a_line_lies_on_its_sample_at_any_millisecond(start: int, text: str) -> None:
    """Bit for bit, with nothing before and after it: blocks have no seams."""
    cue = line_at(start, text)
    heard = mixed(sheet_of(11_000, [cue]))[:, 0]
    clip = clip_of(cue)
    at = samples_of(cue)
    assert (heard[at : at + len(clip)] == clip).all()
    assert not heard[:at].any()
    assert not heard[at + len(clip) :].any()


def test_a_track_is_as_long_as_its_sheet() -> None:
    assert len(mixed(sheet_of(12_345, [line_at(7, WORDS[0])]))) == samples_at(12_345)


def test_lines_that_sound_together_add_up() -> None:
    first, second = line_at(1_000, WORDS[0]), line_at(1_500, WORDS[1])
    both = mixed(sheet_of(8_000, [first, second]))
    alone = [mixed(sheet_of(8_000, [cue])) for cue in (first, second)]
    assert np.abs(both - alone[0] - alone[1]).max() < 1e-7


def test_a_line_past_the_end_is_an_error_that_names_it() -> None:
    cue = line_at(9_000, WORDS[0], "late")
    with pytest.raises(SheetError, match=r"cue late-9000 speaks 1230 ms past the end") as refused:
        mixed(sheet_of(cue.end_ms - 1_230, [cue]))
    assert refused.value.where.text == WORDS[0]


def test_a_line_may_end_with_the_track() -> None:
    cue = line_at(9_000, WORDS[0])
    assert len(mixed(sheet_of(cue.end_ms, [cue]))) == samples_at(cue.end_ms)


def test_clips_are_fetched_when_they_are_due() -> None:
    speaker = FakeSpeaker()
    blocks = mix_blocks(
        sheet_of(60_000, [line_at(500, WORDS[0]), line_at(30_500, WORDS[1])]), speaker
    )
    next(blocks)
    assert speaker.asked == 1
    for _ in range(29):
        next(blocks)
    assert speaker.asked == 1
    next(blocks)
    assert speaker.asked == 2


def test_voice_alone_has_one_channel_at_its_clips_own_level() -> None:
    levels = levels_of(sheet_of(5_000, []))
    assert (levels.channels, levels.target_lufs, levels.speech_db) == (1, -19.0, 0.0)


@pytest.mark.parametrize(
    "sound",
    [Sound(stroke_tones=ToneSpan.ALL), Sound(bed=SheetBed(file="river.wav", below_db=20.0))],
)
def test_tones_or_a_bed_make_it_two_channels_at_minus_16(sound: Sound) -> None:
    """-19 from each of two channels is -15.99 (BS.1770): a gain of -0.01 dB."""
    levels = levels_of(sheet_of(5_000, [], sound=sound))
    assert (levels.channels, levels.target_lufs) == (2, -16.0)
    assert levels.speech_db == pytest.approx(-0.0103, abs=1e-4)
    assert levels.speech_lufs == pytest.approx(-16.0)


def test_a_plan_shifts_the_loudness_of_its_lines() -> None:
    sheet = sheet_of(5_000, [line_at(1_000, WORDS[0])], sound=Sound(loudness_lufs=-25.0))
    assert levels_of(sheet).speech_db == pytest.approx(-6.0)
    assert np.abs(mixed(sheet)).max() == pytest.approx(
        np.abs(clip_of(sheet.cues[0])).max() * 10 ** (-6 / 20), rel=1e-4
    )


def peak_memory(sheet: CueSheet) -> int:
    tracemalloc.start()
    for _ in mix_blocks(sheet, FakeSpeaker()):
        pass
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


@pytest.mark.slow
def test_memory_does_not_grow_with_the_session() -> None:
    """Three hours take at most a tenth more than half an hour, tones included."""
    sound = Sound(stroke_tones=ToneSpan.ALL)
    short, long = (talked_through(minutes * 60_000, sound=sound) for minutes in (30, 180))
    peak_memory(short)
    assert peak_memory(long) <= 1.1 * peak_memory(short)
