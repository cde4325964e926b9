"""Silence is encoded once and repeated: the same bytes as one long encoder gives."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.signal import Signal
from cuegen.mix import chunks, codec
from cuegen.mix.formats import FORMATS
from cuegen.mix.stillness import MARGIN_FRAMES, Condenser, LeftOut
from tests.dsp.signals import cuts, in_blocks, speech_like
from tests.mix.test_chunks import FRAME, by_one_encoder, in_chunks, one


def lines(seconds: float, seed: int = 3) -> Signal:
    """Return speech in lines of 1 to 4 s with silences of a frame up to 9 s between them."""
    rng = np.random.default_rng(seed)
    x = speech_like(seconds, seed)
    at = 0
    while at < len(x):
        at += int(rng.uniform(1, 4) * SAMPLE_RATE)
        gap = int(rng.choice([rng.uniform(0.02, 1), rng.uniform(1, 9)]) * SAMPLE_RATE)
        x[at : at + gap] = 0
        at += gap
    return x


def late(seconds: float) -> Signal:
    """Return silence, then noise at full height, then silence."""
    x = np.zeros(round(seconds * SAMPLE_RATE), dtype=np.float32)
    x[len(x) // 3 : len(x) // 3 + 9_000] = speech_like(1, 4, -6.0)[:9_000]
    return x


def short_gaps(_seconds: float) -> Signal:
    """Return bursts between silences of every length near the least that has an inside."""
    parts = [speech_like(0.4, 8)[: 10 * FRAME + 77]]
    for still in range(1, 2 * MARGIN_FRAMES + 8):
        parts += [np.zeros(still * FRAME + 5, dtype=np.float32), speech_like(0.3, still)]
    return np.concatenate(parts).astype(np.float32)


STILL: dict[str, Callable[[float], Signal]] = {
    "lines": lambda seconds: one(lines(seconds)),
    "stereo": lambda seconds: np.stack([lines(seconds), lines(seconds, 4) * 0], axis=1),
    "late": lambda seconds: one(late(seconds)),
    "nothing": lambda seconds: one(np.zeros(round(seconds * SAMPLE_RATE), dtype=np.float32)),
    "short gaps": lambda seconds: one(short_gaps(seconds)),
}


@pytest.mark.parametrize("name", STILL)
def test_silence_repeated_is_silence_encoded(tmp_path: Path, name: str) -> None:
    x = STILL[name](47.3)
    alone = by_one_encoder(tmp_path / "alone.mp3", x)
    assert in_chunks(tmp_path / "track.mp3", x).read_bytes() == alone.read_bytes()


@pytest.mark.parametrize("name", ["lines", "late", "short gaps"])
def test_every_packet_says_when_it_is(name: str) -> None:
    """A frame after the one before, copies of silence and the joints of chunks included."""
    coder = chunks.ChunkCoder(FORMATS[".mp3"], 1)
    packets = [*coder.encode(STILL[name](47.3)), *coder.finish()]
    times = [packet.pts for packet in packets]
    assert len(times) > 300
    assert all(
        late is not None and early is not None and late - early == FRAME
        for early, late in pairwise(times)
    )


def test_a_long_silence_is_not_encoded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only a margin at both ends, and the nine frames that sound with theirs."""
    fed = []
    frame_of = codec.frame_of

    def counted(block: Signal, *rest: object) -> object:
        fed.append(len(block))
        return frame_of(block, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(chunks, "frame_of", counted)
    in_chunks(tmp_path / "track.mp3", STILL["late"](60))
    sound = 9 + 2 * MARGIN_FRAMES
    assert sum(fed) == (MARGIN_FRAMES + sound + MARGIN_FRAMES) * FRAME


@pytest.mark.parametrize("margin", [0, 1])
def test_without_a_margin_the_bytes_would_differ(
    tmp_path: Path, margin: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The proof above can fail: an encoder that goes from sound to sound hears no silence."""
    monkeypatch.setattr("cuegen.mix.stillness.MARGIN_FRAMES", margin)
    x = STILL["lines"](47.3)
    alone = by_one_encoder(tmp_path / "alone.mp3", x)
    assert in_chunks(tmp_path / "track.mp3", x).read_bytes() != alone.read_bytes()


def test_a_margin_of_two_frames_would_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the head of chunks.py says was measured; there are twice as many."""
    monkeypatch.setattr("cuegen.mix.stillness.MARGIN_FRAMES", 2)
    for name in ("lines", "late", "short gaps"):
        x = STILL[name](47.3)
        alone = by_one_encoder(tmp_path / "alone.mp3", x)
        assert in_chunks(tmp_path / "track.mp3", x).read_bytes() == alone.read_bytes(), name


def condensed(x: Signal, frame: int, lengths: list[int]) -> tuple[Signal, list[LeftOut]]:
    condenser = Condenser(1, frame)
    kept: list[Signal] = []
    in_blocks(x, lengths, lambda block: kept.append(condenser.add(block)))
    return np.concatenate([*kept, condenser.rest()]), list(condenser.left_out)


TRACKS = st.lists(st.tuples(st.booleans(), st.integers(1, 60)), min_size=1, max_size=8)
"""Sounds and silences, so many frames long."""


def frames_of_ten(parts: list[tuple[bool, int]], broken: int) -> Signal:
    """Return ten samples a frame, but for so many of the last one."""
    heard = np.concatenate([np.full(length, loud) for loud, length in parts])
    samples = np.repeat(heard, 10).astype(np.float32)[:, np.newaxis]
    return samples[: max(1, len(samples) - broken)]


@given(TRACKS, st.integers(0, 9), cuts(700))
def test_what_is_left_out_is_silence_that_can_be_put_in_again(
    parts: list[tuple[bool, int]], broken: int, lengths: list[int]
) -> None:
    x = frames_of_ten(parts, broken)
    kept, left_out = condensed(x, 10, lengths)
    whole: list[Signal] = []
    at = 0
    for gap in left_out:
        whole += [kept[at * 10 : gap.at * 10], np.zeros((gap.frames * 10, 1), dtype=np.float32)]
        at = gap.at
    assert np.array_equal(np.concatenate([*whole, kept[at * 10 :]]), x)
    assert [gap.at for gap in left_out] == sorted({gap.at for gap in left_out})


@given(TRACKS, st.integers(0, 9), cuts(700))
def test_left_out_is_every_frame_far_from_a_sound_and_no_other(
    parts: list[tuple[bool, int]], broken: int, lengths: list[int]
) -> None:
    """Far: with MARGIN_FRAMES still ones on either side, the ends counting as sound."""
    x = frames_of_ten(parts, broken)
    count = len(x) // 10
    heard = [True] * MARGIN_FRAMES + list(x[: count * 10 : 10, 0] != 0) + [True] * MARGIN_FRAMES
    near = [any(heard[at : at + 2 * MARGIN_FRAMES + 1]) for at in range(count)]
    kept, left_out = condensed(x, 10, lengths)
    assert sum(gap.frames for gap in left_out) == near.count(False)
    assert len(kept) == len(x) - 10 * near.count(False)
    for gap in left_out:
        before = sum(other.frames for other in left_out if other.at < gap.at)
        first = gap.at + before
        assert near[first : first + gap.frames] == [False] * gap.frames
