"""Audio files of any kind as 48 kHz samples, a block at a time.

Conventions
    Samples are float32, shape (n, channels), one or two channels: what has more
    is mixed down to two. The delay that an encoder wrote into its file is taken
    away again, so a sound lies where it lay before it was encoded. Blocks are
    about a second long; memory does not grow with the file.

Decoding is FFmpeg's, by PyAV, which brings it in its wheel.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError, Where

_BLOCK = SAMPLE_RATE


@dataclass(frozen=True, slots=True)
class AudioSource:
    """A file that holds sound. `sample_rate` is that of the blocks, `file_rate` the file's own.

    `replace(source, sample_rate=...)` gives the same file at another rate.
    """

    path: Path
    channels: int
    file_rate: int
    sample_rate: int = SAMPLE_RATE

    def blocks(self) -> Iterator[Signal]:
        """Give the sound from the start, (n, channels); raises AudioError on damage."""
        empty = True
        gathered: list[Signal] = []
        length = 0
        for part in self._parts():
            gathered.append(part)
            length += len(part)
            if length >= _BLOCK:
                yield self._checked(gathered)
                empty, gathered, length = False, [], 0
        if length:
            yield self._checked(gathered)
        elif empty:
            raise _no_sound(self.path)

    def _parts(self) -> Iterator[Signal]:
        layout = "mono" if self.channels == 1 else "stereo"
        with _opened(self.path) as container:
            resampler = av.AudioResampler(format="flt", layout=layout, rate=self.sample_rate)
            # What is as wanted already skips the resampler, and is gathered before NumPy
            # sees it: a third of the decoding time each.
            as_is, queue = True, av.AudioFifo()
            for frame in container.decode(audio=0):
                as_is = as_is and self._is_as_wanted(frame)
                frame.pts = None
                if as_is:
                    queue.write(frame)
                if queue.samples >= _BLOCK or not as_is:
                    yield from _planes(queue)
                if not as_is:
                    for changed in resampler.resample(frame):
                        yield self._columns(changed)
            yield from _planes(queue)
            for changed in resampler.resample(None):
                yield self._columns(changed)

    def _checked(self, gathered: list[Signal]) -> Signal:
        """Return the samples as one block; a file of floats may hold what is no number."""
        block = np.concatenate(gathered)
        if not np.isfinite(block).all():
            raise AudioError(
                "this file holds samples that are no numbers",
                where=Where(file=str(self.path)),
                remedy="Export it again, as 16 or 24 bits.",
            )
        return block

    def _is_as_wanted(self, frame: av.AudioFrame) -> bool:
        return (
            frame.format.name == "fltp"
            and frame.sample_rate == self.sample_rate
            and frame.layout.nb_channels == self.channels
        )

    def _columns(self, frame: av.AudioFrame) -> Signal:
        return np.asarray(frame.to_ndarray(), dtype=np.float32).reshape(-1, self.channels)


def _planes(queue: av.AudioFifo) -> Iterator[Signal]:
    """Give all that a queue of frames holds as one block, nothing where it is empty."""
    frame = queue.read() if queue.samples else None
    if frame is not None:
        yield np.asarray(frame.to_ndarray(), dtype=np.float32).T


def open_audio(path: Path) -> AudioSource:
    """Look into an audio file; raises AudioError where it is missing or holds no sound."""
    with _opened(path) as container:
        stream = container.streams.audio[0]
        channels = stream.codec_context.channels
        rate = stream.codec_context.sample_rate
    if channels < 1 or rate < 1:
        raise _no_sound(path)
    return AudioSource(path, min(channels, 2), rate)


def read_audio(path: Path) -> Signal:
    """Return a whole audio file, (n, channels) at 48 kHz; for short ones."""
    return np.concatenate(list(open_audio(path).blocks()))


@contextmanager
def _opened(path: Path) -> Iterator[av.container.InputContainer]:
    """Open a file that has an audio stream; whatever goes wrong meanwhile is an AudioError."""
    where = Where(file=str(path))
    try:
        _check_file(path)
        # "file:" since a colon in a name would read as a protocol; a list file may open no other.
        options = {"protocol_whitelist": "file"}
        with av.open(f"file:{path}", mode="r", options=options) as container:
            if not container.streams.audio:
                raise _no_sound(path)
            yield container
    except av.FFmpegError as bad:
        if isinstance(bad, PermissionError):
            raise AudioError(f"cannot be read: {bad.strerror}", where=where) from None
        raise AudioError(
            "this is no audio file, or it is damaged",
            where=where,
            remedy="Play it elsewhere to be sure; export it again as wav, mp3 or m4a.",
        ) from bad
    except OSError as bad:
        raise AudioError(f"cannot be read: {bad.strerror or bad}", where=where) from None


def _check_file(path: Path) -> None:
    where = Where(file=str(path))
    if not path.exists():
        raise AudioError("there is no such audio file", where=where, remedy="Check the name.")
    if path.is_dir():
        raise AudioError(
            "this is a folder, not an audio file", where=where, remedy="Name a file in it."
        )
    if path.is_file() and path.stat().st_size == 0:
        raise AudioError("this audio file is empty", where=where, remedy="Export it again.")


def _no_sound(path: Path) -> AudioError:
    return AudioError(
        "there is no sound in this file",
        where=Where(file=str(path)),
        remedy="Name an audio file (wav, flac, mp3, m4a, opus...).",
    )
