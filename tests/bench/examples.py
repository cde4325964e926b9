"""Every example, in both voices of the base install and three formats, rendered and verified.

    python -m tests.bench.examples [NAME...]

Prints one row for each track, and leaves with exit code 1 if any of them failed.
Tracks are written to a temporary folder and removed.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from cuegen.plan.reading import load_plan
from cuegen.steps import compile_sheet, render_track, verify_track
from cuegen.verify.report import ListeningReport, Verdict
from cuegen.voice.booth import open_booth

EXAMPLES = Path(__file__).parents[2] / "examples"
VOICES = ("natural", "small")
SUFFIXES = (".mp3", ".m4a", ".opus")


def main(names: list[str]) -> int:
    """Print the table; return the exit code."""
    print(f"{'example':20} {'voice':8} {'as':5} {'cues':>5} {'firm ms':>8} {'float ms':>8} "
          f"{'words':>9} {'LUFS':>6} {'dBTP':>6} {'s':>6}  verdict")  # fmt: skip
    failed = 0
    for plan in sorted(EXAMPLES.glob("*.yaml")):
        if names and plan.stem not in names:
            continue
        for voice in VOICES:
            failed += _example(plan, voice)
    return 1 if failed else 0


def _example(plan: Path, voice: str) -> int:
    solo = load_plan(plan).rower is not None
    results = EXAMPLES / "results.csv" if solo else None
    failed = 0
    with open_booth(voice) as booth, tempfile.TemporaryDirectory() as folder:
        sheet = compile_sheet(plan, results=results, voice=voice, speaker=booth)
        for suffix in SUFFIXES:
            begun = time.perf_counter()
            track = Path(folder, plan.stem + suffix)
            render_track(sheet, track, speaker=booth)
            report = verify_track(track, sheet, speaker=booth)
            took = time.perf_counter() - begun
            _row(plan.stem, voice, suffix, report, took)
            failed += report.verdict is not Verdict.OK
    return failed


def _row(name: str, voice: str, suffix: str, report: ListeningReport, took_s: float) -> None:
    counts = report.counts
    print(
        f"{name:20} {voice:8} {suffix[1:]:5} {counts.on_time:>3}/{counts.planned:<3}"
        f"{report.worst_firm_ms:8.3f} {report.worst_floating_ms:8.3f} "
        f"{counts.heard_words:>4}/{counts.planned_words:<4} {report.loudness_lufs:6.2f} "
        f"{report.true_peak_dbtp:6.2f} {took_s:6.1f}  {report.verdict}",
        flush=True,
    )
    for fault in report.faults[:5]:
        print(f"    {fault}", flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
