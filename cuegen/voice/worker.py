"""The process in which one engine speaks.

    python -m cuegen.voice.worker ENGINE SETTINGS SCRATCH LINES

Engines print, crash, hold global state and cannot share a process with each
other, so each has one of its own. Frames (cuegen.voice.wire) come in on what was
standard input and go out on what was standard output; both are moved aside
before the engine is loaded, whose own prints then go to standard error. So many LINES
are spoken at a time, and answered in the order in which they came.

The process ends when its parent closes the pipe, however the parent ended: a
thread listens all the time, also while a line is being spoken. Ctrl-C reaches
the parent, which decides; it is ignored here.
"""

from __future__ import annotations

import importlib
import json
import os
import shutil
import signal
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import BinaryIO, Protocol

import numpy as np

from cuegen.errors import CuegenError
from cuegen.voice.clip import Samples
from cuegen.voice.wire import (
    READY,
    Reply,
    Request,
    WireError,
    read_request,
    silent,
    write_reply,
)

_GRACE_S = 0.5
"""How long a line that is being spoken may hold up the end of the process."""

_Inbox = SimpleQueue[Request | None]


class Engine(Protocol):
    """What speaks in a worker. Made with its settings and a folder for its files."""

    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        """Return mono samples, full scale 1.0, and their rate. Errors are CuegenErrors."""
        ...


def main(engine_name: str, settings: str, scratch: str, lines: str) -> None:
    """Speak until the parent closes its pipe."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    requests, replies = _private_streams()
    inbox: _Inbox = SimpleQueue()
    threading.Thread(target=_listen, args=(requests, inbox, Path(scratch)), daemon=True).start()
    try:
        load = partial(_load, engine_name, json.loads(settings), Path(scratch))
        _serve(load, inbox, replies, int(lines))
    except BrokenPipeError:
        pass  # The parent is gone; nobody is left to be told.
    finally:
        shutil.rmtree(scratch, ignore_errors=True)
    # Nothing is left to be put in order; the parent waits for the end.
    os._exit(0)


def _private_streams() -> tuple[BinaryIO, BinaryIO]:
    """Move the two pipes to numbers that no engine knows of."""
    requests = os.fdopen(os.dup(0), "rb")
    replies = os.fdopen(os.dup(1), "wb")
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    os.dup2(2, 1)
    return requests, replies


def _listen(requests: BinaryIO, inbox: _Inbox, scratch: Path) -> None:
    try:
        while (request := read_request(requests)) is not None:
            inbox.put(request)
    except WireError:
        pass
    inbox.put(None)
    time.sleep(_GRACE_S)
    shutil.rmtree(scratch, ignore_errors=True)
    os._exit(0)


def _serve(load: Callable[[], Engine], inbox: _Inbox, replies: BinaryIO, lines: int) -> None:
    try:
        engine = load()
    except Exception as bad:  # Whatever an engine raises, the parent is told in words.
        write_reply(replies, _failure(READY, bad))
        return
    write_reply(replies, silent(READY))
    for reply in _in_turn(engine, inbox) if lines == 1 else _side_by_side(engine, inbox, lines):
        write_reply(replies, reply)


def _in_turn(engine: Engine, inbox: _Inbox) -> Iterator[Reply]:
    """Yield the answers as they are made, on the main thread: some engines know no other."""
    while (request := inbox.get()) is not None:
        yield _answer(engine, request)


def _side_by_side(engine: Engine, inbox: _Inbox, lines: int) -> Iterator[Reply]:
    """Yield the answers in the order of what was asked, so many made at a time."""
    with ThreadPoolExecutor(lines) as pool:
        ahead: deque[Future[Reply]] = deque()
        while True:
            try:
                request = inbox.get(block=not ahead)
            except Empty:
                yield ahead.popleft().result()
                continue
            if request is None:
                break
            ahead.append(pool.submit(_answer, engine, request))
        while ahead:
            yield ahead.popleft().result()


def _load(engine_name: str, settings: Mapping[str, str], scratch: Path) -> Engine:
    module, _, name = engine_name.partition(":")
    engine: Engine = getattr(importlib.import_module(module), name)(settings, scratch)
    return engine


def _answer(engine: Engine, request: Request) -> Reply:
    try:
        samples, rate = engine.speak(request.text, request.speed)
    except Exception as bad:  # As above; the engine may well speak the next line.
        return _failure(request.number, bad)
    return Reply(request.number, np.asarray(samples, dtype=np.float32), rate)


def _failure(number: int, bad: Exception) -> Reply:
    if isinstance(bad, CuegenError):
        where = str(bad.where)
        return silent(number, f"{where}: {bad.problem}" if where else bad.problem, bad.remedy)
    return silent(number, f"{type(bad).__name__}: {bad}")


if __name__ == "__main__":
    main(*sys.argv[1:5])
