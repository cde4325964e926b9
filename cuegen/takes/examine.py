"""Takes examined: files read, words heard, clips finished. Here files are opened.

Conventions
    An examiner holds the aligners, started with the first take that needs one and ended
    with the block. Several takes are heard while the next is being repaired. Where the
    language is not English, or a line is written so that its reading cannot be told, words are
    not heard: then the file's name alone says which line it is.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Future
from dataclasses import dataclass
from pathlib import Path

from cuegen.closing import Closing
from cuegen.errors import AudioError
from cuegen.hearing.ears import Ears, EarsLostError, ears_for
from cuegen.hearing.lexicon import tokens
from cuegen.hearing.words import Hearing
from cuegen.takes.faults import FaultKind, Measures, TakeFault
from cuegen.takes.lines import TakeLine
from cuegen.takes.said import OtherLine, Said, Words, said_of, unheard
from cuegen.takes.take import Look, Take, finished, look_at, window_of
from cuegen.telling import Progress
from cuegen.voice.recorded import bring_in

ANSWER_S = 120.0
_UNDER_WAY = 4


Job = tuple[str, Path]
"""A line's words and the file of its take."""


@dataclass(frozen=True, slots=True, eq=False)
class _Started:
    """A take whose words are being heard. look None: the file could not be read."""

    job: Job
    look: Look | None
    pcm: bytes
    own: Words | None
    asked: Future[Hearing] | None
    fault: TakeFault | None = None


class Examiner(Closing):
    """Examines takes of the lines of a sheet; `lines` are what a take might say instead."""

    def __init__(self, lines: Sequence[TakeLine], language: str = "en") -> None:
        self._english = language.partition("-")[0] == "en"
        self._others = tuple(_others(lines)) if self._english else ()
        self._ears: Ears | None = None

    def close(self) -> None:
        if self._ears is not None:
            self._ears.close()

    def examine(self, jobs: Iterable[Job], on_progress: Progress | None = None) -> Iterator[Take]:
        """Yield the take of each job, in order. What is wrong with one is in it, never raised."""
        todo = list(jobs)
        waiting: deque[_Started] = deque()
        done = 0
        for job in todo:
            waiting.append(self._start(job))
            if len(waiting) > _UNDER_WAY:
                yield self._settled(waiting.popleft())
                done += 1
            if on_progress:
                on_progress(done, len(todo))
        for started in waiting:
            yield self._settled(started)

    def ears(self) -> Ears:
        """Return the aligners, started now if need be."""
        if self._ears is None:
            self._ears = Ears(ears_for(2 * len(self._others))).__enter__()
        return self._ears

    def pick(self, pcm: bytes) -> Future[Hearing]:
        """Ask which of all lines is said."""
        return self.ears().pick(tuple(other.words for other in self._others), pcm)

    def _start(self, job: Job) -> _Started:
        text, path = job
        try:
            look = look_at(bring_in(path))
        except AudioError as bad:
            fault = TakeFault(FaultKind.UNREADABLE, bad.problem, bad.remedy)
            return _Started(job, None, b"", None, None, fault)
        if look.is_empty:
            return _Started(job, look, b"", None, None)
        own = tokens(text) if self._english else None
        pcm = window_of(look)
        return _Started(job, look, pcm, own, self.ears().hear(own, pcm) if own else None)

    def _settled(self, started: _Started) -> Take:
        text = started.job[0]
        look = started.look
        if look is None:
            assert started.fault is not None
            return Take(text, None, Measures(float("-inf"), 0), (started.fault,))
        if look.is_empty:
            return Take(text, None, look.measures, look.faults)
        return finished(look, text, self._said(started))

    def _said(self, started: _Started) -> Said:
        if not self._english:
            return unheard("they are not English")
        if started.asked is None or started.own is None:
            return unheard("the line is written so that its reading cannot be told")
        try:
            heard = started.asked.result(ANSWER_S)
            pick = self.pick
            return said_of(
                started.own, heard, self._others, lambda: pick(started.pcm).result(ANSWER_S)
            )
        except (EarsLostError, TimeoutError):
            return unheard("the aligner stopped at it")


def _others(lines: Sequence[TakeLine]) -> Iterator[OtherLine]:
    for line in lines:
        words = tokens(line.text)
        if words:
            yield OtherLine(words, f"line {line.number}, {line.text!r}")
