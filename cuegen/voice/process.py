"""The parent's side of a worker process: starts it, asks it, and starts it again once.

Conventions
    One worker serves one voice. It starts with the first line asked for. A line
    is given at most two tries: a worker that dies, or falls silent for longer
    than the line's allowance, is ended and started again, and the line is sent
    once more; then the voice gives up with a VoiceError that names the line.
    What the engine itself says is wrong is not tried again.

Giving a line and taking it are two steps: the engine speaks the next lines while
the parent still works on the last. A voice that may speak several at a time does so
until its worker dies once; from then on it speaks one, so that the line is known at which
it dies again.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import threading
from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from typing import IO, BinaryIO, cast

from cuegen.children import cores, worker_environment
from cuegen.closing import Closing
from cuegen.errors import VoiceError, Where
from cuegen.script.candidate import Line
from cuegen.voice.clip import Samples
from cuegen.voice.table import VoiceChoice
from cuegen.voice.wire import READY, Reply, Request, WireError, read_reply, write_request

START_TIMEOUT_S = 60.0
LINE_TIMEOUT_S = 30.0
TIMEOUT_S_PER_CHARACTER = 0.2
_END_S = 1.0
_TRIES = 2

MOST_SIDE_BY_SIDE = 2
"""Lines spoken at a time. Finishing a clip takes the parent 0.7 of the time in which one is
spoken (measured, natural voice): two keep it busy."""

AHEAD = 8
"""Lines that are given and not yet taken, at most: enough while the parent works on one."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A line, and its text as the engine is given it."""

    line: Line
    given: str


@dataclass(frozen=True, slots=True, eq=False)
class Spoken:
    """What an engine made of a line: (n,) float32 at its own rate."""

    line: Line
    samples: Samples
    sample_rate: int


class VoiceProcess(Closing):
    """A voice in a process of its own. Use as a context manager, or call `close`."""

    def __init__(
        self,
        voice: VoiceChoice,
        *,
        start_timeout_s: float = START_TIMEOUT_S,
        line_timeout_s: float = LINE_TIMEOUT_S,
    ) -> None:
        self._voice = voice
        self._start_timeout_s = start_timeout_s
        self._line_timeout_s = line_timeout_s
        self._worker: _Worker | None = None
        self._lines = min(MOST_SIDE_BY_SIDE, cores()) if voice.spec.side_by_side else 1
        self._number = READY
        self._under_way: deque[tuple[int, Ask]] = deque()

    @property
    def pid(self) -> int | None:
        """The worker's process id, None where none runs."""
        return self._worker.pid if self._worker else None

    @property
    def untaken(self) -> int:
        """How many lines were given and not yet taken."""
        return len(self._under_way)

    def start(self) -> None:
        """Start the worker if none runs; does not wait until it is loaded. Raises VoiceError."""
        if self._worker is None:
            self._started()

    def speak_all(self, asks: Sequence[Ask]) -> Iterator[Spoken]:
        """Start to speak lines; return them in their order, as an iterator.

        Lines of an earlier call that nobody took are dropped. Raises VoiceError where the
        worker cannot be started, the iterator at the first line that fails.
        """
        self.forget()
        if asks:
            self.start()
        return self._in_turn(asks)

    def _in_turn(self, asks: Sequence[Ask]) -> Iterator[Spoken]:
        waiting = iter(asks)
        while True:
            while self.untaken < AHEAD and (ask := next(waiting, None)):
                self.give(ask)
            if not self.untaken:
                return
            yield self.take()

    def give(self, ask: Ask) -> None:
        """Send a line off to be spoken; waits for nothing. Raises VoiceError."""
        self._number += 1
        self._under_way.append((self._number, ask))
        if self._worker:
            self._worker.send(_request(self._number, ask))
        else:
            self._started()

    def take(self) -> Spoken:
        """Return the line that was given first and not yet taken. Raises VoiceError."""
        try:
            return self._spoken(self._under_way[0][1].line, self._answer())
        finally:
            self._under_way.popleft()

    def forget(self) -> None:
        """Drop what was given and not taken: whatever comes of it is passed over."""
        self._under_way.clear()

    def close(self) -> None:
        """End the worker; returns within about a second even if its engine hangs."""
        self.forget()
        self._end_worker()

    def _end_worker(self) -> None:
        worker, self._worker = self._worker, None
        if worker:
            worker.end()

    def _answer(self) -> Reply:
        """Return the reply to the first line under way; a dead worker is replaced once."""
        number, ask = self._under_way[0]
        allowance_s = self._line_timeout_s + TIMEOUT_S_PER_CHARACTER * len(ask.given)
        for _ in range(_TRIES):
            worker = self._worker or self._started()
            reply = worker.reply_to(number, allowance_s) if self._is_ready(worker) else None
            if reply is not None:
                return reply
            why = worker.last_words()
            self._end_worker()
            self._lines = 1
        raise VoiceError(
            f"the voice {self._voice.name!r} stopped twice at this line{why}",
            where=Where(text=ask.line.text),
            remedy="Word the line otherwise, or choose another voice with --voice.",
        )

    def _started(self) -> _Worker:
        """Start a worker and send it what is under way."""
        try:
            worker = self._worker = _Worker(self._voice, self._lines)
        except OSError as bad:
            raise VoiceError(
                f"the voice {self._voice.name!r} cannot be started: {bad.strerror or bad}",
                remedy="Check free space in the temporary folder, and memory.",
            ) from None
        for number, ask in self._under_way:
            worker.send(_request(number, ask))
        return worker

    def _is_ready(self, worker: _Worker) -> bool:
        """Wait until a worker's engine is loaded; False where it died over it."""
        if worker.is_loaded:
            return True
        ready = worker.reply_to(READY, self._start_timeout_s)
        if ready is None:
            return False
        if ready.error:
            self._end_worker()
            raise VoiceError(
                f"the voice {self._voice.name!r} cannot be used: {ready.error}",
                remedy=ready.remedy or "Choose another voice with --voice.",
            )
        return True

    def _spoken(self, line: Line, reply: Reply) -> Spoken:
        if reply.error:
            raise VoiceError(
                f"the voice {self._voice.name!r} could not speak this line: {reply.error}",
                where=Where(text=line.text),
                remedy=reply.remedy or "Word the line otherwise, or choose another voice.",
            )
        return Spoken(line, reply.samples, reply.sample_rate)


def _request(number: int, ask: Ask) -> Request:
    return Request(number, ask.given, ask.line.speed)


class _Worker:
    """One running worker process, its pipes and its temporary folder.

    lines: how many it speaks at a time. is_loaded: its engine has said so.
    """

    def __init__(self, voice: VoiceChoice, lines: int) -> None:
        self.is_loaded = False
        self._scratch = tempfile.TemporaryDirectory(prefix="cuegen-", ignore_cleanup_errors=True)
        self._log = cast("IO[bytes]", tempfile.TemporaryFile())  # noqa: SIM115 - closed in `end`
        self._timed_out_s: float | None = None
        settings = json.dumps(dict(voice.settings))
        # -P: a file of the same name in the coach's folder must not be imported.
        command = [sys.executable, "-P", "-m", "cuegen.voice.worker"]
        self._process = subprocess.Popen(
            [*command, voice.spec.engine, settings, self._scratch.name, str(lines)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._log,
            env=worker_environment(),
            start_new_session=True,  # Ctrl-C is for the parent, which closes the worker.
        )
        self._replies: SimpleQueue[Reply | None] = SimpleQueue()
        self._listener = threading.Thread(target=self._listen, daemon=True)
        self._listener.start()

    @property
    def pid(self) -> int:
        return self._process.pid

    def send(self, request: Request) -> None:
        """Send a request; that the worker is gone shows when its reply is waited for."""
        with suppress(OSError):
            write_request(cast(BinaryIO, self._process.stdin), request)

    def reply_to(self, number: int, timeout_s: float) -> Reply | None:
        """Return the reply of that number; None where the worker died or took too long."""
        try:
            while (reply := self._replies.get(timeout=timeout_s)) is not None:
                # Replies that nobody waited for any more are passed over.
                if reply.number == number:
                    return reply
        except Empty:
            self._timed_out_s = timeout_s
        return None

    def last_words(self) -> str:
        """Return what is known of the worker's end, for an error message."""
        if self._timed_out_s is not None:
            return f": no answer within {self._timed_out_s:.0f} s"
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(_END_S)
        self._log.seek(0)
        lines = self._log.read().decode(errors="replace").split("\n")
        said = [line.strip() for line in lines if line.strip()]
        return f" (exit code {self._process.poll()}{': ' + said[-1][:200] if said else ''})"

    def end(self) -> None:
        """Close the pipe, upon which the process leaves; kill it if it has not within a second."""
        with suppress(OSError):
            cast(BinaryIO, self._process.stdin).close()
        try:
            if self._timed_out_s is None:
                self._process.wait(_END_S)
        except subprocess.TimeoutExpired:
            pass
        finally:
            self._process.kill()
            self._process.wait()
            self._listener.join(_END_S)
            self._log.close()
            self._scratch.cleanup()

    def _listen(self) -> None:
        replies = cast(BinaryIO, self._process.stdout)
        with replies, suppress(WireError):
            while (reply := read_reply(replies)) is not None:
                self.is_loaded |= reply.number == READY and not reply.error
                self._replies.put(reply)
        self._replies.put(None)
