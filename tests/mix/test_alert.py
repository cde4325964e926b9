"""An alert sounds before a line that breaks a quiet, clear of it, and before nothing else."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import read_audio
from cuegen.dsp.loudness import LoudnessMeter
from cuegen.dsp.signal import Signal
from cuegen.mix.alert import (
    ALERT_MS,
    BELOW_SPEECH_DB,
    GAP_MS,
    QUIET_MS,
    alert_sound,
    alert_starts,
)
from cuegen.mix.levels import levels_of
from cuegen.mix.render import render
from cuegen.mix.timeline import mix_blocks
from cuegen.schedule.cuesheet import Cue, CueSheet, Sound
from cuegen.script.kinds import CueKind
from cuegen.verify.listening import listen
from cuegen.verify.report import Check, Verdict
from tests.mix.sheets import WORDS, clip_of, line_at, onset_of, sheet_of, talked_through
from tests.voice.fake import FakeSpeaker

ON = Sound(alert=True)


def beat_at(start_ms: int) -> Cue:
    return line_at(start_ms, "Three.", "beat").model_copy(
        update={"kind": CueKind.BEAT, "firm": True}
    )


def with_alerts(duration_ms: int, cues: list[Cue]) -> CueSheet:
    return sheet_of(duration_ms, cues, sound=ON)


def mixed(sheet: CueSheet) -> Signal:
    return np.concatenate(list(mix_blocks(sheet, FakeSpeaker())))[:, 0]


def test_a_plan_that_asks_for_none_gets_none() -> None:
    assert alert_starts(sheet_of(60_000, [line_at(30_000, WORDS[0])])) == ()


def test_it_ends_200_ms_before_the_clip() -> None:
    assert alert_starts(with_alerts(60_000, [line_at(30_000, WORDS[0])])) == (29_460,)
    assert (ALERT_MS, GAP_MS) == (340, 200)


@pytest.mark.parametrize(("quiet_ms", "count"), [(3_999, 1), (4_000, 2)])
def test_only_a_line_after_4_s_of_quiet_has_one(quiet_ms: int, count: int) -> None:
    first = line_at(10_000, WORDS[0])
    second = line_at(first.end_ms + quiet_ms, WORDS[1])
    assert len(alert_starts(with_alerts(60_000, [first, second]))) == count


def test_a_count_has_none() -> None:
    """Not before its first beat, nor before the others."""
    beats = [beat_at(start) for start in (20_000, 21_000, 22_000)]
    assert alert_starts(with_alerts(60_000, beats)) == ()


@pytest.mark.parametrize(("start_ms", "starts"), [(540, (0,)), (539, ())])
def test_the_opening_has_one_where_there_is_room(start_ms: int, starts: tuple[int, ...]) -> None:
    assert alert_starts(with_alerts(60_000, [line_at(start_ms, WORDS[0])])) == starts


@settings(max_examples=50, deadline=None)
@given(st.lists(st.integers(0, 20_000), min_size=1, max_size=12))
def test_none_crowds_a_line(gaps_ms: list[int]) -> None:
    """From the end of the line before it, more than 3 s pass; to the next clip, 200 ms."""
    cues, start = [], 0
    for number, gap in enumerate(gaps_ms):
        cues.append(line_at(start + gap, WORDS[number % 4], f"line{number}"))
        start = cues[-1].end_ms
    for alert in alert_starts(with_alerts(start + 1_000, cues)):
        after = next(cue for cue in cues if cue.start_ms >= alert)
        before = [cue for cue in cues if cue.start_ms < alert]
        assert after.start_ms - alert == ALERT_MS + GAP_MS
        assert all(alert - cue.end_ms >= QUIET_MS - ALERT_MS - GAP_MS for cue in before)


@pytest.mark.parametrize("start_ms", [7_001, 59_999, 3_600_007])
def test_it_lies_on_its_sample(start_ms: int) -> None:
    heard = mixed(with_alerts(start_ms + 6_000, [line_at(start_ms, WORDS[0])]))
    at = samples_at(start_ms - ALERT_MS - GAP_MS)
    assert onset_of(heard, alert_sound(), at) == at
    assert not heard[:at].any()
    assert not heard[at + len(alert_sound()) : samples_at(start_ms)].any()


def test_its_two_tones_rise() -> None:
    """By a fifth, 523 and 784 Hz: the strongest pitch of each half."""
    sound = alert_sound()
    halves = sound[: samples_at(110)], sound[samples_at(200) :]
    pitches = [np.argmax(np.abs(np.fft.rfft(half, SAMPLE_RATE))) for half in halves]
    assert pitches == pytest.approx([523, 784], abs=15)


def test_it_swells_and_dies_away() -> None:
    """No click: it begins and ends in silence, and no sample leaps."""
    sound = alert_sound()
    assert len(sound) == samples_at(ALERT_MS)
    assert np.abs(sound[[0, -1]]).max() < 1e-3 * np.abs(sound).max()
    assert np.abs(np.diff(sound)).max() < 0.15 * np.abs(sound).max()


def test_it_lies_under_speech() -> None:
    meter = LoudnessMeter(1)
    start, end = 29_000, 29_900
    heard = mixed(with_alerts(60_000, [line_at(30_000, WORDS[0])]))
    meter.add(heard[samples_at(start) : samples_at(end)])
    assert meter.momentary_max() == pytest.approx(-19.0 - BELOW_SPEECH_DB, abs=0.1)


def test_the_voice_alone_stays_one_channel() -> None:
    assert levels_of(with_alerts(60_000, [line_at(30_000, WORDS[0])])).channels == 1


@pytest.mark.parametrize("suffix", [".mp3", ".flac", ".wav"])
def test_it_disturbs_no_check_of_the_track(tmp_path: Path, suffix: str) -> None:
    """Placement, loudness, peaks, silences: rendered, decoded and verified.

    Not .opus: it is too coarse for the noise that stands for a voice here, alert or no.
    """
    sheet = talked_through(80_000, sound=Sound(voice="fake", alert=True), every_ms=11_000)
    assert len(alert_starts(sheet)) == len(sheet.cues) == 7
    track = tmp_path / f"track{suffix}"
    rendered = render(sheet, FakeSpeaker(), track)
    report = listen(track, sheet, FakeSpeaker())
    assert [str(fault) for fault in report.faults] == []
    assert report.verdict is Verdict.OK
    assert rendered.integrated_lufs == pytest.approx(-19.0, abs=0.2)


def test_an_alert_that_was_not_planned_is_heard_as_noise(tmp_path: Path) -> None:
    """The check that an alert passes can fail: without it in the sheet, silence is broken."""
    sheet = talked_through(60_000, sound=Sound(voice="fake", alert=True), every_ms=11_000)
    render(sheet, FakeSpeaker(), tmp_path / "track.wav")
    silent = sheet.model_copy(update={"sound": Sound(voice="fake")})
    report = listen(tmp_path / "track.wav", silent, FakeSpeaker())
    assert {fault.check for fault in report.faults} == {Check.SILENCE}


def test_lines_keep_their_instants(tmp_path: Path) -> None:
    sheet = talked_through(60_000, sound=ON, every_ms=11_000)
    render(sheet, FakeSpeaker(), tmp_path / "track.mp3")
    heard = read_audio(tmp_path / "track.mp3")[:, 0]
    for cue in sheet.cues:
        at = samples_at(cue.start_ms)
        assert abs(onset_of(heard, clip_of(cue), at) - at) <= 1
