"""Aligners in processes of their own: they answer, they are replaced, and they are ended."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from cuegen.children import cores
from cuegen.hearing.ears import Ears, EarsLostError, ears_for
from cuegen.hearing.words import RATE, Aligner

pytestmark = pytest.mark.slow

WORDS = ("rate", "up", "twenty")
NOISE = np.random.default_rng(0).normal(scale=300, size=RATE).astype("<i2").tobytes()


def running(pid: int) -> bool:
    """Return whether a process is there and no zombie."""
    stat = Path(f"/proc/{pid}/stat")
    return stat.exists() and stat.read_text().rpartition(")")[2].split()[0] != "Z"


def gone_within(pids: list[int], seconds: float) -> bool:
    end = time.monotonic() + seconds
    while any(map(running, pids)):
        if time.monotonic() > end:
            return False
        time.sleep(0.02)
    return True


def pids(ears: Ears) -> list[int]:
    return [pid for pid in ears.pids() if pid is not None]


def test_ears_hear_what_an_aligner_hears_and_are_gone_after() -> None:
    with Ears(2) as ears:
        started = pids(ears)
        answers = [ears.hear(WORDS, NOISE) for _ in range(6)]
        found = [answer.result(30) for answer in answers]
    assert found == [Aligner().hear(WORDS, NOISE)] * 6
    assert len(started) == 2
    assert gone_within(started, 2)


def test_ears_pick_what_an_aligner_picks() -> None:
    lines = (WORDS, ("easy", "now"))
    with Ears(1) as ears:
        assert ears.pick(lines, NOISE).result(30) == Aligner().pick(lines, NOISE)


def test_an_ear_that_dies_is_replaced_and_the_line_is_heard() -> None:
    with Ears(1) as ears:
        first = ears.hear(WORDS, NOISE).result(30)
        os.kill(pids(ears)[0], signal.SIGKILL)
        assert ears.hear(WORDS, NOISE).result(30) == first


def test_a_line_on_which_ears_die_twice_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cuegen.hearing.ears.WORKER", "cuegen.no_such_module")
    with Ears(1) as ears, pytest.raises(EarsLostError):
        ears.hear(WORDS, NOISE).result(30)


def test_an_error_ends_the_ears() -> None:
    started: list[int] = []

    def interrupted() -> None:
        with Ears(2) as ears:
            started.extend(pids(ears))
            ears.hear(WORDS, NOISE)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert len(started) == 2
    assert gone_within(started, 2)


def test_ears_leave_when_their_parent_is_killed() -> None:
    program = (
        "import time; from cuegen.hearing.ears import Ears\n"
        "with Ears(2) as ears:\n"
        "    print(*ears.pids(), flush=True); time.sleep(60)\n"
    )
    with subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE) as parent:
        assert parent.stdout is not None
        started = [int(pid) for pid in parent.stdout.readline().split()]
        parent.kill()
    assert len(started) == 2
    assert gone_within(started, 5)


@pytest.mark.parametrize(("lines", "most"), [(0, 1), (5, 1), (39, 1), (40, 2), (900, 2)])
def test_a_short_track_gets_one_ear(lines: int, most: int) -> None:
    assert ears_for(lines) == min(most, cores())
