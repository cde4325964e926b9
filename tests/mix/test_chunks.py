"""A track encoded in chunks: the bytes of one encoder, and nothing left behind.

Its peer is one long encoder, driven by PyAV alone. What is heard of it is in
test_chunks_decoded.py.
"""

from __future__ import annotations

import threading
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.decode import read_audio
from cuegen.dsp.signal import Signal
from cuegen.mix import chunks
from cuegen.mix.chunks import CHUNK_FRAMES, LEAD_FRAMES, TAIL_FRAMES, Chunk, ChunkCutter
from cuegen.mix.codec import frame_of
from cuegen.mix.encode import Tags, encoding
from cuegen.mix.formats import FORMATS
from tests.dsp.signals import cuts, in_blocks, speech_like

MP3 = FORMATS[".mp3"]
FRAME = MP3.frame_samples
CHUNK = CHUNK_FRAMES * FRAME
TAGS = Tags("Long water")


def in_chunks(path: Path, x: Signal, *, block: int = SAMPLE_RATE) -> Path:
    with encoding(path, x.shape[1], TAGS, []) as track:
        for start in range(0, len(x), block):
            track.write(x[start : start + block])
    return path


def by_one_encoder(path: Path, x: Signal) -> Path:
    """Write the same by one encoder, fed by PyAV alone."""
    layout = {1: "mono", 2: "stereo"}[x.shape[1]]
    with av.open(str(path), "w", options={"fflags": "+bitexact"}) as container:
        stream = container.add_stream(
            "libmp3lame",
            rate=SAMPLE_RATE,
            layout=layout,
            options={"compression_level": "7", "reservoir": "0"},
        )
        assert isinstance(stream, av.AudioStream)
        stream.bit_rate = {1: 96_000, 2: 160_000}[x.shape[1]]
        stream.codec_context.format = "fltp"
        container.metadata.update({"title": "Long water", "genre": "Speech"})
        planes = np.ascontiguousarray((x / np.float32(0.95)).T)
        frame = av.AudioFrame.from_ndarray(planes, format="fltp", layout=layout)
        frame.sample_rate = SAMPLE_RATE
        frame.pts = 0
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def sweep(seconds: float) -> Signal:
    """Return a sine that climbs from 60 Hz to 15 kHz."""
    at = np.arange(round(seconds * SAMPLE_RATE)) / SAMPLE_RATE
    turns = 60 * at + (15_000 - 60) / (2 * seconds) * at**2
    return (0.5 * np.sin(2 * np.pi * turns)).astype(np.float32)


def clicks(seconds: float) -> Signal:
    """Return single samples of any height, about seven each second."""
    rng = np.random.default_rng(6)
    x = np.zeros(round(seconds * SAMPLE_RATE), dtype=np.float32)
    x[rng.integers(0, len(x), round(7 * seconds))] = rng.uniform(-0.9, 0.9, round(7 * seconds))
    return x


def loud_then_quiet(seconds: float) -> Signal:
    """Return noise 60 dB under the seconds before it, which an encoder might remember."""
    return np.concatenate(
        [speech_like(seconds / 2, 7, -10.0), speech_like(seconds / 2, 8, -70.0)]
    ).astype(np.float32)


def wide(seconds: float) -> Signal:
    """Return two channels, alike by turns and not: speech in the middle, a sweep on one side."""
    speech, side = speech_like(seconds, 9), sweep(seconds) * clicks_gate(seconds)
    return np.stack([speech + side, speech], axis=1).astype(np.float32)


def clicks_gate(seconds: float) -> Signal:
    """Return 0.3 in every other second, else nothing."""
    at = np.arange(round(seconds * SAMPLE_RATE)) // SAMPLE_RATE
    return np.where(at % 2, np.float32(0.3), np.float32(0.0))


def one(x: Signal) -> Signal:
    return x[:, np.newaxis]


SIGNALS: dict[str, Callable[[float], Signal]] = {
    "speech": lambda seconds: one(speech_like(seconds, 5)),
    "sweep": lambda seconds: one(sweep(seconds)),
    "clicks": lambda seconds: one(clicks(seconds)),
    "quiet after loud": lambda seconds: one(loud_then_quiet(seconds)),
    "stereo": wide,
}


@pytest.mark.parametrize("name", SIGNALS)
def test_chunks_make_the_bytes_of_one_encoder(tmp_path: Path, name: str) -> None:
    """Joints at 15 and 30 s, in the file as a whole: packets, lengths, delay, padding, tags."""
    x = SIGNALS[name](33.21)
    alone = by_one_encoder(tmp_path / "alone.mp3", x)
    assert in_chunks(tmp_path / "track.mp3", x).read_bytes() == alone.read_bytes()


@pytest.mark.parametrize("name", SIGNALS)
def test_no_joint_of_many_shows(tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A joint after every ninth frame."""
    monkeypatch.setattr(chunks, "CHUNK_FRAMES", 9)
    x = SIGNALS[name](12.0)
    alone = by_one_encoder(tmp_path / "alone.mp3", x)
    assert in_chunks(tmp_path / "track.mp3", x).read_bytes() == alone.read_bytes()


@pytest.mark.parametrize("lead", [0, 1])
def test_without_its_lead_in_a_joint_would_show(
    tmp_path: Path, lead: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So the two tests above can fail."""
    monkeypatch.setattr(chunks, "LEAD_FRAMES", lead)
    x = SIGNALS["sweep"](33.21)
    alone = by_one_encoder(tmp_path / "alone.mp3", x)
    assert in_chunks(tmp_path / "track.mp3", x).read_bytes() != alone.read_bytes()


def test_two_frames_of_lead_in_would_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the head of chunks.py says was measured; a chunk has four times as many."""
    monkeypatch.setattr(chunks, "CHUNK_FRAMES", 30)
    monkeypatch.setattr(chunks, "LEAD_FRAMES", 2)
    x = SIGNALS["sweep"](12.0)
    alone = by_one_encoder(tmp_path / "alone.mp3", x)
    assert in_chunks(tmp_path / "track.mp3", x).read_bytes() == alone.read_bytes()


@pytest.mark.parametrize("past", [-FRAME, -48, 0, 48, 4 * FRAME - 48, 4 * FRAME, 4 * FRAME + 48])
def test_a_track_may_end_anywhere_near_a_joint(tmp_path: Path, past: int) -> None:
    """In whole milliseconds; a second chunk is begun from four frames past the first on."""
    x = one(speech_like(16, 11))[: CHUNK + past]
    alone = by_one_encoder(tmp_path / "alone.mp3", x)
    track = in_chunks(tmp_path / "track.mp3", x)
    assert track.read_bytes() == alone.read_bytes()
    assert len(read_audio(track)) == CHUNK + past


@pytest.mark.parametrize("length", [1, 1_151, 1_152, 1_153, 5_000])
def test_a_track_shorter_than_a_chunk(tmp_path: Path, length: int) -> None:
    x = one(speech_like(1, 11))[:length]
    alone = by_one_encoder(tmp_path / "alone.mp3", x)
    assert in_chunks(tmp_path / "track.mp3", x).read_bytes() == alone.read_bytes()


def test_the_number_of_threads_and_of_blocks_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(chunks, "CHUNK_FRAMES", 100)
    x = wide(15)
    made = []
    for threads, block in ((1, SAMPLE_RATE), (4, SAMPLE_RATE), (4, 7_001), (3, len(x))):
        monkeypatch.setattr(chunks, "workers", lambda count=threads: count)
        made.append(in_chunks(tmp_path / "track.mp3", x, block=block).read_bytes())
    assert made == made[:1] * 4


def test_two_chunks_are_under_way_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two threads wait for each other before they encode; one alone would wait in vain."""
    meeting = threading.Barrier(2, timeout=30)
    met: set[int] = set()

    def after_meeting(*given: Any) -> av.AudioFrame:
        if threading.get_ident() not in met:
            met.add(threading.get_ident())
            meeting.wait()
        return frame_of(*given)

    monkeypatch.setattr(chunks, "CHUNK_FRAMES", 100)
    monkeypatch.setattr(chunks, "workers", lambda: 2)
    monkeypatch.setattr(chunks, "frame_of", after_meeting)
    in_chunks(tmp_path / "track.mp3", SIGNALS["speech"](6))
    assert len(met) == 2


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 3_000), cuts(700))
def test_chunks_cover_a_track_once_whatever_its_blocks(length: int, lengths: list[int]) -> None:
    """Frames of one sample, so a sample is a frame: each belongs to one chunk, in order."""
    x = np.arange(length, dtype=np.float32)[:, np.newaxis]
    cutter = ChunkCutter(1, 1)
    cut: list[Chunk] = []
    in_blocks(x, lengths, lambda block: cut.extend(cutter.add(block)))
    cut.append(cutter.rest())
    kept = [c.samples[c.lead :][: c.kept if c.kept is not None else length] for c in cut]
    assert np.array_equal(np.concatenate(kept), x)
    assert [c.at + c.lead for c in cut] == [n * CHUNK_FRAMES for n in range(len(cut))]
    assert [c.lead for c in cut] == [0, *[LEAD_FRAMES] * (len(cut) - 1)]
    assert all(len(c.samples) == c.lead + CHUNK_FRAMES + TAIL_FRAMES for c in cut[:-1])
    assert all(np.array_equal(c.samples, x[c.at :][: len(c.samples)]) for c in cut)


def encoders_threads() -> list[str]:
    return [each.name for each in threading.enumerate() if each.name.startswith("encoder")]


def write_then_raise(path: Path, error: BaseException) -> None:
    x = SIGNALS["speech"](70)
    with encoding(path, 1, TAGS, []) as track:
        for start in range(0, len(x), SAMPLE_RATE):
            track.write(x[start : start + SAMPLE_RATE])
        assert encoders_threads()
        raise error


def test_an_interruption_amid_chunks_leaves_no_file_and_no_thread(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt):
        write_then_raise(tmp_path / "track.mp3", KeyboardInterrupt())
    assert list(tmp_path.iterdir()) == []
    assert encoders_threads() == []


def slow_frame(*given: Any) -> av.AudioFrame:
    time.sleep(1.0)
    return frame_of(*given)


def interrupt_soon(path: Path) -> None:
    with encoding(path, 1, TAGS, []) as track:
        track.write(np.zeros((5_010 * FRAME, 1), dtype=np.float32))
        time.sleep(0.5)
        raise KeyboardInterrupt


def test_an_interruption_does_not_wait_for_the_chunks_under_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A chunk that would take two minutes is left at its next step, which takes a second."""
    monkeypatch.setattr(chunks, "CHUNK_FRAMES", 5_000)
    monkeypatch.setattr(chunks, "frame_of", slow_frame)
    start = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        interrupt_soon(tmp_path / "track.mp3")
    assert time.monotonic() - start < 20
    assert encoders_threads() == []


def test_a_finished_track_leaves_no_thread(tmp_path: Path) -> None:
    in_chunks(tmp_path / "track.mp3", SIGNALS["speech"](17))
    assert encoders_threads() == []


def write_with_a_bad_block(path: Path, at_s: int) -> None:
    x = SIGNALS["speech"](40)
    with encoding(path, 1, TAGS, []) as track:
        for second in range(40):
            block = x[second * SAMPLE_RATE :][:SAMPLE_RATE]
            track.write(np.repeat(block, 2, axis=1) if second == at_s else block)


@pytest.mark.parametrize("at_s", [2, 20, 39])
def test_a_block_of_other_channels_is_refused_wherever_it_lies(tmp_path: Path, at_s: int) -> None:
    with pytest.raises(ValueError, match="a block of 2 channels for a track of 1"):
        write_with_a_bad_block(tmp_path / "track.mp3", at_s)
    assert list(tmp_path.iterdir()) == []
    assert encoders_threads() == []


def test_what_breaks_in_a_worker_comes_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> av.AudioFrame:
        raise MemoryError("no room for a frame")

    monkeypatch.setattr(chunks, "frame_of", broken)
    with pytest.raises(MemoryError, match="no room for a frame"):
        in_chunks(tmp_path / "track.mp3", SIGNALS["speech"](40))
    assert list(tmp_path.iterdir()) == []
    assert encoders_threads() == []


def most_bytes(path: Path, seconds: int) -> int:
    """Return the most memory that numpy and Python held while a track was encoded."""
    second = speech_like(1, 13)[:, np.newaxis]
    tracemalloc.start()
    try:
        with encoding(path, 1, TAGS, []) as track:
            for _ in range(seconds):
                track.write(second.copy())
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_memory_does_not_grow_with_the_track(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Chunks of 2.4 s, four threads: 40 s hold more than may be under way.

    How many are is the threads' own affair, so that five times as long may hold half as
    much again; all of it would be five times as much.
    """
    monkeypatch.setattr(chunks, "CHUNK_FRAMES", 100)
    monkeypatch.setattr(chunks, "workers", lambda: 4)
    short, long = (most_bytes(tmp_path / "track.mp3", seconds) for seconds in (40, 200))
    assert long <= 1.5 * short
