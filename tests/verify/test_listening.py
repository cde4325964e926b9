"""A good track passes; each planted fault is caught, by its check and on its cue."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import signal
from scipy.io import wavfile

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import read_audio
from cuegen.mix.render import render
from cuegen.plan.model import ToneSpan
from cuegen.schedule.cuesheet import Cue, CueSheet
from cuegen.script.candidate import Line
from cuegen.script.kinds import CueKind
from cuegen.verify.report import Check, CueVerdict, Verdict
from cuegen.voice.booth import Booth
from cuegen.voice.clip import Clip
from tests.mix.beds import over
from tests.verify.planting import found, heard, moved, replaced, with_cues

pytestmark = pytest.mark.slow


def firm(sheet: CueSheet) -> Cue:
    return next(cue for cue in sheet.cues if cue.kind is CueKind.RATE_CHANGE)


def floating(sheet: CueSheet) -> Cue:
    return next(cue for cue in sheet.cues if cue.kind is CueKind.TARGET)


@pytest.mark.parametrize("suffix", [".mp3", ".m4a", ".opus", ".flac", ".wav"])
def test_a_good_track_has_no_fault_in_any_format(
    sheet: CueSheet, booth: Booth, tmp_path: Path, suffix: str
) -> None:
    report = heard(sheet, sheet, booth, tmp_path, suffix)
    assert report.faults == ()
    assert report.verdict is Verdict.OK
    assert report.skipped == ()
    assert report.worst_firm_ms is not None
    assert report.worst_firm_ms < 1.0
    assert report.counts.heard_words == report.counts.planned_words > 50
    assert report.counts.numbers > 5


@pytest.mark.parametrize(("by_ms", "caught"), [(60, True), (-60, True), (12, True), (8, False)])
def test_a_firm_cue_is_held_to_ten_milliseconds(
    sheet: CueSheet, booth: Booth, tmp_path: Path, by_ms: int, caught: bool
) -> None:
    cue = firm(sheet)
    report = heard(replaced(sheet, cue, moved(cue, by_ms)), sheet, booth, tmp_path)
    assert found(report) == ({(Check.PLACEMENT, cue.id)} if caught else set())
    line = next(one for one in report.cues if one.id == cue.id)
    assert line.offset_ms == pytest.approx(by_ms, abs=0.5)


@pytest.mark.parametrize(("by_ms", "caught"), [(60, True), (45, False)])
def test_a_floating_cue_is_held_to_fifty_milliseconds(
    sheet: CueSheet, booth: Booth, tmp_path: Path, by_ms: int, caught: bool
) -> None:
    cue = floating(sheet)
    report = heard(replaced(sheet, cue, moved(cue, by_ms)), sheet, booth, tmp_path)
    assert found(report) == ({(Check.PLACEMENT, cue.id)} if caught else set())


def test_a_missing_cue_is_named(sheet: CueSheet, booth: Booth, tmp_path: Path) -> None:
    cue = floating(sheet)
    report = heard(replaced(sheet, cue, None), sheet, booth, tmp_path)
    assert (Check.PRESENCE, cue.id) in found(report)
    line = next(one for one in report.cues if one.id == cue.id)
    assert (line.verdict, line.heard_ms) == (CueVerdict.MISSING, None)


def test_a_missing_beat_is_named(sheet: CueSheet, booth: Booth, tmp_path: Path) -> None:
    cue = next(one for one in sheet.cues if one.kind is CueKind.BEAT and one.text == "Two.")
    assert (Check.PRESENCE, cue.id) in found(
        heard(replaced(sheet, cue, None), sheet, booth, tmp_path)
    )


def test_a_line_with_another_number_is_caught(
    sheet: CueSheet, booth: Booth, tmp_path: Path
) -> None:
    cue = firm(sheet)
    wrong = cue.model_copy(update={"text": cue.text.replace("twenty-two", "twenty-four")})
    assert wrong.text != cue.text
    report = heard(replaced(sheet, cue, wrong), sheet, booth, tmp_path)
    assert {named for _, named in found(report)} >= {cue.id}


class MixedUp:
    """A speaker whose clip of one line says another: the cache is wrong, not the mix."""

    def __init__(self, booth: Booth, line: Line, said: Line) -> None:
        self.booth, self.line, self.said = booth, line, said

    def length_ms(self, line: Line) -> int:
        return self.booth.length_ms(line)

    def clip(self, line: Line) -> Clip:
        return Clip(line, self.booth.clip(self.said if line == self.line else line).samples)


@pytest.mark.parametrize(
    ("said", "instead"),
    [
        ("twenty-two", "twenty-four"),
        ("twenty-two", "twenty"),
        ("twenty-two", "thirty-two"),
    ],
)
def test_a_wrong_number_is_caught_even_where_the_clip_itself_is_wrong(
    sheet: CueSheet, booth: Booth, tmp_path: Path, said: str, instead: str
) -> None:
    cue = firm(sheet)
    assert said in cue.text
    speaker = MixedUp(booth, Line(cue.text, cue.speed), Line(cue.text.replace(said, instead)))
    track = tmp_path / "track.wav"
    render(sheet, speaker, track)
    report = heard(sheet, sheet, speaker, tmp_path)
    assert found(report) == {(Check.NUMBERS, cue.id)}


def test_a_shifted_file_is_one_fault(sheet: CueSheet, booth: Booth, tmp_path: Path) -> None:
    late = with_cues(sheet, [moved(cue, 200) for cue in sheet.cues])
    assert found(heard(late, sheet, booth, tmp_path)) == {(Check.SHIFT, None)}


def test_a_cut_file_is_caught_and_the_lost_lines_named(
    sheet: CueSheet, booth: Booth, tmp_path: Path
) -> None:
    end = sheet.duration_ms - 30_000
    kept = [cue for cue in sheet.cues if cue.end_ms <= end]
    lost = {cue.id for cue in sheet.cues} - {cue.id for cue in kept}
    cut = with_cues(sheet, kept).model_copy(update={"duration_ms": end})
    faults = found(heard(cut, sheet, booth, tmp_path))
    assert (Check.DURATION, None) in faults
    assert {cue for check, cue in faults if check is Check.PRESENCE} == lost


def test_speech_where_silence_was_planned_is_caught(
    sheet: CueSheet, booth: Booth, tmp_path: Path
) -> None:
    cue = floating(sheet)
    report = heard(sheet, replaced(sheet, cue, None), booth, tmp_path)
    assert found(report) == {(Check.SILENCE, None)}


def test_a_track_that_is_too_loud_is_caught(sheet: CueSheet, booth: Booth, tmp_path: Path) -> None:
    sound = sheet.sound.model_copy(update={"loudness_lufs": -16.0})
    report = heard(sheet.model_copy(update={"sound": sound}), sheet, booth, tmp_path)
    assert (Check.LOUDNESS, None) in found(report)


def test_a_bed_passes_at_its_distance_and_a_loud_one_is_caught(
    sheet: CueSheet, booth: Booth, tmp_path: Path
) -> None:
    rng = np.random.default_rng(5)
    music = signal.lfilter([1], [1, -0.9], rng.normal(size=20 * SAMPLE_RATE)) * 0.02
    bed = tmp_path / "bed.wav"
    wavfile.write(bed, SAMPLE_RATE, music.astype(np.float32))
    asked = over(sheet, [str(bed)], tones=ToneSpan.NONE)
    assert found(heard(asked, asked, booth, tmp_path)) == set()
    loud = heard(
        over(sheet, [str(bed)], below_db=14.0, tones=ToneSpan.NONE), asked, booth, tmp_path
    )
    caught = {cue for check, cue in found(loud) if check is Check.BED}
    # A short line may stand on a louder moment of its bed; long ones are held to all of it.
    assert {cue.id for cue in sheet.cues if cue.end_ms - cue.start_ms > 2_000} <= caught


def test_another_matched_filter_finds_every_clip_in_the_same_place(
    sheet: CueSheet, booth: Booth, tmp_path: Path
) -> None:
    """scipy.signal.correlate at the full rate, written apart from the package's filter."""
    report = heard(sheet, sheet, booth, tmp_path, ".mp3")
    track = read_audio(tmp_path / "track.mp3")[:, 0]
    for cue, line in zip(sheet.cues, report.cues, strict=True):
        clip = booth.clip(Line(cue.text, cue.speed)).samples
        first = max(0, samples_at(cue.start_ms) - 4_800)
        around = track[first : first + len(clip) + 9_600]
        place = int(np.argmax(signal.correlate(around, clip, mode="valid"))) + first
        offset_ms = (place - samples_at(cue.start_ms)) / 48
        assert line.offset_ms == pytest.approx(offset_ms, abs=1.0)
        assert abs(offset_ms) <= 1.0
