"""`python -m tests.bench`: each figure beside its limit; exit code 1 when one is over.

    python -m tests.bench [--voice natural] [--only NAME...]

NAME is cold, warm, gym, memory, gym-memory, placement, results or phrases.

Every measurement runs in a process of its own with a cache of its own: the cold
run's is empty, those of the others are filled before the clock starts.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

SESSION_MIN = 25
SHORT_MIN, LONG_MIN = 30, 180

MOST_TIMES_ENCODING = 2.0
MOST_TIMES_ENCODING_GYM = 2.5
LEAST_TIMES_FASTER = 60.0
MOST_MB = 300.0
MOST_GROWTH = 1.10
MOST_LOG_S = 1.0
MOST_CURVE_S = 0.2
MOST_LINT_S = 2.0
MOST_PLACING_S = {30: 0.2, 90: 1.0}

Figures = dict[str, float]


@dataclass(frozen=True, slots=True)
class Line:
    """One figure, its limit in words, and whether it is kept."""

    what: str
    figure: str
    limit: str
    kept: bool

    def __str__(self) -> str:
        return f"{'ok  ' if self.kept else 'OVER'} {self.what}: {self.figure} (limit {self.limit})"


def measure(name: str, voice: str, minutes: int, cache: Path) -> Figures:
    """Run one measurement in a process of its own and return its figures."""
    command = [sys.executable, "-m", "tests.bench.measure", name, voice, str(minutes)]
    done = subprocess.run(
        command,
        env=os.environ | {"CUEGEN_CACHE": str(cache)},
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    figures: Figures = json.loads(done.stdout.splitlines()[-1])
    return figures


def cold(voice: str, cache: Path) -> Iterator[Line]:
    got = measure("cold", voice, SESSION_MIN, cache)
    faster = got["plays_s"] / got["total_s"]
    parts = ", ".join(
        f"{part} {got[f'{part}_s']:.1f} s" for part in ("compile", "render", "verify")
    )
    yield Line(
        f"{SESSION_MIN} minutes, empty cache, {voice} voice",
        f"{got['total_s']:.1f} s, {faster:.0f} times faster than it plays; {parts}",
        f"at least {LEAST_TIMES_FASTER:g} times",
        faster >= LEAST_TIMES_FASTER,
    )
    yield _verified(got)


def _verified(got: Figures) -> Line:
    return Line("its track verified", str(bool(got["passed"])), "True", bool(got["passed"]))


def warm(voice: str, cache: Path) -> Iterator[Line]:
    got = measure("warm", voice, SESSION_MIN, cache)
    times = (got["render_s"] + got["verify_s"]) / got["encode_s"]
    yield Line(
        f"{SESSION_MIN} minutes, lines cached, rendered and verified",
        f"{times:.2f} times encoding alone (encode {got['encode_s']:.2f} s, render "
        f"{got['render_s']:.2f} s, verify {got['verify_s']:.2f} s; sheet {got['compile_s']:.2f} s)",
        f"{MOST_TIMES_ENCODING:g} times",
        times <= MOST_TIMES_ENCODING,
    )
    yield _verified(got)


def gym(voice: str, cache: Path) -> Iterator[Line]:
    got = measure("gym", voice, SESSION_MIN, cache)
    both = (got["render_s"] + got["verify_s"]) / got["encode_s"]
    yield Line(
        f"{SESSION_MIN} minutes with music and stroke tones, {got['channels']:.0f} channels, "
        "lines cached, rendered",
        f"{got['render_s'] / got['encode_s']:.2f} times encoding alone, {both:.2f} times with "
        f"verification (encode {got['encode_s']:.2f} s, render {got['render_s']:.2f} s, verify "
        f"{got['verify_s']:.2f} s)",
        f"{MOST_TIMES_ENCODING_GYM:g} times, with verification",
        both <= MOST_TIMES_ENCODING_GYM,
    )
    yield _verified(got)


def memory(voice: str, cache: Path) -> Iterator[Line]:
    yield from _memory("memory", "compiled, rendered and verified", voice, cache)


def gym_memory(voice: str, cache: Path) -> Iterator[Line]:
    yield from _memory("gym-memory", "the same with music and stroke tones", voice, cache)


def _memory(name: str, what: str, voice: str, cache: Path) -> Iterator[Line]:
    peaks = []
    for minutes in (SHORT_MIN, LONG_MIN):
        got = measure(name, voice, minutes, cache)
        peaks.append(got["self_mb"])
        yield Line(
            f"memory of {minutes} minutes, {what}",
            f"{got['self_mb']:.0f} MB, the voice's worker {got['worker_mb']:.0f} MB",
            f"{MOST_MB:g} MB",
            got["self_mb"] <= MOST_MB,
        )
        yield _verified(got)
    growth = peaks[1] / peaks[0]
    yield Line(
        f"{LONG_MIN} minutes against {SHORT_MIN}",
        f"{growth:.2f} times the memory",
        f"{MOST_GROWTH:g} times",
        growth <= MOST_GROWTH,
    )


def placement(voice: str, cache: Path) -> Iterator[Line]:
    for minutes, limit_s in MOST_PLACING_S.items():
        got = measure("placement", voice, minutes, cache)
        times = got["peer_s"] / got["place_s"]
        yield Line(
            f"{minutes} minutes placed, lengths of lines known",
            f"{got['place_s']:.3f} s of work for {got['cues']:.0f} cues, "
            f"CP-SAT {got['peer_s']:.3f} s, {times:.1f} times as long",
            f"{limit_s:g} s",
            got["place_s"] <= limit_s,
        )
        yield Line(
            "its worth beside CP-SAT's",
            f"{got['worth']:.0f} and {got['peer_worth']:.0f}",
            "the same",
            got["worth"] == got["peer_worth"],
        )


def results(voice: str, cache: Path) -> Iterator[Line]:
    got = measure("results", voice, SESSION_MIN, cache)
    names = {
        "list": "what `log list` shows, and all of one rower",
        "fit": "one rower's curve",
        "next": "next week's targets",
    }
    for name, what in names.items():
        yield Line(
            f"a log of {got['results']:.0f} results: {what}",
            f"{got[f'{name}_s']:.3f} s, {got[f'{name}_s'] / got['peer_s']:.2f} times SQLite alone "
            f"reading every row ({got['peer_s']:.3f} s)",
            f"{MOST_LOG_S:g} s",
            got[f"{name}_s"] <= MOST_LOG_S,
        )
    whole = sum(got[f"{name}_s"] for name in names)
    yield Line("all three", f"{whole:.3f} s", f"{MOST_LOG_S:g} s", whole <= MOST_LOG_S)
    yield Line(
        f"a curve of {got['points']:.0f} results",
        f"{got['curve_s']:.3f} s, {got['curve_s'] / got['lines_s']:.1f} times a straight line by "
        f"statsmodels ({got['lines_s']:.3f} s)",
        f"{MOST_CURVE_S:g} s",
        got["curve_s"] <= MOST_CURVE_S,
    )


def phrases(voice: str, cache: Path) -> Iterator[Line]:
    got = measure("phrases", voice, SESSION_MIN, cache)
    yield Line(
        f"{got['phrases']:.0f} phrases linted",
        f"{got['lint_s']:.2f} s, {got['lint_s'] / got['peer_s']:.2f} times rapidfuzz alone on all "
        f"pairs ({got['peer_s']:.2f} s)",
        f"{MOST_LINT_S:g} s",
        got["lint_s"] <= MOST_LINT_S,
    )


BENCHES = {
    "cold": cold,
    "warm": warm,
    "gym": gym,
    "memory": memory,
    "gym-memory": gym_memory,
    "placement": placement,
    "results": results,
    "phrases": phrases,
}


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--voice", default="natural", help="the voice that speaks (natural)")
    parser.add_argument("--only", nargs="+", choices=BENCHES, default=list(BENCHES))
    options = parser.parse_args()
    kept = True
    for name in options.only:
        with tempfile.TemporaryDirectory() as cache:
            for line in BENCHES[name](options.voice, Path(cache)):
                print(line, flush=True)
                kept = kept and line.kept
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main())
