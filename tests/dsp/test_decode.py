"""Reading audio: every format on its very sample, every unusable file refused by name."""

from __future__ import annotations

import struct
import wave
from dataclasses import replace
from pathlib import Path

import av
import numpy as np
import pytest
from scipy import signal

from cuegen.dsp.decode import open_audio, read_audio
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError
from tests.dsp.signals import speech_like, stereo

CODECS = {"mp3": "libmp3lame", "m4a": "aac", "opus": "libopus", "flac": "flac", "wav": "pcm_s16le"}


def write(path: Path, x: Signal, rate: int) -> Path:
    """Write (n, channels) by PyAV alone."""
    layout = {1: "mono", 2: "stereo", 6: "5.1"}[x.shape[1]]
    with av.open(str(path), "w") as container:
        stream = container.add_stream(CODECS[path.suffix[1:]], rate=rate, layout=layout)
        assert isinstance(stream, av.AudioStream)
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(x.T), format="fltp", layout=layout)
        frame.sample_rate = rate
        frame.pts = 0
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def burst(rate: int, at: int) -> Signal:
    """Return 3 s of one channel with half a second of sound from sample `at` on."""
    x = np.zeros((3 * rate, 1), dtype=np.float32)
    noise = np.random.default_rng(5).standard_normal(rate // 2) * 0.3
    band = signal.butter(4, (200, 4000), "bandpass", fs=rate, output="sos")
    x[at : at + rate // 2, 0] = signal.sosfilt(band, noise)
    return x


@pytest.mark.parametrize(
    ("suffix", "rate"),
    # Opus has no 44,100 Hz.
    [(s, r) for s in CODECS for r in (24_000, 44_100, 48_000) if (s, r) != ("opus", 44_100)],
)
def test_a_sound_lies_on_its_sample(tmp_path: Path, suffix: str, rate: int) -> None:
    """The delay of encoder and decoder is taken away: FFT correlation finds no shift."""
    at = rate + 137 * rate // 24_000
    x = burst(rate, at)
    heard = read_audio(write(tmp_path / f"burst.{suffix}", x, rate))[:, 0]
    planned = signal.resample(x[:, 0].astype(np.float64), 3 * 48_000)
    lags = signal.correlate(heard.astype(np.float64), planned, method="fft")
    assert int(np.argmax(lags)) - (len(planned) - 1) == 0


@pytest.mark.parametrize("rate", [24_000, 44_100, 48_000])
def test_the_end_of_a_file_is_there_too(tmp_path: Path, rate: int) -> None:
    """A tone to the last sample of 3 s: as long at our rate, and sounding to its last 2 ms."""
    x = 0.5 * np.sin(2 * np.pi * 997 * np.arange(3 * rate) / rate)
    heard = read_audio(write(tmp_path / "tone.wav", x[:, np.newaxis].astype(np.float32), rate))
    assert len(heard) == 3 * 48_000
    assert np.abs(heard[-96:]).max() > 0.45


def test_blocks_are_the_whole_file_a_second_at_a_time(tmp_path: Path) -> None:
    x = stereo(speech_like(5.5, 1))
    source = open_audio(write(tmp_path / "speech.flac", x, 48_000))
    blocks = list(source.blocks())
    assert (source.channels, source.sample_rate, source.file_rate) == (2, 48_000, 48_000)
    assert all(len(block) < 60_000 for block in blocks)
    assert np.abs(np.concatenate(blocks) - x).max() < 1e-4


def test_a_source_can_be_read_twice(tmp_path: Path) -> None:
    source = open_audio(write(tmp_path / "speech.mp3", stereo(speech_like(2, 1)), 44_100))
    assert (np.concatenate(list(source.blocks())) == np.concatenate(list(source.blocks()))).all()


def test_one_channel_stays_one(tmp_path: Path) -> None:
    assert read_audio(write(tmp_path / "mono.opus", burst(48_000, 99), 48_000)).shape[1] == 1


def test_more_channels_are_mixed_down_to_two(tmp_path: Path) -> None:
    x = np.repeat(burst(48_000, 99), 6, axis=1)
    assert read_audio(write(tmp_path / "surround.flac", x, 48_000)).shape[1] == 2


def test_a_colon_in_a_name_is_part_of_the_name(tmp_path: Path) -> None:
    made = write(tmp_path / "made.wav", burst(48_000, 99), 48_000)
    assert len(read_audio(made.rename(tmp_path / "concat:12:30.wav"))) == 3 * 48_000


def test_a_list_of_other_files_opens_none_of_them(tmp_path: Path) -> None:
    """An HLS list names other places; it is no recording."""
    secret = write(tmp_path / "other.mp3", burst(48_000, 99), 48_000)
    lines = ["#EXTM3U", "#EXT-X-TARGETDURATION:3", "#EXTINF:3,", f"http://localhost/{secret.name}"]
    (tmp_path / "list.m3u8").write_text("\n".join([*lines, "#EXT-X-ENDLIST", ""]))
    with pytest.raises(AudioError, match=r"list\.m3u8"):
        read_audio(tmp_path / "list.m3u8")


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(AudioError, match=r"gone\.wav: there is no such audio file"):
        open_audio(tmp_path / "gone.wav")


def test_a_folder(tmp_path: Path) -> None:
    with pytest.raises(AudioError, match="this is a folder"):
        open_audio(tmp_path)


def test_an_empty_file(tmp_path: Path) -> None:
    (tmp_path / "empty.mp3").touch()
    with pytest.raises(AudioError, match=r"empty\.mp3: this audio file is empty"):
        open_audio(tmp_path / "empty.mp3")


def test_a_text_that_calls_itself_mp3(tmp_path: Path) -> None:
    (tmp_path / "notes.mp3").write_text("six minutes at eighteen, then four at twenty\n" * 40)
    with pytest.raises(AudioError, match=r"notes\.mp3: this is no audio file, or it is damaged"):
        open_audio(tmp_path / "notes.mp3")


def test_a_picture(tmp_path: Path) -> None:
    """A file that FFmpeg reads, but without sound: a 1 x 1 bitmap."""
    head = struct.pack("<2sIHHIIiiHHIIiiII", b"BM", 58, 0, 0, 54, 40, 1, 1, 1, 24, 0, 4, 0, 0, 0, 0)
    (tmp_path / "logo.bmp").write_bytes(head + b"\xff\xff\xff\0")
    with pytest.raises(AudioError, match=r"logo\.bmp: there is no sound in this file"):
        open_audio(tmp_path / "logo.bmp")


def test_a_cut_m4a(tmp_path: Path) -> None:
    """An m4a cut short has lost the index that tells where its sound lies."""
    whole = write(tmp_path / "whole.m4a", burst(48_000, 99), 48_000).read_bytes()
    (tmp_path / "cut.m4a").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(AudioError, match=r"cut\.m4a: this is no audio file, or it is damaged"):
        read_audio(tmp_path / "cut.m4a")


def test_a_wav_of_no_samples(tmp_path: Path) -> None:
    with wave.open(str(tmp_path / "none.wav"), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(48_000)
    with pytest.raises(AudioError, match=r"none\.wav"):
        read_audio(tmp_path / "none.wav")


def test_a_wav_of_no_numbers(tmp_path: Path) -> None:
    samples = np.full(48_000, np.nan, dtype="<f4").tobytes()
    form = struct.pack("<4sIHHIIHH", b"fmt ", 16, 3, 1, 48_000, 192_000, 4, 32)
    data = struct.pack("<4sI", b"data", len(samples)) + samples
    riff = struct.pack("<4sI4s", b"RIFF", 4 + len(form) + len(data), b"WAVE")
    (tmp_path / "nan.wav").write_bytes(riff + form + data)
    with pytest.raises(AudioError, match=r"nan\.wav: this file holds samples that are no numbers"):
        read_audio(tmp_path / "nan.wav")


def test_at_the_files_own_rate_each_sample_is_as_it_was_written(tmp_path: Path) -> None:
    """What a recorder cut off is flat only where nobody has resampled it."""
    x = np.rint(burst(44_100, 99) * 32_768).clip(-32_768, 32_767) / np.float32(32_768)
    source = open_audio(write(tmp_path / "own.wav", x.astype(np.float32), 44_100))
    own = np.concatenate(list(replace(source, sample_rate=source.file_rate).blocks()))
    assert np.array_equal(own, x)


def test_at_another_rate_the_sound_lies_at_the_same_instant(tmp_path: Path) -> None:
    source = open_audio(write(tmp_path / "some.flac", burst(48_000, 48_000), 48_000))
    low = np.concatenate(list(replace(source, sample_rate=16_000).blocks()))
    assert len(low) == pytest.approx(48_000, abs=16)
    assert np.flatnonzero(np.abs(low[:, 0]) > 0.05)[0] == pytest.approx(16_000, abs=20)
