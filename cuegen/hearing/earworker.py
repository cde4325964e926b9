"""The process in which one aligner hears lines: python -m cuegen.hearing.earworker.

Pickled jobs (cuegen.hearing.ears.Job) come in on standard input, pickled Hearings go
out on standard output; both ends are this package. The process ends when its parent
closes the pipe, however the parent ended. Ctrl-C is for the parent; it is
ignored here.
"""

from __future__ import annotations

import os
import pickle
import signal
from contextlib import suppress
from typing import BinaryIO

from cuegen.hearing.words import Aligner


def main() -> None:
    """Hear lines until the parent closes its pipe."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    jobs, answers = _private_streams()
    aligner = Aligner()
    with suppress(EOFError, BrokenPipeError):
        while True:
            said, pcm, one_of_many = pickle.load(jobs)
            heard = aligner.pick(said, pcm) if one_of_many else aligner.hear(said, pcm)
            pickle.dump(heard, answers)
            answers.flush()


def _private_streams() -> tuple[BinaryIO, BinaryIO]:
    """Move the two pipes away, so that nothing printed by a library is taken for an answer."""
    jobs, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    os.dup2(2, 1)
    return jobs, answers


if __name__ == "__main__":
    main()
