"""What of a track needs no encoder: the inside of its digital silences.

Conventions
    Frames of one encoder, counted from the start of the track; the last may be a
    broken one. Still is what is zero in every channel. How the track is cut into
    blocks changes nothing.

A track of the voice alone is silent for two thirds of its time, and libmp3lame works
nearly as hard on silence as on speech (measured: a 25-minute track took 17.9 s of one
core, and 8.4 s without its silences). All still frames far enough from any sound are the
same packet. So they are left out before the encoder, which then goes from the silence
after a sound right on to the silence before the next, and knows no difference; their
packet is put in again afterwards. Of one channel only: with two, libmp3lame's choice
between their sum and themselves outlives the sound (seen: silence after speech on one
side alone had other packets than silence after none).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TypeAlias, cast

import av
import numpy as np
from numpy.typing import NDArray

from cuegen.dsp.signal import Signal

Packet: TypeAlias = "av.Packet[av.AudioStream]"

MARGIN_FRAMES = 4
"""Still frames on either side of a sound that are encoded: what an encoder remembers and looks
ahead reaches two (cuegen.mix.chunks). Before the start and after the end counts as sound."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """So many frames are missing before frame `at` of what is kept."""

    at: int
    frames: int


class Condenser:
    """Gives the blocks of a track without the frames that need no encoder, and then its packets.

    left_out: where frames are missing whose packets are not yet put in again, in order.
    """

    def __init__(self, channels: int, frame: int) -> None:
        self.left_out: deque[LeftOut] = deque()
        self._restored = 0
        self._put_in = 0
        self._last = b""
        self._frame = frame
        self._all = channels > 1
        self._held: Signal = np.zeros((0, channels), dtype=np.float32)
        # Of the frames before those held as well, as far as these are near them.
        self._heard = np.ones(MARGIN_FRAMES, dtype=np.bool_)
        self._kept = 0

    def add(self, block: Signal) -> Signal:
        """Take the next samples; return those to encode that are known to be."""
        if self._all:
            return block
        self._held = np.concatenate([self._held, block])
        seen = len(self._heard) - MARGIN_FRAMES
        frames = self._framed(seen, len(self._held) // self._frame)
        self._heard = np.concatenate([self._heard, frames.any(axis=1)])
        return self._decided(len(self._heard) - 2 * MARGIN_FRAMES)

    def rest(self) -> Signal:
        """Return what is left to encode: all that was held, up to the end of the track."""
        return self._held

    def restored(self, packets: Iterable[Packet]) -> Iterator[Packet]:
        """Give the encoder's next packets, those that were left out among them, at their times."""
        for packet in packets:
            if self.left_out and self.left_out[0].at == self._restored:
                for _ in range(self.left_out.popleft().frames):
                    yield self._at_its_time(_copy(self._last, packet))
                    self._put_in += 1
            self._last = bytes(packet)
            self._restored += 1
            yield self._at_its_time(packet)

    def _at_its_time(self, packet: Packet) -> Packet:
        """Return a packet, as much later as there are packets put in before it."""
        assert packet.pts is not None, "every packet of an encoder has its time"
        packet.pts = packet.dts = packet.pts + self._put_in * self._frame
        return packet

    def _framed(self, first: int, stop: int) -> Signal:
        """Return some of the held frames, a row for each."""
        return self._held[first * self._frame : stop * self._frame].reshape(-1, self._frame)

    def _decided(self, count: int) -> Signal:
        """Let go of the first frames held: those near a sound are returned."""
        if count <= 0:
            return self._held[:0]
        near = np.convolve(self._heard, np.ones(2 * MARGIN_FRAMES + 1), mode="valid") > 0
        self._note(near)
        kept = self._framed(0, count)[near].reshape(-1, 1)
        self._held = self._held[count * self._frame :]
        self._heard = self._heard[count:]
        return kept

    def _note(self, near: NDArray[np.bool_]) -> None:
        """Write down where frames are left out."""
        missing = np.flatnonzero(~near)
        before, frames = np.unique(missing - np.arange(len(missing)), return_counts=True)
        for at, count in zip(before.tolist(), frames.tolist(), strict=True):
            self._leave_out(self._kept + at, count)
        self._kept += int(near.sum())

    def _leave_out(self, at: int, frames: int) -> None:
        if self.left_out and self.left_out[-1].at == at:
            frames += self.left_out.pop().frames
        self.left_out.append(LeftOut(at, frames))


def _copy(data: bytes, like: Packet) -> Packet:
    """Return a packet with those bytes, with times and all else of another."""
    copy = cast(Packet, av.Packet(data))
    copy.pts, copy.dts = like.pts, like.dts
    copy.duration, copy.time_base = like.duration, like.time_base
    copy.is_keyframe = like.is_keyframe
    return copy
