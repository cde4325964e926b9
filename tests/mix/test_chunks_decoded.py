"""A track encoded in chunks, decoded again: no joint to be measured, no sample out of place."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import av
import mutagen
import numpy as np
import pytest
from mutagen.mp3 import BitrateMode

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import read_audio
from cuegen.dsp.truepeak import true_peak_dbtp
from cuegen.mix.chunks import CHUNK_FRAMES
from cuegen.mix.encode import encoding
from cuegen.mix.formats import PEAK_DBTP
from cuegen.sheet.webvtt import Chapter
from tests.dsp.signals import sine, speech_like
from tests.mix.sheets import WORDS, clip_of, line_at, onset_of
from tests.mix.test_chunks import CHUNK, FRAME, MP3, SIGNALS, TAGS, in_chunks, one, wide

DELAY = 576 + 528 + 1
"""Samples by which a decoded mp3 lies late: LAME's, and a decoder's (LAME's technical FAQ)."""


def frames_of(path: Path) -> Iterator[bytes]:
    """Give each packet as FFmpeg's demuxer cuts it."""
    with av.open(str(path)) as container:
        yield from (bytes(packet) for packet in container.demux(audio=0) if packet.size)


def test_no_frame_takes_room_from_another(tmp_path: Path) -> None:
    """ISO/IEC 11172-3, 2.4.1.7: after header and no checksum, nine bits of main_data_begin."""
    frames = list(frames_of(in_chunks(tmp_path / "track.mp3", SIGNALS["speech"](16))))
    assert len(frames) == -(-(16 * SAMPLE_RATE + DELAY) // FRAME)
    assert {frame[1] & 1 for frame in frames} == {1}
    assert {frame[4] << 1 | frame[5] >> 7 for frame in frames} == {0}
    assert {len(frame) for frame in frames} == {96_000 * FRAME // SAMPLE_RATE // 8}


BURSTS = [CHUNK_FRAMES + step for step in (-300, -150, 0, 150)]
"""Frames around which the same sound is laid; the third is the first after a joint."""


@pytest.mark.parametrize("shift", [-1_105, -576, -1, 0, 1, 576])
@pytest.mark.parametrize("kind", ["click", "burst", "tone"])
def test_a_joint_is_no_worse_than_elsewhere(tmp_path: Path, kind: str, shift: int) -> None:
    """The same sound at a joint and elsewhere on the grid: the same difference to the input."""
    sound = {
        "click": np.array([0.9], dtype=np.float32),
        "burst": speech_like(0.2, 12, -3.0)[:4_800] + np.float32(0.01),
        "tone": (0.7 * np.sin(np.arange(3_000) * 0.13)).astype(np.float32),
    }[kind]
    x = np.zeros((CHUNK + 200 * FRAME, 1), dtype=np.float32)
    for frame in BURSTS:
        x[frame * FRAME + shift - len(sound) // 2 :][: len(sound), 0] += sound
    heard = read_audio(in_chunks(tmp_path / "track.mp3", x))
    off = [
        float(np.sqrt(np.mean((heard - x)[(frame - 6) * FRAME : (frame + 6) * FRAME] ** 2)))
        for frame in BURSTS
    ]
    assert min(off) > 0.0
    assert off == pytest.approx([off[0]] * len(BURSTS), rel=1e-3)


def test_a_tone_runs_through_joints_without_a_step(tmp_path: Path) -> None:
    """Least noise of all signals, so a step of 1/10,000 would stand out."""
    x = sine(35.0, -6.0, 441.0)[:, np.newaxis]
    off = np.abs(read_audio(in_chunks(tmp_path / "track.mp3", x)) - x)[:, 0]
    joints = [off[n * CHUNK - 2 * FRAME :][: 4 * FRAME].max() for n in (1, 2)]
    assert max(joints) <= 1.01 * off[3 * FRAME : CHUNK - 3 * FRAME].max()
    assert max(joints) < 1e-3


@pytest.mark.parametrize("start_ms", [14_900, 14_999, 15_000, 29_990])
def test_a_clip_across_a_joint_is_on_its_sample(tmp_path: Path, start_ms: int) -> None:
    clip = clip_of(line_at(start_ms, WORDS[0]))
    x = np.zeros((samples_at(34_000), 1), dtype=np.float32)
    x[samples_at(start_ms) :][: len(clip), 0] = clip
    heard = read_audio(in_chunks(tmp_path / "track.mp3", x))
    assert len(heard) == len(x)
    assert onset_of(heard[:, 0], clip, samples_at(start_ms)) == samples_at(start_ms)


@pytest.mark.parametrize("length", [2 * CHUNK, 2 * CHUNK + 48, 31 * SAMPLE_RATE + 77])
def test_the_first_and_the_last_sample_are_in_their_places(tmp_path: Path, length: int) -> None:
    x = np.zeros((length, 1), dtype=np.float32)
    x[[0, -1]] = 0.8
    heard = np.abs(read_audio(in_chunks(tmp_path / "track.mp3", x)))[:, 0]
    assert len(heard) == length
    assert int(np.argmax(heard[:FRAME])) == 0
    assert int(np.argmax(heard[-FRAME:])) == FRAME - 1


@pytest.mark.parametrize("length", [31 * SAMPLE_RATE, 2 * CHUNK, 2 * CHUNK + 48])
def test_the_tag_tells_delay_and_padding_of_the_whole(tmp_path: Path, length: int) -> None:
    """The LAME tag (Mp3 Info Tag rev 1): 12 bits each, 141 bytes on from the name "Info"."""
    track = in_chunks(tmp_path / "track.mp3", one(speech_like(31, 14))[:length])
    data = track.read_bytes()
    at = data.index(b"Info")
    frames = int.from_bytes(data[at + 8 : at + 12], "big")
    both = int.from_bytes(data[at + 141 : at + 144], "big")
    assert frames == len(list(frames_of(track)))
    assert both >> 12 == 576
    assert frames * FRAME - (both >> 12) - (both & 0xFFF) == length


def test_mutagen_agrees_on_length_rate_and_chapters(tmp_path: Path) -> None:
    """Two channels, three chunks. Mutagen counts whole frames, delay and padding among them."""
    x = wide(40.123)
    parts = [Chapter(0, 15_001, "Out"), Chapter(15_001, 40_123, "And back")]
    with encoding(tmp_path / "track.mp3", 2, TAGS, parts) as track:
        track.write(x)
    found = mutagen.File(tmp_path / "track.mp3")
    assert (found.info.bitrate_mode, found.info.bitrate) == (BitrateMode.CBR, 160_000)
    frames = -(-(len(x) + DELAY) // FRAME)
    assert found.info.length == pytest.approx(frames * FRAME / SAMPLE_RATE, abs=1e-9)
    assert [(f.start_time, f.end_time) for f in found.tags.getall("CHAP")] == [
        (0, 15_001),
        (15_001, 40_123),
    ]


@pytest.mark.parametrize("name", SIGNALS)
def test_no_peak_is_lifted_past_the_one_of_a_track(tmp_path: Path, name: str) -> None:
    """Each signal touches the limiter's ceiling; three chunks."""
    x = SIGNALS[name](33.0)
    x *= np.float32(10 ** ((MP3.ceiling(0.0) - true_peak_dbtp(x)) / 20))
    assert true_peak_dbtp(read_audio(in_chunks(tmp_path / "track.mp3", x))) <= PEAK_DBTP
