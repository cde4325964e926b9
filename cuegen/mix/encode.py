"""Samples into a file: encoder, chapters, tags. Whole or not at all.

Conventions
    Blocks are float32 (n, channels) at 48 kHz, not above full scale. Encoding
    runs in a thread of its own, a few blocks behind, so that mixing goes on
    meanwhile; from there a format whose frames stand by themselves is encoded on
    all cores (cuegen/mix/chunks.py). What goes wrong there is raised by a later
    `write` or at the end. The same samples, tags and chapters give the same bytes.

Sources: ID3v2 chapter frame addendum (FFmpeg writes CHAP and CTOC); Vorbis
comment chapters CHAPTER001=hh:mm:ss.mmm. These comments are written here as tags,
since FFmpeg 8 rounds the seconds of an Ogg chapter at .500 and above one up.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from queue import Queue

import av

from cuegen.clock import MS_PER_S, SAMPLE_RATE, stamp_text
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError, Where
from cuegen.files import writing
from cuegen.mix.chunks import ChunkCoder
from cuegen.mix.codec import frame_of, set_up
from cuegen.mix.formats import ChapterWay, Format, find_format
from cuegen.sheet.webvtt import Chapter

_BLOCKS_AHEAD = 8


@dataclass(frozen=True, slots=True)
class Tags:
    """What a player shows of a track."""

    title: str
    artist: str = ""
    album: str = ""
    genre: str = "Speech"
    comment: str = ""

    def fields(self) -> dict[str, str]:
        """Return the tags that say something, by FFmpeg's names."""
        named = {
            "title": self.title,
            "artist": self.artist,
            "album": self.album,
            "genre": self.genre,
            "comment": self.comment,
        }
        return {name: text for name, text in named.items() if text}


class _StreamCoder:
    """Gives the packets of a track from the one encoder of its container."""

    def __init__(self, stream: av.AudioStream, form: Format, channels: int) -> None:
        self._stream = stream
        self._form = form
        self._channels = channels
        self._written = 0

    def encode(self, block: Signal) -> Iterable[av.Packet[av.AudioStream]]:
        frame = frame_of(block, self._form, self._channels, self._written)
        self._written += len(block)
        return self._stream.encode(frame)

    def finish(self) -> Iterable[av.Packet[av.AudioStream]]:
        return self._stream.encode(None)

    def abandon(self) -> None:
        return


class Encoder:
    """Takes blocks while its `encoding` block is open."""

    def __init__(self, path: Path, form: Format, channels: int, tags: dict[str, str]) -> None:
        options = {"fflags": "+bitexact", **form.container_options}
        self._container = av.open(f"file:{path}", mode="w", format=form.container, options=options)
        stream = self._container.add_stream(form.codec, rate=SAMPLE_RATE)
        assert isinstance(stream, av.AudioStream), "every codec of the table is an audio codec"
        set_up(stream.codec_context, form, channels)
        self._stream = stream
        self._container.metadata.update(tags)
        self._coder = (
            ChunkCoder(form, channels)
            if form.frame_samples
            else _StreamCoder(stream, form, channels)
        )

    def set_chapters(self, chapters: Sequence[Chapter]) -> None:
        """Give the container its chapters; before the first block."""
        self._container.set_chapters(
            [
                {
                    "id": number,
                    "start": chapter.start_ms,
                    "end": chapter.end_ms,
                    "time_base": Fraction(1, MS_PER_S),
                    "metadata": {"title": chapter.title},
                }
                for number, chapter in enumerate(chapters)
            ]
        )

    def encode(self, block: Signal) -> None:
        """Encode the next samples."""
        self._mux(self._coder.encode(block))

    def finish(self) -> None:
        """Write what the encoder still holds and close the file."""
        self._mux(self._coder.finish())
        self._container.close()

    def abandon(self) -> None:
        """End what is under way and close the file as it is; it is about to be removed."""
        self._coder.abandon()
        try:
            self._container.close()
        except (av.FFmpegError, OSError, ValueError):
            return

    def _mux(self, packets: Iterable[av.Packet[av.AudioStream]]) -> None:
        for packet in packets:
            packet.stream = self._stream
            self._container.mux_one(packet)


class _Behind:
    """Runs an encoder in a thread, a few blocks behind."""

    def __init__(self, encoder: Encoder) -> None:
        self._encoder = encoder
        self._queue: Queue[Signal | None] = Queue(_BLOCKS_AHEAD)
        self._failure: BaseException | None = None
        self._stopped = False
        self._thread = threading.Thread(target=self._run, name="encoder", daemon=True)
        self._thread.start()

    def write(self, block: Signal) -> None:
        """Hand over the next samples; raises what went wrong with earlier ones."""
        if self._failure is not None:
            raise self._failure
        if len(block):
            self._queue.put(block)

    def end(self, *, keep: bool) -> None:
        """Wait for the thread; with keep=False what is still waiting is dropped."""
        self._stopped = self._stopped or not keep
        self._queue.put(None)
        self._thread.join()
        if keep and self._failure is not None:
            raise self._failure

    def _run(self) -> None:
        while (block := self._queue.get()) is not None:
            if self._stopped or self._failure is not None:
                continue
            try:
                self._encoder.encode(block)
            except BaseException as bad:  # raised again in the thread that writes
                self._failure = bad


@contextmanager
def encoding(
    out: Path,
    channels: int,
    tags: Tags,
    chapters: Sequence[Chapter],
    *,
    proof: Callable[[Path], None] | None = None,
) -> Iterator[_Behind]:
    """Open a track for writing; its `write` takes blocks. On any error nothing is left behind.

    proof: shown the finished file before it takes its name; what it raises undoes it.
    Raises OutputError for an unknown suffix and where the place cannot be written,
    AudioError where the encoder refuses.
    """
    form = find_format(out)
    with _own_errors(out), writing(out) as part:
        encoder = _opened(part, form, channels, tags, chapters)
        behind = _Behind(encoder)
        try:
            yield behind
            behind.end(keep=True)
            encoder.finish()
        except BaseException:
            behind.end(keep=False)
            encoder.abandon()
            raise
        if proof is not None:
            proof(part)


def _opened(
    part: Path, form: Format, channels: int, tags: Tags, chapters: Sequence[Chapter]
) -> Encoder:
    fields = tags.fields()
    held = _fitted(chapters, form.chapter_limit)
    if form.chapters is ChapterWay.COMMENTS:
        fields |= _chapter_comments(held)
    encoder = Encoder(part, form, channels, fields)
    if form.chapters is ChapterWay.CONTAINER:
        encoder.set_chapters(held)
    return encoder


def _fitted(chapters: Sequence[Chapter], limit: int) -> Sequence[Chapter]:
    """Return the chapters, those past the limit joined to the last one that fits."""
    if len(chapters) <= limit:
        return chapters
    last = chapters[limit - 1]
    return [*chapters[: limit - 1], Chapter(last.start_ms, chapters[-1].end_ms, last.title)]


def _chapter_comments(chapters: Sequence[Chapter]) -> dict[str, str]:
    comments = {}
    for number, chapter in enumerate(chapters, 1):
        comments[f"CHAPTER{number:03d}"] = stamp_text(chapter.start_ms)
        comments[f"CHAPTER{number:03d}NAME"] = chapter.title
    return comments


@contextmanager
def _own_errors(out: Path) -> Iterator[None]:
    """Turn what FFmpeg raises into errors of ours; `writing` does so for the system's."""
    try:
        yield
    except av.FFmpegError as bad:
        raise AudioError(
            f"the encoder refused: {bad.strerror}",
            where=Where(file=str(out)),
            remedy="Try another format, such as .wav.",
        ) from bad
