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
from cuegen.mix.stillness import END_FRAMES, LEAST_GAP, MARGIN_FRAMES, sounding
from tests.dsp.signals import speech_like
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


def gaps_about_the_least(_seconds: float) -> Signal:
    """Return bursts between silences of every length near the one that pays."""
    parts = [speech_like(0.4, 8)[: 10 * FRAME + 77]]
    for still in range(LEAST_GAP - 4, LEAST_GAP + 2 * MARGIN_FRAMES + 8):
        parts += [np.zeros(still * FRAME + 5, dtype=np.float32), speech_like(0.3, still)]
    return np.concatenate(parts).astype(np.float32)


STILL: dict[str, Callable[[float], Signal]] = {
    "lines": lambda seconds: one(lines(seconds)),
    "stereo": lambda seconds: np.stack([lines(seconds), lines(seconds, 4) * 0], axis=1),
    "late": lambda seconds: one(late(seconds)),
    "nothing": lambda seconds: one(np.zeros(round(seconds * SAMPLE_RATE), dtype=np.float32)),
    "least gaps": lambda seconds: one(gaps_about_the_least(seconds)),
}


@pytest.mark.parametrize("name", STILL)
def test_silence_repeated_is_silence_encoded(tmp_path: Path, name: str) -> None:
    x = STILL[name](47.3)
    alone = by_one_encoder(tmp_path / "alone.mp3", x)
    assert in_chunks(tmp_path / "track.mp3", x).read_bytes() == alone.read_bytes()


@pytest.mark.parametrize("name", ["lines", "late", "least gaps"])
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
    fed = []
    frame_of = codec.frame_of

    def counted(block: Signal, *rest: object) -> object:
        fed.append(len(block))
        return frame_of(block, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(chunks, "frame_of", counted)
    in_chunks(tmp_path / "track.mp3", STILL["late"](60))
    assert sum(fed) < 10 * SAMPLE_RATE


def test_without_a_lead_in_the_bytes_would_differ(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The proof above can fail: an encoder that begins right at a sound knows no silence."""
    monkeypatch.setattr(chunks, "STILL_LEAD_FRAMES", 0)
    monkeypatch.setattr("cuegen.mix.stillness.MARGIN_FRAMES", 0)
    x = STILL["lines"](47.3)
    alone = by_one_encoder(tmp_path / "alone.mp3", x)
    assert in_chunks(tmp_path / "track.mp3", x).read_bytes() != alone.read_bytes()


@given(
    st.lists(st.tuples(st.booleans(), st.integers(1, 60)), min_size=1, max_size=8),
    st.integers(0, 9),
)
def test_spans_hold_every_sound_with_its_margin(parts: list[tuple[bool, int]], broken: int) -> None:
    """Frames of ten samples, the last one perhaps broken off."""
    heard = np.concatenate([np.full(length, loud) for loud, length in parts])
    samples = np.repeat(heard, 10).astype(np.float32)[:, np.newaxis]
    samples = samples[: max(1, len(samples) - broken)]
    count = -(-len(samples) // 10)
    spans = sounding(samples, 10)
    assert spans[0][0] == 0
    assert spans[-1][1] == count
    assert all(later[0] - sooner[1] >= LEAST_GAP for sooner, later in pairwise(spans))
    kept = np.zeros(count, dtype=np.bool_)
    for first, stop in spans:
        kept[first:stop] = True
    for at in np.flatnonzero(heard[:count]):
        assert kept[max(0, at - MARGIN_FRAMES) : at + MARGIN_FRAMES + 1].all()
    assert kept[:END_FRAMES].all()
    assert kept[-END_FRAMES:].all()
