"""How long placement takes, beside an exact solver on the same problem.

    python -m tests.bench.measure placement VOICE MINUTES

Conventions
    Seconds of this process's own work, not by the clock on the wall, so that a busy
    machine counts for less. Lines are as long as the fake voice's, known beforehand:
    no voice is asked, whichever is named. `place` seeks the optimum up to three times,
    until all talk is shared out; the solver is given the last of these problems alone,
    cut where nothing ties its parts (tests/schedule/exact.py).

Source of the comparison: OR-tools CP-SAT with a single worker.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from statistics import median
from typing import TypeVar
from unittest.mock import patch

from cuegen.schedule import place as placing
from cuegen.schedule.optimum import optimum
from cuegen.schedule.problem import Problem
from cuegen.schedule.rules import Frame, frame_of
from cuegen.script.candidate import Candidate
from cuegen.script.candidates import build_candidates
from cuegen.script.phrasebook import find_book
from cuegen.targets.resolve import outline
from tests.bench.sessions import session_of
from tests.schedule.exact import greatest_worth, independent
from tests.voice.fake import fake_length_ms

ROUNDS = 5

T = TypeVar("T")
length_ms = lru_cache(maxsize=None)(fake_length_ms)


def placement(voice: str, minutes: int, folder: Path) -> dict[str, float]:
    """Place a session's cues and have the same problem solved by CP-SAT."""
    candidates, frame = script_of(minutes, voice)
    problem, searches, placed = problem_and_placement(candidates, frame)
    rounds = [worked(lambda: placing.place(candidates, frame, length_ms)) for _ in range(ROUNDS)]
    parts = independent(problem)
    peer_s, worths = worked(lambda: [greatest_worth(part) for part in parts])
    return {
        "place_s": median(seconds for seconds, _ in rounds),
        "peer_s": peer_s,
        "searches": searches,
        "cues": len(placed.placed),
        "worth": placed.worth,
        "peer_worth": sum(worths),
        "proven": placed.proven,
    }


def script_of(minutes: int, voice: str) -> tuple[tuple[Candidate, ...], Frame]:
    laid = outline(session_of(minutes, voice))
    script = build_candidates(laid, find_book("plain"))
    return script.candidates, frame_of(laid, script.quiet)


def problem_and_placement(
    candidates: tuple[Candidate, ...], frame: Frame
) -> tuple[Problem, int, placing.Placement]:
    """Return the last problem that placement solves, how many there were, and what came of it."""
    with patch.object(placing, "optimum", wraps=optimum) as search:
        placed = placing.place(candidates, frame, length_ms)
    return search.call_args.args[0], search.call_count, placed


def worked(work: Callable[[], T]) -> tuple[float, T]:
    """Return the seconds this process worked on something, and what it gave."""
    start = time.process_time()
    made = work()
    return time.process_time() - start, made
