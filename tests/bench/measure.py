"""One measurement in a process of its own; prints one line of JSON.

    python -m tests.bench.measure cold VOICE MINUTES
    python -m tests.bench.measure warm VOICE MINUTES
    python -m tests.bench.measure gym VOICE MINUTES
    python -m tests.bench.measure memory VOICE MINUTES
    python -m tests.bench.measure gym-memory VOICE MINUTES
    python -m tests.bench.measure placement VOICE MINUTES
    python -m tests.bench.measure results VOICE MINUTES
    python -m tests.bench.measure phrases VOICE MINUTES

Conventions
    Seconds by the clock on the wall; those of placement are the process's own work
    (tests/bench/placement.py). Memory is `ru_maxrss`, the most this process held at any
    time, in MB of 2^20 bytes; that of the voice's worker, a process apart, is told
    beside it. The caller starts this from a small process, since the mark of a process
    survives into what it starts.
"""

from __future__ import annotations

import json
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from cuegen.clock import SAMPLE_RATE

if TYPE_CHECKING:
    from cuegen.schedule.cuesheet import CueSheet

T = TypeVar("T")
_ROUNDS = 3


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Return the seconds a piece of work took, and what it gave."""
    start = time.perf_counter()
    made = work()
    return time.perf_counter() - start, made


def cold(voice: str, minutes: int, folder: Path) -> dict[str, float]:
    """Compile, render and verify as a first run does; the caller gives an empty cache."""
    start = time.perf_counter()
    from cuegen import compile_sheet, render_track, verify_track
    from tests.bench.sessions import session_of

    track = folder / "cold.mp3"
    sheet = compile_sheet(session_of(minutes, voice))
    compiled_s = time.perf_counter() - start
    render_s, _ = timed(lambda: render_track(sheet, track))
    verify_s, report = timed(lambda: verify_track(track, sheet))
    return {
        "plays_s": sheet.duration_ms / 1000,
        "compile_s": compiled_s,
        "render_s": render_s,
        "verify_s": verify_s,
        "total_s": time.perf_counter() - start,
        "passed": report.verdict == "ok",
    }


def warm(voice: str, minutes: int, folder: Path) -> dict[str, float]:
    """Render and verify with every line cached, against encoding the same samples alone."""
    from cuegen import compile_sheet
    from tests.bench.sessions import session_of

    compile_sheet(session_of(minutes, voice))
    compile_s, sheet = timed(lambda: compile_sheet(session_of(minutes, voice)))
    return {**_against_encoding(sheet, folder), "compile_s": compile_s}


def gym(voice: str, minutes: int, folder: Path) -> dict[str, float]:
    """The same with music under it and every stroke marked, in stereo."""
    from cuegen import compile_sheet
    from tests.bench.sessions import session_of

    return _against_encoding(_in_a_gym(compile_sheet(session_of(minutes, voice))), folder)


def _in_a_gym(sheet: CueSheet) -> CueSheet:
    """Return a sheet with real music under it and every stroke marked."""
    from cuegen.plan.model import ToneSpan
    from tests.mix.beds import over, real_music

    return over(sheet, real_music(), tones=ToneSpan.ALL)


def _against_encoding(sheet: CueSheet, folder: Path) -> dict[str, float]:
    """Return the best of some rounds of each, in turns, so that a busy machine slows both."""
    from cuegen import render_track, verify_track
    from cuegen.dsp.decode import read_audio

    track, alone = folder / "warm.mp3", folder / "alone.mp3"
    render_track(sheet, track)
    samples = read_audio(track)
    rounds = []
    for _ in range(_ROUNDS):
        encoding = timed(lambda: encode_alone(samples, alone))
        rendering = timed(lambda: render_track(sheet, track))
        verifying = timed(lambda: verify_track(track, sheet))
        rounds.append((encoding[0], rendering[0], verifying[0]))
    best = [min(column) for column in zip(*rounds, strict=True)]
    return {
        "passed": verifying[1].verdict == "ok",
        "plays_s": sheet.duration_ms / 1000,
        "encode_s": best[0],
        "render_s": best[1],
        "verify_s": best[2],
        "channels": float(samples.shape[1]),
    }


def memory(voice: str, minutes: int, folder: Path) -> dict[str, float]:
    """Compile, render and verify, and say how much memory that needed."""
    return {**cold(voice, minutes, folder), **_peaks_mb()}


def gym_memory(voice: str, minutes: int, folder: Path) -> dict[str, float]:
    """The same with music under it and every stroke marked."""
    from cuegen import compile_sheet, render_track, verify_track
    from tests.bench.sessions import session_of

    track = folder / "gym.mp3"
    sheet = _in_a_gym(compile_sheet(session_of(minutes, voice)))
    render_track(sheet, track)
    passed = verify_track(track, sheet).verdict == "ok"
    return {"passed": passed, **_peaks_mb()}


def _peaks_mb() -> dict[str, float]:
    return {
        "self_mb": _peak_mb(resource.RUSAGE_SELF),
        "worker_mb": _peak_mb(resource.RUSAGE_CHILDREN),
    }


def placement(voice: str, minutes: int, folder: Path) -> dict[str, float]:
    """Place a session's cues, against an exact solver on the same problem."""
    from tests.bench.placement import placement as against_a_solver

    return against_a_solver(voice, minutes, folder)


def results(voice: str, minutes: int, folder: Path) -> dict[str, float]:
    """List, fit and set next targets from a large log, against SQLite alone."""
    from tests.bench.results import from_a_large_log

    return from_a_large_log(folder)


def phrases(voice: str, minutes: int, folder: Path) -> dict[str, float]:
    """Lint a large phrase book, against a comparison of all pairs alone."""
    from tests.bench.phrases import linted

    return linted()


def encode_alone(samples: object, path: Path) -> None:
    """Encode samples, (n, channels) float32 at 48 kHz, to mp3 with FFmpeg and nothing else.

    With the settings of a track, so that the comparison is of like with like.
    """
    import av
    import numpy as np

    from cuegen.mix.formats import FORMATS

    form = FORMATS[path.suffix]
    signal = np.asarray(samples, dtype=np.float32)
    layout = "mono" if signal.shape[1] == 1 else "stereo"
    with av.open(str(path), "w") as container:
        stream = container.add_stream(
            form.codec, rate=SAMPLE_RATE, layout=layout, options=dict(form.codec_options)
        )
        assert isinstance(stream, av.AudioStream)
        stream.bit_rate = form.bit_rates[signal.shape[1]]
        for start in range(0, len(signal), SAMPLE_RATE):
            block = np.ascontiguousarray(signal[start : start + SAMPLE_RATE].T)
            frame = av.AudioFrame.from_ndarray(block, format="fltp", layout=layout)
            frame.sample_rate = SAMPLE_RATE
            frame.pts = start
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def _peak_mb(who: int) -> float:
    peak = resource.getrusage(who).ru_maxrss
    return peak / 2**20 if sys.platform == "darwin" else peak / 2**10


MEASURES = {
    "cold": cold,
    "warm": warm,
    "gym": gym,
    "memory": memory,
    "gym-memory": gym_memory,
    "placement": placement,
    "results": results,
    "phrases": phrases,
}


def main() -> None:
    name, voice, minutes = sys.argv[1:]
    with tempfile.TemporaryDirectory() as folder:
        print(json.dumps(MEASURES[name](voice, int(minutes), Path(folder))))


if __name__ == "__main__":
    main()
