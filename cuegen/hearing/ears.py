"""Aligners in processes of their own, so that words are heard while the file is still read.

Conventions
    Each ear is one process and one thread of ours that talks to it. Lines wait in
    a short queue, so memory does not grow with the track. A process that dies is
    started again once for the line it died on; a second time, that line's answer
    is an EarsLostError. Used as a context manager: no process outlives the block.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
import threading
from concurrent.futures import Future
from contextlib import suppress
from queue import Full, Queue
from typing import BinaryIO, Self, cast

from cuegen.children import cores, worker_environment
from cuegen.closing import Closing
from cuegen.hearing.words import Hearing

WORKER = "cuegen.hearing.earworker"
_WAITING = 12
_TRIES = 2
_END_S = 1.0
_LINES_WORTH_ANOTHER_EAR = 20


Words = tuple[str, ...]
Job = tuple[Words | tuple[Words, ...], bytes, bool]
"""What may be said, the sound, and whether it is one of many lines."""


class EarsLostError(Exception):
    """The aligner died twice at one line."""


def ears_for(lines: int) -> int:
    """Return how many ears a track of so many lines is worth; starting one costs half a second."""
    return max(1, min(2, cores(), lines // _LINES_WORTH_ANOTHER_EAR))


class Ears(Closing):
    """Some aligners that share the work."""

    def __init__(self, count: int) -> None:
        self._jobs: Queue[tuple[Job, Future[Hearing]] | None] = Queue(_WAITING)
        self._closed = False
        self._ears = [_Ear() for _ in range(count)]
        self._threads = [
            threading.Thread(target=self._serve, args=(ear,), daemon=True) for ear in self._ears
        ]

    def __enter__(self) -> Self:
        for ear in self._ears:
            ear.start()
        for thread in self._threads:
            thread.start()
        return self

    def close(self) -> None:
        """End every process at once, whatever they are at."""
        self._closed = True
        for ear in self._ears:
            ear.end(for_good=True)
        with suppress(Full):
            for _ in self._threads:
                self._jobs.put_nowait(None)
        for thread in self._threads:
            thread.join(_END_S)

    def pids(self) -> list[int | None]:
        """Return the process of each ear, None where none runs."""
        return [ear.pid for ear in self._ears]

    def hear(self, words: Words, pcm: bytes) -> Future[Hearing]:
        """Take a line to be heard (cuegen.hearing.words.Aligner.hear); waits while many do."""
        return self._ask((words, pcm, False))

    def pick(self, lines: tuple[Words, ...], pcm: bytes) -> Future[Hearing]:
        """Take a sound that is one of many lines (cuegen.hearing.words.Aligner.pick)."""
        return self._ask((lines, pcm, True))

    def _ask(self, job: Job) -> Future[Hearing]:
        answer: Future[Hearing] = Future()
        self._jobs.put((job, answer))
        return answer

    def _serve(self, ear: _Ear) -> None:
        while not self._closed and (task := self._jobs.get()) is not None:
            job, answer = task
            for _ in range(_TRIES):
                if self._closed:
                    return
                heard = ear.ask(job)
                if heard is not None:
                    answer.set_result(heard)
                    break
                ear.end()
                ear.start()
            else:
                answer.set_exception(EarsLostError())


class _Ear:
    """One running aligner and its pipes."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._ended = False
        self._changing = threading.Lock()

    @property
    def pid(self) -> int | None:
        return self._process.pid if self._process else None

    def start(self) -> None:
        """Start a process, unless the ear was ended for good meanwhile."""
        with self._changing:
            if not self._ended:
                self._process = self._started()

    def _started(self) -> subprocess.Popen[bytes]:
        # -P: a file of the same name in the coach's folder must not be imported.
        return subprocess.Popen(
            [sys.executable, "-P", "-m", WORKER],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=worker_environment(),
            start_new_session=True,  # Ctrl-C is for the parent, which ends the ear.
        )

    def ask(self, job: Job) -> Hearing | None:
        """Return the answer to a line, None where the process is gone."""
        process = self._process
        if process is None:
            return None
        with suppress(OSError, EOFError, ValueError, pickle.UnpicklingError):
            pickle.dump(job, cast(BinaryIO, process.stdin))
            cast(BinaryIO, process.stdin).flush()
            heard: Hearing = pickle.load(cast(BinaryIO, process.stdout))
            return heard
        return None

    def end(self, *, for_good: bool = False) -> None:
        with self._changing:
            self._ended = self._ended or for_good
            process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            with suppress(OSError, ValueError):
                cast(BinaryIO, pipe).close()
