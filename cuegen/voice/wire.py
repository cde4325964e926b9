"""What a worker process and its parent say to each other: frames over two pipes.

Conventions
    Little-endian; every frame starts with MAGIC, so that a stray print is noticed
    and not taken for speech. A request is a number, a speed and UTF-8 text; a
    reply bears the number of its request. The first reply, number 0, says that
    the engine is loaded. A reply with a text in `error` has no samples.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np

from cuegen.voice.clip import Samples

MAGIC = b"CUEV"
READY = 0

_REQUEST = struct.Struct("<4sIdI")
_REPLY = struct.Struct("<4sIIII")


class WireError(Exception):
    """The other side said something that is no frame, or stopped in the middle of one."""


@dataclass(frozen=True, slots=True)
class Request:
    number: int
    text: str
    speed: float


@dataclass(frozen=True, slots=True, eq=False)
class Reply:
    """samples: (n,) float32 at sample_rate. error and remedy: why there are none."""

    number: int
    samples: Samples
    sample_rate: int
    error: str = ""
    remedy: str = ""


def write_request(stream: BinaryIO, request: Request) -> None:
    text = request.text.encode()
    stream.write(_REQUEST.pack(MAGIC, request.number, request.speed, len(text)) + text)
    stream.flush()


def read_request(stream: BinaryIO) -> Request | None:
    """Return the next request, None where the parent has closed its pipe."""
    head = _read(stream, _REQUEST.size)
    if head is None:
        return None
    magic, number, speed, length = _REQUEST.unpack(head)
    _check(magic)
    return Request(number, _rest(stream, length).decode(), speed)


def write_reply(stream: BinaryIO, reply: Reply) -> None:
    words = f"{reply.error}\0{reply.remedy}".encode() if reply.error else b""
    samples = np.ascontiguousarray(reply.samples, dtype="<f4")
    head = _REPLY.pack(MAGIC, reply.number, reply.sample_rate, len(words), len(samples))
    stream.write(head + words)
    stream.write(samples.tobytes())
    stream.flush()


def read_reply(stream: BinaryIO) -> Reply | None:
    """Return the next reply, None where the worker is gone."""
    head = _read(stream, _REPLY.size)
    if head is None:
        return None
    magic, number, rate, words, count = _REPLY.unpack(head)
    _check(magic)
    error, _, remedy = _rest(stream, words).decode().partition("\0")
    samples = np.frombuffer(_rest(stream, 4 * count), dtype="<f4").astype(np.float32)
    return Reply(number, samples, rate, error, remedy)


def silent(number: int, error: str = "", remedy: str = "") -> Reply:
    """Return a reply without samples."""
    return Reply(number, np.zeros(0, dtype=np.float32), 0, error, remedy)


def _read(stream: BinaryIO, size: int) -> bytes | None:
    """Return `size` bytes, None at the end of the stream, where fewer are left."""
    data = stream.read(size)
    return data if len(data) == size else None


def _rest(stream: BinaryIO, size: int) -> bytes:
    data = _read(stream, size) if size else b""
    if data is None:
        raise WireError("a frame broke off")
    return data


def _check(magic: bytes) -> None:
    if magic != MAGIC:
        raise WireError(f"{magic!r} is no start of a frame")
