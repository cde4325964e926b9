"""Whole tracks, decoded again: loudness, true peak, placement, memory."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from cuegen.clock import samples_at
from cuegen.dsp.decode import read_audio
from cuegen.dsp.loudness import integrated_lufs
from cuegen.dsp.truepeak import true_peak_dbtp
from cuegen.errors import AudioError, OutputError
from cuegen.mix.formats import FORMATS, PEAK_DBTP
from cuegen.mix.render import render, tags_of
from cuegen.plan.model import ToneSpan
from cuegen.schedule.cuesheet import CueSheet, SheetBed, Sound
from tests.mix.beds import music, write
from tests.mix.sheets import clip_of, onset_of, samples_of, sheet_of, talked_through
from tests.voice.fake import FakeSpeaker


@pytest.fixture(scope="module")
def bed(tmp_path_factory: pytest.TempPathFactory) -> SheetBed:
    return write(tmp_path_factory.mktemp("bed") / "chords.opus", music(17.3))


def check_decoded(sheet: CueSheet, out: Path, target: float) -> None:
    """Render, decode and hold every promise of a track; clips within one sample."""
    rendered = render(sheet, FakeSpeaker(), out)
    heard = read_audio(out)
    assert heard.shape[1] == rendered.channels
    assert integrated_lufs(heard) == pytest.approx(target, abs=0.5)
    assert rendered.integrated_lufs == pytest.approx(integrated_lufs(heard), abs=0.25)
    assert true_peak_dbtp(heard) <= PEAK_DBTP
    assert rendered.true_peak_dbtp <= PEAK_DBTP
    for cue in sheet.cues:
        assert abs(onset_of(heard[:, 0], clip_of(cue), samples_of(cue)) - samples_of(cue)) <= 1


@pytest.mark.parametrize("suffix", FORMATS)
def test_voice_alone(tmp_path: Path, suffix: str) -> None:
    check_decoded(talked_through(31_000), tmp_path / f"track{suffix}", -19.0)


@pytest.mark.parametrize("suffix", FORMATS)
def test_voice_bed_and_tones(tmp_path: Path, suffix: str, bed: SheetBed) -> None:
    sound = Sound(bed=bed, stroke_tones=ToneSpan.ALL)
    check_decoded(talked_through(31_000, sound=sound), tmp_path / f"track{suffix}", -16.0)


@pytest.mark.parametrize("suffix", [".mp3", ".opus", ".flac"])
def test_a_bed_with_few_words(tmp_path: Path, suffix: str, bed: SheetBed) -> None:
    """A line every 14 s: the loudness of the whole rests mostly on the bed."""
    sheet = talked_through(45_000, sound=Sound(bed=bed), every_ms=14_000)
    check_decoded(sheet, tmp_path / f"track{suffix}", -16.0)


def test_a_quiet_track_with_a_bed_is_still_moved_to_its_loudness(
    tmp_path: Path, bed: SheetBed
) -> None:
    """Nothing in it reaches a ceiling, so that no limiter need work; the whole must be moved."""
    sound = Sound(bed=bed, loudness_lufs=-24.0)
    sheet = talked_through(45_000, sound=sound, every_ms=14_000)
    check_decoded(sheet, tmp_path / "track.flac", -24.0)


@pytest.mark.parametrize("suffix", [".mp3", ".m4a", ".opus"])
def test_tones_alone_beside_the_voice(tmp_path: Path, suffix: str) -> None:
    sound = Sound(stroke_tones=ToneSpan.FIRST_MINUTE)
    check_decoded(talked_through(31_000, sound=sound), tmp_path / f"track{suffix}", -16.0)


@pytest.mark.parametrize("lufs", [-24.0, -16.0, -13.0])
@pytest.mark.parametrize("suffix", [".mp3", ".m4a", ".opus"])
def test_a_plan_asks_for_another_loudness(tmp_path: Path, suffix: str, lufs: float) -> None:
    """Above -19 from one channel the peaks of speech are limited, and the loss made up for."""
    sheet = talked_through(31_000, sound=Sound(loudness_lufs=lufs))
    check_decoded(sheet, tmp_path / f"track{suffix}", lufs)


def test_lines_of_a_voice_track_are_not_touched(tmp_path: Path) -> None:
    """The same samples in every track, to the 16 bits of the file and their dither."""
    sheet = talked_through(20_000)
    render(sheet, FakeSpeaker(), tmp_path / "track.flac")
    heard = read_audio(tmp_path / "track.flac")[:, 0]
    for cue in sheet.cues:
        clip, at = clip_of(cue), samples_of(cue)
        assert np.abs(heard[at : at + len(clip)] - clip).max() <= 1.5001 / 32768


def test_silence_stays_silence(tmp_path: Path) -> None:
    rendered = render(sheet_of(5_000, []), FakeSpeaker(), tmp_path / "still.wav")
    assert not read_audio(tmp_path / "still.wav").any()
    assert rendered.integrated_lufs == float("-inf")


def test_tones_without_a_word_stay_quiet(tmp_path: Path) -> None:
    """Nothing is lifted to full loudness because nothing else is there."""
    sheet = sheet_of(30_000, [], sound=Sound(stroke_tones=ToneSpan.ALL))
    assert render(sheet, FakeSpeaker(), tmp_path / "tones.wav").integrated_lufs < -27.0


def test_what_was_rendered_is_told(tmp_path: Path) -> None:
    rendered = render(talked_through(20_000), FakeSpeaker(), tmp_path / "track.wav")
    assert rendered.path == tmp_path / "track.wav"
    assert (rendered.duration_ms, rendered.channels, rendered.target_lufs) == (20_000, 1, -19.0)


@pytest.mark.parametrize("tones", [ToneSpan.NONE, ToneSpan.ALL])
def test_progress_climbs_to_the_whole(tmp_path: Path, tones: ToneSpan) -> None:
    told: list[tuple[int, int]] = []
    sheet = talked_through(20_000, sound=Sound(stroke_tones=tones))
    render(sheet, FakeSpeaker(), tmp_path / "t.wav", on_progress=lambda *now: told.append(now))
    done = [now for now, _ in told]
    total = 20_000 if tones is ToneSpan.NONE else 40_000
    assert done == sorted(done)
    assert told[-1] == (total, total)
    assert {whole for _, whole in told} == {total}


def test_tags_say_what_the_session_is() -> None:
    tags = tags_of(sheet_of(1_500_000, [], lead_in_ms=20_000, row_end_ms=1_220_000))
    assert tags.title == "Mist on the reservoir"
    assert tags.comment == "20:00 of rowing in 1 segment, spoken by cuegen"


def test_an_unknown_format_is_refused_before_anything_is_spoken(tmp_path: Path) -> None:
    speaker = FakeSpeaker()
    with pytest.raises(OutputError, match=r"'\.ogg'"):
        render(talked_through(20_000), speaker, tmp_path / "track.ogg")
    assert speaker.asked == 0


def test_a_missing_bed_leaves_nothing(tmp_path: Path) -> None:
    sound = Sound(bed=SheetBed(file=str(tmp_path / "gone.mp3"), below_db=20.0))
    with pytest.raises(AudioError, match=r"gone\.mp3: there is no such audio file"):
        render(talked_through(20_000, sound=sound), FakeSpeaker(), tmp_path / "track.mp3")
    assert list(tmp_path.iterdir()) == []


_MEMORY = """
import sys
from pathlib import Path
from cuegen.mix.render import render
from tests.mix.sheets import talked_through
from tests.voice.fake import FakeSpeaker
sheet = talked_through(int(sys.argv[1]) * 60_000, every_ms=30_000)
render(sheet, FakeSpeaker(), Path(sys.argv[2]))
print(*(line for line in Path("/proc/self/status").open() if line.startswith("VmHWM")))
"""


def memory_kb(minutes: int, out: Path) -> int:
    done = subprocess.run(
        [sys.executable, "-c", _MEMORY, str(minutes), str(out)],
        capture_output=True,
        text=True,
        check=True,
    )
    return int(done.stdout.split()[1])


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="Linux tells a process's peak")
def test_memory_does_not_grow_with_the_session(tmp_path: Path) -> None:
    """Six times as long takes at most a tenth more, and less than 300 MB."""
    short, long = (memory_kb(minutes, tmp_path / "track.flac") for minutes in (5, 30))
    assert long <= 1.1 * short
    assert long < 300_000


def test_the_finished_track_is_as_long_as_its_sheet(tmp_path: Path) -> None:
    render(sheet_of(7_777, []), FakeSpeaker(), tmp_path / "track.mp3")
    assert len(read_audio(tmp_path / "track.mp3")) == samples_at(7_777)


def decoded_peak(path: Path) -> float:
    return true_peak_dbtp(read_audio(path))


@pytest.mark.parametrize("suffix", [".mp3", ".m4a", ".opus"])
def test_a_peak_that_the_codec_lifts_too_far_is_brought_down(
    tmp_path: Path, suffix: str, bed: SheetBed, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a stricter limit than any limiter's ceiling, so that every codec is over it at first."""
    sheet = talked_through(15_000, sound=Sound(bed=bed, loudness_lufs=-14.0))
    plain = render(sheet, FakeSpeaker(), tmp_path / f"plain{suffix}")
    first = decoded_peak(plain.path)
    monkeypatch.setattr("cuegen.mix.render.PEAK_DBTP", first - 2.0)
    render(sheet, FakeSpeaker(), tmp_path / f"lower{suffix}")
    assert decoded_peak(tmp_path / f"lower{suffix}") <= first - 2.0
