"""One voice in several processes, so that many lines are spoken on more than one core.

Conventions
    Lines are yielded in the order in which they were asked for, whoever spoke them;
    each goes to the process that has the fewest before it. A process more is started
    only where the voice's row of the table says that so many lines are worth one, and
    is given lines once it is loaded: until then, and if it never is, the first
    process speaks them. What is spoken ahead of its turn is bounded.

Each process is single-threaded and has its own pipes (cuegen.voice.process); no thread
is added here. While the caller works on a line, all processes speak those that follow.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import suppress

from cuegen.closing import Closing
from cuegen.errors import VoiceError
from cuegen.voice.process import Ask, Spoken, VoiceProcess
from cuegen.voice.table import VoiceChoice

MOST = 2
"""Processes of one voice. Finishing a clip takes the caller 0.7 of the time in which a process
speaks a line (measured, natural voice): two keep it busy, a third would wait for it, and each
holds 230 MB."""

AHEAD = 4
"""Lines a process has to speak at a time: enough while the caller works on one."""

UNTAKEN = 8
"""Lines a process was given and the caller has not taken yet, at most."""


class Crew(Closing):
    """The processes of one voice. Use as a context manager, or call `close`.

    most: how many processes there may be at most; by default MOST, or fewer cores.
    """

    def __init__(self, voice: VoiceChoice, *, most: int | None = None) -> None:
        self._lines_per_process = voice.spec.lines_per_process
        most = min(MOST, _cores()) if most is None else most
        size = most if self._lines_per_process else 1
        self._processes = [VoiceProcess(voice) for _ in range(size)]

    @property
    def pids(self) -> list[int]:
        """The process ids of the workers that run."""
        return [process.pid for process in self._processes if process.pid is not None]

    def load(self) -> None:
        """Start all processes, whose engines then load; what fails is told by the first line."""
        for process in self._processes:
            with suppress(VoiceError):
                process.start()

    def speak_all(self, asks: Sequence[Ask]) -> Iterator[Spoken]:
        """Start to speak lines; return them in their order, as an iterator.

        Lines of an earlier call that nobody took are dropped. Raises VoiceError where the
        voice cannot be started, the iterator at the first line that fails.
        """
        if not asks:
            return iter(())
        shared = self._processes[: self._worth(len(asks))]
        self._set_out(shared)
        return self._in_turn(shared, asks)

    def _in_turn(self, shared: Sequence[VoiceProcess], asks: Sequence[Ask]) -> Iterator[Spoken]:
        waiting, order = iter(asks), deque[VoiceProcess]()
        while True:
            while (free := _freest(shared)) and (ask := next(waiting, None)):
                free.give(ask)
                order.append(free)
            if not order:
                return
            yield order.popleft().take()

    def close(self) -> None:
        """End the workers; returns within about a second even if their engines hang."""
        for process in self._processes:
            process.dismiss()
        for process in self._processes:
            process.close()

    def _worth(self, lines: int) -> int:
        """Return how many processes so many lines are worth."""
        return max(1, lines // self._lines_per_process) if self._lines_per_process else 1

    def _set_out(self, shared: Sequence[VoiceProcess]) -> None:
        """Start the processes at once; only the first must come up. Raises VoiceError."""
        for process in self._processes:
            process.forget()
        shared[0].start()
        for other in shared[1:]:
            with suppress(VoiceError):
                other.start()


def _freest(shared: Sequence[VoiceProcess]) -> VoiceProcess | None:
    """Return the process that has the fewest lines to speak, None where all have enough."""
    loaded = (one for one in shared if one is shared[0] or one.is_loaded)
    free = [one for one in loaded if one.unspoken < AHEAD and one.untaken < UNTAKEN]
    return min(free, key=lambda one: one.unspoken, default=None)


def _cores() -> int:
    """Return how many cores this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1
