"""A folder plays in order, at one loudness, without holes; what is no music is passed over."""

from __future__ import annotations

import random
import subprocess
import sys
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import open_audio, read_audio
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError
from cuegen.mix.bed_files import (
    CROSSFADE_MS,
    MUSIC_SUFFIXES,
    Tap,
    joined,
    measured,
    music_files,
    natural_order,
    open_music,
)
from cuegen.mix.bed_powers import STEP, PowerMeter
from tests.mix.beds import loudness, music, noise, write

CROSS = samples_at(CROSSFADE_MS)


def played(names: list[str], seconds: float) -> Signal:
    """Return what a bed of these files gives from the start of a track on."""
    length = round(seconds * SAMPLE_RATE)
    return Tap(open_music(names, length).blocks()).take(length)


def tone(hertz: float, seconds: float, level: float = 0.1) -> Signal:
    at = np.arange(round(seconds * SAMPLE_RATE)) / SAMPLE_RATE
    one = level * np.sin(2 * np.pi * hertz * at)
    return np.stack([one, one], axis=1).astype(np.float32)


def pitch(x: Signal) -> int:
    spectrum = np.abs(np.fft.rfft(x[:, 0] * np.hanning(len(x))))
    return round(float(np.argmax(spectrum)) * SAMPLE_RATE / len(x))


def test_a_folder_plays_in_natural_order_of_names(tmp_path: Path) -> None:
    """2 before 10, capitals alike; each tells by its pitch when it plays."""
    for name, hertz in {
        "2 tide.flac": 400,
        "10 mist.wav": 600,
        "B.flac": 1000,
        "a.flac": 800,
    }.items():
        write(tmp_path / name, tone(hertz, 10))
    x = played([str(tmp_path)], 40)
    middles = [x[at : at + SAMPLE_RATE] for at in (240_000, 624_000, 1_008_000, 1_392_000)]
    assert [pitch(each) for each in middles] == [400, 600, 800, 1000]


@given(st.lists(st.text(min_size=1), max_size=6, unique=True), st.randoms())
def test_any_names_have_one_order(names: list[str], chance: random.Random) -> None:
    shuffled = names.copy()
    chance.shuffle(shuffled)
    assert sorted(names, key=natural_order) == sorted(shuffled, key=natural_order)


def test_hidden_files_folders_and_what_is_no_music_are_passed_over(tmp_path: Path) -> None:
    write(tmp_path / "b.flac", tone(400, 4))
    write(tmp_path / "a.opus", tone(400, 4))
    for name in (".hidden.mp3", "._b.flac", "cover.jpg", "list.m3u", "notes.txt", "desktop.ini"):
        (tmp_path / name).write_text("no music")
    (tmp_path / "more.flac").mkdir()
    assert [path.name for path in music_files([str(tmp_path)])] == ["a.opus", "b.flac"]


def test_files_and_folders_of_a_list_play_in_its_order(tmp_path: Path) -> None:
    (tmp_path / "set").mkdir()
    for name in ("z.wav", "set/b.wav", "set/a.wav"):
        write(tmp_path / name, tone(400, 4))
    found = music_files([str(tmp_path / "z.wav"), str(tmp_path / "set"), str(tmp_path / "z.wav")])
    assert [path.name for path in found] == ["z.wav", "a.wav", "b.wav", "z.wav"]


def test_an_empty_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "readme.txt").write_text("nothing here")
    with pytest.raises(AudioError, match=r"there is no music in this folder\n.*Put audio files"):
        open_music([str(tmp_path)], SAMPLE_RATE)


def test_an_unreadable_file_of_a_folder_is_named(tmp_path: Path) -> None:
    """Though the track is over before its turn comes."""
    write(tmp_path / "a.flac", tone(400, 20))
    (tmp_path / "b.mp3").write_text("not music" * 200)
    with pytest.raises(AudioError, match=r"b\.mp3: this is no audio file"):
        open_music([str(tmp_path)], 5 * SAMPLE_RATE)


def test_a_silent_file_is_refused(tmp_path: Path) -> None:
    write(tmp_path / "still.wav", np.zeros((5 * SAMPLE_RATE, 1), dtype=np.float32))
    with pytest.raises(AudioError, match=r"still\.wav: this bed is silent"):
        open_music([str(tmp_path / "still.wav")], SAMPLE_RATE)


@pytest.mark.parametrize("seconds", [0.0, 4.0])
def test_a_file_too_short_to_loop_is_refused(tmp_path: Path, seconds: float) -> None:
    """Silence at its ends does not count."""
    still = np.zeros((round(seconds * SAMPLE_RATE), 2), dtype=np.float32)
    write(tmp_path / "hit.wav", np.concatenate([still, music(1.2), still]))
    with pytest.raises(AudioError, match=r"hit\.wav: lasts 1\.[0-4] s, too short for a bed"):
        open_music([str(tmp_path / "hit.wav")], SAMPLE_RATE)


def test_every_file_is_as_loud_as_its_neighbours(tmp_path: Path) -> None:
    """Files 30 dB apart come within 0.1 LU of 0 LUFS, by libebur128."""
    for number, level in enumerate((0.3, 0.01, 0.1)):
        write(tmp_path / f"{number}.flac", noise(10, number, level))
    x = played([str(tmp_path)], 26)
    for start in (1, 10, 18):
        inner = x[start * SAMPLE_RATE : (start + 6) * SAMPLE_RATE]
        assert loudness(inner) == pytest.approx(0.0, abs=0.1)


def test_a_crossfade_keeps_its_power(tmp_path: Path) -> None:
    """Noise into other noise: the RMS of any 100 ms of the join is that of the rest to 0.5 dB."""
    for number in (1, 2):
        write(tmp_path / f"{number}.wav", noise(12, number))
    x = played([str(tmp_path)], 30)
    rms = 10 * np.log10(np.square(x.reshape(-1, 4_800 * 2)).mean(axis=1))
    joins = range((12 * SAMPLE_RATE - CROSS) // 4_800, 12 * 10)
    assert len(joins) == 20
    assert np.abs(rms[joins] - rms[10:90].mean()).max() < 0.5


def test_after_the_last_file_comes_the_first(tmp_path: Path) -> None:
    """The whole repeats itself: 2 files of 8 s are 12 s long with their crossfades."""
    for number in (1, 2):
        write(tmp_path / f"{number}.wav", noise(8, number))
    x = played([str(tmp_path)], 40)
    turn = 2 * (8 * SAMPLE_RATE - CROSS)
    assert (x[CROSS : turn + CROSS] == x[turn + CROSS : 2 * turn + CROSS])[CROSS:].all()


def test_a_loop_of_one_file_has_no_hole_and_no_jump(tmp_path: Path) -> None:
    write(tmp_path / "chords.flac", music(17.3))
    piece = measured(open_audio(tmp_path / "chords.flac"))
    x = np.concatenate(list(islice(joined([piece]), 60)))
    join = piece.length - CROSS
    assert np.abs(x[:join] / piece.gain - music(17.3)[:join]).max() < 1e-4
    assert np.abs(np.diff(x, axis=0)).max() <= 2 * np.abs(np.diff(x[:join], axis=0)).max()
    around = [loudness(x[join * n : join * n + CROSS]) for n in (1, 2)]
    assert around == pytest.approx([0.0] * 2, abs=4.0)


def test_silent_ends_leave_no_hole(tmp_path: Path) -> None:
    """Two seconds of silence at each end are left off, and the join is as loud as the rest."""
    still = np.zeros((2 * SAMPLE_RATE, 2), dtype=np.float32)
    for number in (1, 2):
        write(tmp_path / f"{number}.wav", np.concatenate([still, noise(8, number), still]))
    x = played([str(tmp_path)], 30)
    rms = 10 * np.log10(np.square(x.reshape(-1, 4_800 * 2)).mean(axis=1))
    assert np.ptp(rms) < 1.0


def encode(path: Path, codec: str, x: Signal, rate: int) -> None:
    """Write a file as a phone or another program does: by FFmpeg, at any rate."""
    layout = "mono" if x.shape[1] == 1 else "stereo"
    with av.open(str(path), "w") as container:
        # FFmpeg calls its own Vorbis encoder an experiment; for a file to read it is good.
        stream = container.add_stream(codec, rate=rate, layout=layout, options={"strict": "-2"})
        assert isinstance(stream, av.AudioStream)
        block = np.ascontiguousarray(x.reshape(1, -1))
        frame = av.AudioFrame.from_ndarray(block, format="flt", layout=layout)
        frame.sample_rate = rate
        resampler = av.AudioResampler(stream.codec_context.format, layout, rate)
        for part in resampler.resample(frame):
            container.mux(stream.encode(part))
        container.mux(stream.encode(None))


@pytest.mark.parametrize(
    ("name", "codec", "rate", "channels"),
    [
        ("a.mp3", "libmp3lame", 44_100, 2),
        ("phone.m4a", "aac", 44_100, 1),
        ("note.3gp", "aac", 16_000, 1),
        ("a.flac", "flac", 96_000, 2),
        ("a.ogg", "vorbis", 44_100, 2),
        ("a.opus", "libopus", 48_000, 1),
        ("a.wav", "pcm_s16le", 22_050, 1),
    ],
)
def test_any_kind_comes_as_48_khz_stereo_at_its_own_pitch(
    tmp_path: Path, name: str, codec: str, rate: int, channels: int
) -> None:
    """A tone of 440 Hz over 5 s stays one, however it is stored; no longer, no shorter."""
    at = np.arange(5 * rate) / rate
    sound = np.repeat((0.2 * np.sin(2 * np.pi * 440 * at))[:, None], channels, axis=1)
    encode(tmp_path / name, codec, sound.astype(np.float32), rate)
    assert Path(name).suffix in MUSIC_SUFFIXES
    piece = measured(open_audio(music_files([str(tmp_path)])[0]))
    assert piece.length == pytest.approx(5 * SAMPLE_RATE, abs=0.12 * SAMPLE_RATE)
    x = Tap(piece.blocks()).take(4 * SAMPLE_RATE)
    assert x.shape == (4 * SAMPLE_RATE, 2)
    assert pitch(x) == 440
    assert loudness(x) == pytest.approx(0.0, abs=0.2)


def test_powers_along_a_track_are_those_of_its_sound(tmp_path: Path) -> None:
    """Told from the files, joins and turns included: no 400 ms are more than 0.5 dB off."""
    for number in (1, 2, 3):
        level = np.repeat(np.linspace(0.5, 1.5, 11), SAMPLE_RATE)[: round(9.7 * SAMPLE_RATE)]
        write(tmp_path / f"{number}.wav", noise(9.7, number) * level[:, None].astype(np.float32))
    bed = open_music([str(tmp_path)], 60 * SAMPLE_RATE)
    meter = PowerMeter()
    meter.add(Tap(bed.blocks()).take(60 * SAMPLE_RATE))
    told, heard = (
        p[: 3000 // 20 * 20].reshape(-1, 20).mean(axis=1) for p in (bed.powers, meter.powers())
    )
    assert len(bed.powers) == 60 * SAMPLE_RATE // STEP
    assert np.abs(10 * np.log10(told / heard)).max() < 0.5


def test_no_more_files_are_listened_through_than_a_track_needs(tmp_path: Path) -> None:
    for number in range(6):
        write(tmp_path / f"{number}.wav", noise(10, number))
    assert len(open_music([str(tmp_path)], 15 * SAMPLE_RATE).pieces) == 2
    assert len(open_music([str(tmp_path)], 900 * SAMPLE_RATE).pieces) == 6


def test_a_piece_is_its_file(tmp_path: Path) -> None:
    write(tmp_path / "a.wav", music(5))
    piece = measured(open_audio(tmp_path / "a.wav"))
    assert Tap(piece.blocks()).take(piece.length) == pytest.approx(
        read_audio(tmp_path / "a.wav")[piece.first :] * piece.gain, abs=1e-6
    )


def test_a_tap_fills_up_with_silence() -> None:
    def blocks() -> Iterator[Signal]:
        yield np.ones((3, 2), dtype=np.float32)

    tap = Tap(blocks())
    assert tap.take(2).tolist() == [[1, 1], [1, 1]]
    assert tap.take(3).tolist() == [[1, 1], [0, 0], [0, 0]]


_MEMORY = """
import sys
from pathlib import Path
from cuegen.mix.bed import open_bed
from cuegen.mix.timeline import mix_blocks
from cuegen.schedule.cuesheet import SheetBed, Sound
from tests.mix.sheets import talked_through
from tests.voice.fake import FakeSpeaker
bed = SheetBed(file=sys.argv[2], below_db=20.0)
sheet = talked_through(int(sys.argv[1]) * 60_000, sound=Sound(bed=bed), every_ms=30_000)
for _ in mix_blocks(sheet, FakeSpeaker(), bed=open_bed(sheet)):
    pass
print(*(line for line in Path("/proc/self/status").open() if line.startswith("VmHWM")))
"""


def memory_kb(minutes: int, bed: str) -> int:
    done = subprocess.run(
        [sys.executable, "-c", _MEMORY, str(minutes), bed],
        capture_output=True,
        text=True,
        check=True,
    )
    return int(done.stdout.split()[1])


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="Linux tells a process's peak")
@pytest.mark.parametrize("bed", ["files", "pulse"])
def test_memory_does_not_grow_with_the_session(tmp_path: Path, bed: str) -> None:
    """Five times as long takes at most a tenth more, for files and for our own."""
    if bed == "files":
        for number in range(3):
            write(tmp_path / f"{number}.flac", noise(60, number))
        bed = str(tmp_path)
    short, long = (memory_kb(minutes, bed) for minutes in (3, 15))
    assert long <= 1.1 * short
    assert long < 300_000
