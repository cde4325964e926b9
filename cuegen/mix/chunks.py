"""A track encoded in chunks on all cores, to the very bytes that one encoder would make.

Conventions
    Frames are the encoder's own, counted from the start of what is encoded; frame n
    is the nth packet. A chunk is a fixed span of frames, whatever the blocks it came
    in and however many threads there are.

For formats in which no frame takes room from another (`Format.frame_samples`).
Each chunk has an encoder of its own, which begins some frames early, on the same
grid, and is fed some samples past its end. The packets of the early frames are
dropped. What an encoder remembers of the past (the overlap of its filter bank, the
last levels that its search for onsets compares with) reaches back two frames:
measured, libmp3lame gave other packets than one long encoder after none or one,
and the same after two or more, for speech, clicks, sweeps, noise, and quiet after
loud. What it looks ahead is less than two. The inside of silences is left out before
the chunks are cut (cuegen.mix.stillness), and its packets are put in again after.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from threading import Event, Lock

import av
import numpy as np

from cuegen.children import cores
from cuegen.dsp.signal import Signal
from cuegen.mix.codec import check_channels, frame_of, open_codec
from cuegen.mix.formats import Format
from cuegen.mix.stillness import Condenser, Packet

CHUNK_FRAMES = 625
"""15 s of mp3 at 48 kHz: 2.9 MB of samples a channel."""

LEAD_FRAMES = 8
TAIL_FRAMES = 4

_OPENING = Lock()

Packets = list[Packet]

_MOST_WORKERS = 4
_FRAMES_AT_ONCE = 40
"""An encoder looks this often whether it is still wanted: about each second of sound."""


@dataclass(frozen=True, slots=True, eq=False)
class Chunk:
    """Samples for one encoder.

    at: index of the first sample in what is encoded. lead: how many packets to drop
    first. kept: how many then belong to the track; None, all up to its end.
    """

    at: int
    samples: Signal
    lead: int
    kept: int | None


class ChunkCutter:
    """Gathers blocks and cuts them into chunks, each with its lead-in and what follows it."""

    def __init__(self, channels: int, frame: int) -> None:
        self._frame = frame
        self._lead = 0
        self._at = 0
        self._held: list[Signal] = [np.zeros((0, channels), dtype=np.float32)]
        self._length = 0

    def add(self, block: Signal) -> Iterator[Chunk]:
        """Take the next samples; give the chunks that are complete with them."""
        self._held.append(block)
        self._length += len(block)
        while self._length >= self._wanted():
            whole = self._whole()
            yield Chunk(self._at, whole[: self._wanted()], self._lead, CHUNK_FRAMES)
            self._drop(whole)

    def rest(self) -> Chunk:
        """Return the last chunk: all that is left, up to the end of the track."""
        return Chunk(self._at, self._whole(), self._lead, None)

    def _wanted(self) -> int:
        return (self._lead + CHUNK_FRAMES + TAIL_FRAMES) * self._frame

    def _whole(self) -> Signal:
        filled = [block for block in self._held if len(block)] or self._held[:1]
        return filled[0] if len(filled) == 1 else np.concatenate(filled)

    def _drop(self, whole: Signal) -> None:
        """Keep of what is held the lead-in of the next chunk, and what comes after."""
        done = self._lead + CHUNK_FRAMES
        self._lead = min(LEAD_FRAMES, done)
        start = (done - self._lead) * self._frame
        self._held = [whole[start:]]
        self._length = len(whole) - start
        self._at += start


class ChunkCoder:
    """Gives the packets of a track, its chunks encoded side by side in a few threads.

    Some chunks are under way at a time, so memory does not grow with the track.
    Not for use from two threads at once.
    """

    def __init__(self, form: Format, channels: int) -> None:
        self._form = form
        self._channels = channels
        self._condenser = Condenser(channels, form.frame_samples)
        self._cutter = ChunkCutter(channels, form.frame_samples)
        self._workers = workers()
        self._pool = ThreadPoolExecutor(self._workers, thread_name_prefix="encoder")
        self._ahead: deque[Future[Packets]] = deque()
        self._stopped = Event()

    def encode(self, block: Signal) -> Iterator[Packet]:
        """Take the next samples; give the packets that are next and ready.

        Raises ValueError where these have other channels than the track.
        """
        check_channels(block, self._channels)
        yield from self._cut(self._condenser.add(block))

    def finish(self) -> Iterator[Packet]:
        """Give all packets that are left, and end the threads."""
        yield from self._cut(self._condenser.rest())
        self._start(self._cutter.rest())
        while self._ahead:
            yield from self._next()
        self._pool.shutdown()

    def abandon(self) -> None:
        """End the threads, whatever they are at."""
        self._stopped.set()
        self._pool.shutdown(cancel_futures=True)

    def _cut(self, samples: Signal) -> Iterator[Packet]:
        for chunk in self._cutter.add(samples):
            self._start(chunk)
            if len(self._ahead) > self._workers + 1:
                yield from self._next()

    def _start(self, chunk: Chunk) -> None:
        self._ahead.append(self._pool.submit(self._packets, chunk, self._opened()))

    def _packets(self, chunk: Chunk, codec: av.AudioCodecContext) -> Packets:
        """Return the packets of a chunk."""
        packets: Packets = []
        step = _FRAMES_AT_ONCE * self._form.frame_samples
        for start in range(0, len(chunk.samples), step):
            if self._stopped.is_set():
                return []
            block = chunk.samples[start : start + step]
            packets += codec.encode(frame_of(block, self._form, self._channels, chunk.at + start))
        if chunk.kept is None:
            return [*packets, *codec.encode(None)][chunk.lead :]
        assert len(packets) >= chunk.lead + chunk.kept, "the encoder looks too far ahead"
        return packets[chunk.lead : chunk.lead + chunk.kept]

    def _opened(self) -> av.AudioCodecContext:
        # One at a time: opening fills tables that all of LAME's encoders share.
        with _OPENING:
            return open_codec(self._form, self._channels)

    def _next(self) -> Iterator[Packet]:
        """Give the packets of the chunk that is next, those of silence among them."""
        return self._condenser.restored(self._ahead.popleft().result())


def workers() -> int:
    """Return how many chunks are encoded side by side: one for each core, up to four."""
    return min(cores(), _MOST_WORKERS)
