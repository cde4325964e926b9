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
_PLANES = "fltp"
"""FFmpeg's name of floats, one channel after the other."""


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
        with _opened(self.path) as container:
            # Frames are gathered before NumPy sees them: a third of the decoding time.
            queue = av.AudioFifo()
            for frame in self._frames(container):
                queue.write(frame)
                if queue.samples >= _BLOCK:
                    yield self._taken(queue)
                    empty = False
            if queue.samples:
                yield self._taken(queue)
            elif empty:
                raise _no_sound(self.path)

    def _frames(self, container: av.container.InputContainer) -> Iterator[av.AudioFrame]:
        """Give the file's frames at our rate, as planes of floats, without an instant."""
        resampler = av.AudioResampler(format=_PLANES, layout=self._layout, rate=self.sample_rate)
        as_is = True
        for frame in container.decode(audio=0):
            # What is as wanted already skips the resampler: another third of the time.
            as_is = as_is and self._is_as_wanted(frame)
            frame.pts = None
            for changed in (frame,) if as_is else resampler.resample(frame):
                changed.pts = None
                yield changed
        for changed in resampler.resample(None):
            changed.pts = None
            yield changed

    def _taken(self, queue: av.AudioFifo) -> Signal:
        """Return all that is gathered as one block; a file of floats may hold what is no number."""
        frame = queue.read()
        assert frame is not None, "what is asked for is there"
        block = np.asarray(frame.to_ndarray(), dtype=np.float32).T
        if not np.isfinite(block).all():
            raise AudioError(
                "this file holds samples that are no numbers",
                where=Where(file=str(self.path)),
                remedy="Export it again, as 16 or 24 bits.",
            )
        return block

    @property
    def _layout(self) -> str:
        return "mono" if self.channels == 1 else "stereo"

    def _is_as_wanted(self, frame: av.AudioFrame) -> bool:
        return (
            frame.format.name == _PLANES
            and frame.sample_rate == self.sample_rate
            and frame.layout.name == self._layout
        )


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
