"""Files as written: samples where they were, chapters, tags, nothing left behind after errors."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import av
import mutagen
import numpy as np
import pytest
from mutagen.id3 import CTOCFlags
from mutagen.mp3 import BitrateMode

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import read_audio
from cuegen.dsp.loudness import integrated_lufs
from cuegen.dsp.signal import Signal
from cuegen.dsp.truepeak import true_peak_dbtp
from cuegen.errors import AudioError, OutputError
from cuegen.mix.encode import Tags, encoding
from cuegen.mix.formats import FORMATS, ChapterWay
from cuegen.sheet.webvtt import Chapter
from tests.dsp.signals import speech_like, stereo
from tests.mix.sheets import WORDS, clip_of, line_at, onset_of

TAGS = Tags("Dünung & Nebel", artist="cuegen", album="Rowing sessions", comment="Four steps")
CHAPTERS = [
    Chapter(0, 2_500, "Opening"),
    Chapter(2_500, 4_999, "Row 4:00, rate 18; früh"),
    Chapter(4_999, 7_501, "Row 4:00, rate 20"),
    Chapter(7_501, 9_000, "Closing"),
]
HOLDS_CHAPTERS = [s for s, form in FORMATS.items() if form.chapters is not ChapterWay.NONE]


def write(
    path: Path,
    x: Signal,
    tags: Tags = TAGS,
    chapters: list[Chapter] = CHAPTERS,
    cut: int = SAMPLE_RATE,
) -> Path:
    with encoding(path, x.shape[1], tags, chapters) as track:
        for start in range(0, len(x), cut):
            track.write(x[start : start + cut])
    return path


NINE_S = stereo(speech_like(9, 1))


@pytest.mark.parametrize("start_ms", [0, 1_007, 2_345])
@pytest.mark.parametrize("suffix", FORMATS)
def test_a_clip_is_found_on_its_sample(tmp_path: Path, suffix: str, start_ms: int) -> None:
    """After encoding and decoding, by an FFT correlation of the tests' own."""
    cue = line_at(start_ms, WORDS[0])
    clip = clip_of(cue)
    x = np.zeros((samples_at(9_000), 1), dtype=np.float32)
    x[samples_at(start_ms) :][: len(clip), 0] = clip
    heard = read_audio(write(tmp_path / f"track{suffix}", x))[:, 0]
    assert onset_of(heard, clip, samples_at(start_ms)) == samples_at(start_ms)


@pytest.mark.parametrize("suffix", FORMATS)
def test_level_stays_as_it_was(tmp_path: Path, suffix: str) -> None:
    """LAME's own 0.95 (-0.45 dB) is made up for. AAC loses some of noise, as this is."""
    x = NINE_S[:, :1]
    heard = read_audio(write(tmp_path / f"track{suffix}", x))[: len(x)]
    assert integrated_lufs(heard) == pytest.approx(integrated_lufs(x), abs=0.25)


@pytest.mark.parametrize("suffix", [".flac", ".wav"])
def test_lossless_formats_hold_16_bits(tmp_path: Path, suffix: str) -> None:
    """But for dither: half a step of rounding and up to one of noise (tests/dsp/test_dither.py)."""
    heard = read_audio(write(tmp_path / f"track{suffix}", NINE_S))
    assert np.abs(heard - NINE_S).max() <= 1.5001 / 32768


@pytest.mark.parametrize("suffix", FORMATS)
def test_length_is_kept(tmp_path: Path, suffix: str) -> None:
    """m4a may carry silence up to the end of its last frame of 1024 samples."""
    heard = read_audio(write(tmp_path / f"track{suffix}", NINE_S[: samples_at(8_765)]))
    assert 0 <= len(heard) - samples_at(8_765) <= (1_023 if suffix == ".m4a" else 0)


@pytest.mark.parametrize("suffix", FORMATS)
def test_blocks_change_nothing(tmp_path: Path, suffix: str) -> None:
    whole = write(tmp_path / f"whole{suffix}", NINE_S, cut=10**9)
    cut = write(tmp_path / f"cut{suffix}", NINE_S, cut=7_001)
    assert cut.read_bytes() == whole.read_bytes()


@pytest.mark.parametrize("suffix", HOLDS_CHAPTERS)
def test_chapters_are_read_back_by_ffmpeg(tmp_path: Path, suffix: str) -> None:
    """Starts and titles to the millisecond; Vorbis comments hold no ends."""
    path = write(tmp_path / f"track{suffix}", NINE_S)
    with av.open(str(path)) as container:
        found = [
            (float(c["start"] * (c["time_base"] or 0)), c["metadata"]["title"])
            for c in container.chapters()
        ]
    assert found == [(each.start_ms / 1000, each.title) for each in CHAPTERS]


def test_mp3_chapters_are_read_back_by_mutagen(tmp_path: Path) -> None:
    """ID3v2 chapter frame addendum: CHAP with times, CTOC top-level and ordered."""
    tags = mutagen.File(write(tmp_path / "track.mp3", NINE_S)).tags
    frames = sorted(tags.getall("CHAP"), key=lambda frame: frame.start_time)
    assert [(f.start_time, f.end_time, f.sub_frames["TIT2"].text[0]) for f in frames] == [
        (each.start_ms, each.end_ms, each.title) for each in CHAPTERS
    ]
    (contents,) = tags.getall("CTOC")
    assert contents.flags == CTOCFlags.TOP_LEVEL | CTOCFlags.ORDERED
    assert contents.child_element_ids == [frame.element_id for frame in frames]


def test_m4a_chapters_are_read_back_by_mutagen(tmp_path: Path) -> None:
    chapters = mutagen.File(write(tmp_path / "track.m4a", NINE_S)).chapters
    assert [(round(each.start * 1000), each.title) for each in chapters] == [
        (each.start_ms, each.title) for each in CHAPTERS
    ]


@pytest.mark.parametrize("suffix", [".opus", ".flac"])
def test_comment_chapters_are_read_back_by_mutagen(tmp_path: Path, suffix: str) -> None:
    """CHAPTER001=hh:mm:ss.mmm; FFmpeg's own would put 2.500 at 3.500."""
    tags = mutagen.File(write(tmp_path / f"track{suffix}", NINE_S)).tags
    assert tags["CHAPTER001"] == ["00:00:00.000"]
    assert tags["CHAPTER002"] == ["00:00:02.500"]
    assert tags["CHAPTER002NAME"] == ["Row 4:00, rate 18; früh"]
    assert tags["CHAPTER004"] == ["00:00:07.501"]
    assert "CHAPTER005" not in tags


def test_chapters_past_what_mp3_can_count_join_the_last(tmp_path: Path) -> None:
    """An ID3 table of contents counts in 8 bits."""
    many = [Chapter(n * 30, n * 30 + 30, f"Piece {n}") for n in range(300)]
    tags = mutagen.File(write(tmp_path / "track.mp3", NINE_S, chapters=many)).tags
    frames = sorted(tags.getall("CHAP"), key=lambda frame: frame.start_time)
    assert len(frames) == 255
    assert (frames[-1].start_time, frames[-1].end_time) == (254 * 30, 9_000)


@pytest.mark.parametrize("suffix", FORMATS)
def test_tags_are_read_back_by_ffmpeg(tmp_path: Path, suffix: str) -> None:
    with av.open(str(write(tmp_path / f"track{suffix}", NINE_S))) as container:
        found = {**container.metadata, **container.streams.audio[0].metadata}
    found = {name.lower(): text for name, text in found.items()}
    assert found["title"] == "Dünung & Nebel"
    assert found["artist"] == "cuegen"
    assert found["album"] == "Rowing sessions"
    assert found["genre"] == "Speech"
    assert found["comment"] == "Four steps"


def test_an_mp3_has_one_rate_throughout(tmp_path: Path) -> None:
    """So that a player finds an instant in it exactly."""
    info = mutagen.File(write(tmp_path / "track.mp3", NINE_S)).info
    assert (info.bitrate_mode, info.bitrate) == (BitrateMode.CBR, 160_000)


def test_the_same_track_has_the_same_bytes(tmp_path: Path) -> None:
    for suffix in FORMATS:
        first = write(tmp_path / f"first{suffix}", NINE_S).read_bytes()
        assert write(tmp_path / f"second{suffix}", NINE_S).read_bytes() == first


def test_an_unknown_suffix_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"'\.aiff'"):
        write(tmp_path / "track.aiff", NINE_S)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_of_that_name(tmp_path: Path) -> None:
    (tmp_path / "track.mp3").mkdir()
    with pytest.raises(OutputError, match=r"track\.mp3: could not write"):
        write(tmp_path / "track.mp3", NINE_S)
    assert [each.name for each in tmp_path.iterdir()] == ["track.mp3"]


def test_a_place_below_a_file(tmp_path: Path) -> None:
    (tmp_path / "notes").touch()
    with pytest.raises(OutputError, match="could not write"):
        write(tmp_path / "notes" / "track.mp3", NINE_S)


def write_and_raise(path: Path, error: BaseException) -> None:
    with encoding(path, 1, TAGS, []) as track:
        track.write(NINE_S[:, :1])
        raise error


def test_an_error_on_the_way_leaves_the_old_file(tmp_path: Path) -> None:
    old = tmp_path / "track.mp3"
    old.write_text("the track of last week")
    with pytest.raises(AudioError, match="damaged bed"):
        write_and_raise(old, AudioError("damaged bed"))
    assert old.read_text() == "the track of last week"
    assert [each.name for each in tmp_path.iterdir()] == ["track.mp3"]


def test_an_interruption_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt):
        write_and_raise(tmp_path / "track.wav", KeyboardInterrupt())
    assert list(tmp_path.iterdir()) == []


def write_other_channels(path: Path) -> None:
    with encoding(path, 1, TAGS, []) as track:
        for _ in range(100):
            track.write(NINE_S[:SAMPLE_RATE])


@pytest.mark.parametrize("suffix", [".mp3", ".m4a", ".opus", ".flac", ".wav"])
def test_what_breaks_in_the_encoders_thread_comes_out_of_write(tmp_path: Path, suffix: str) -> None:
    """Two channels handed to a track of one."""
    with pytest.raises(ValueError, match="a block of 2 channels for a track of 1"):
        write_other_channels(tmp_path / f"track{suffix}")
    assert list(tmp_path.iterdir()) == []


_FULL_DISK = """
import resource, signal, sys
from pathlib import Path
import numpy as np
from cuegen.errors import OutputError
from cuegen.mix.encode import Tags, encoding
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, 60_000))
noise = np.random.default_rng(1).uniform(-0.5, 0.5, (480_000, 1)).astype(np.float32)
try:
    with encoding(Path(sys.argv[1]), 1, Tags("t"), []) as track:
        for start in range(0, len(noise), 48_000):
            track.write(noise[start : start + 48_000])
except OutputError as error:
    print(error)
    sys.exit(2)
"""


@pytest.mark.parametrize("suffix", FORMATS)
def test_a_full_disk_is_an_error_and_leaves_nothing(tmp_path: Path, suffix: str) -> None:
    """A limit on the size of a file stands for the disk: writing fails after 60 kB."""
    done = subprocess.run(
        [sys.executable, "-c", _FULL_DISK, str(tmp_path / f"track{suffix}")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (2, "")
    assert f"track{suffix}: could not write: File too large" in done.stdout
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("suffix", [s for s, form in FORMATS.items() if form.lossy])
def test_a_codec_lifts_no_peak_further_than_the_ceiling_allows(tmp_path: Path, suffix: str) -> None:
    """Speech-like noise whose every word touches the ceiling comes out at or under -1 dBTP."""
    x = speech_like(9, 3)[:, np.newaxis]
    ceiling = FORMATS[suffix].ceiling(0.0)
    x *= np.float32(10 ** ((ceiling - true_peak_dbtp(x)) / 20))
    assert true_peak_dbtp(read_audio(write(tmp_path / f"track{suffix}", x))) <= -1.0
