"""Every example, in both voices of the base install and three formats, rendered and verified.

    python -m tests.bench.examples [--bed BED] [--voice VOICE] [--as SUFFIX] [NAME...]

Prints one row for each track, and leaves with exit code 1 if any of them failed.
Tracks are written to a temporary folder and removed. BED is a file, a folder or a bed
of our own for all of them, `music` the pieces of immich-memories-music. Strokes are then
not marked, and of the bed, heard in the file, is told: how far it lies under speech in the
line under which it is nearest (`bed dB`), how far it is from its target between lines, at
worst (`off`), and how far under speech right before a line, at worst (`ahead`).
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from cuegen.plan.model import ToneSpan
from cuegen.plan.reading import load_plan
from cuegen.schedule.cuesheet import CueSheet
from cuegen.steps import compile_sheet, render_track, verify_track
from cuegen.verify.report import ListeningReport, Verdict
from cuegen.voice.booth import open_booth
from tests.bench.between import Between, heard_between
from tests.mix.beds import over, real_music

EXAMPLES = Path(__file__).parents[2] / "examples"
VOICES = ("natural", "small")
SUFFIXES = (".mp3", ".m4a", ".opus")
MOST_OFF_LU = 1.0
LEAST_AHEAD_LU = 17.0
"""Before a line the 130 ms that are heard may be 3 dB louder than the 400 ms that are held to 20
dB under speech: a beat of a drum is."""


def main(arguments: list[str]) -> int:
    """Print the table; return the exit code."""
    options = _options(arguments)
    print(
        f"{'example':20} {'voice':8} {'as':5} {'cues':>7} {'firm ms':>7} {'float ms':>8} "
        f"{'words':>9} {'LUFS':>6} {'dBTP':>6} {'bed dB':>6} {'off':>5} {'ahead':>6} {'s':>6}  "
        "verdict"
    )
    failed = 0
    for plan in sorted(EXAMPLES.glob("*.yaml")):
        is_plan = "session:" in plan.read_text(encoding="utf-8")  # a block is none
        if not is_plan or (options.names and plan.stem not in options.names):
            continue
        for voice in options.voice:
            failed += _example(plan, voice, options.suffix, options.bed)
    return 1 if failed else 0


def _options(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.examples", description=__doc__)
    parser.add_argument("names", nargs="*", help="examples, without .yaml (all)")
    parser.add_argument("--bed", help="a file, a folder, a bed of our own, or `music`")
    parser.add_argument("--voice", nargs="+", default=VOICES)
    parser.add_argument("--as", nargs="+", default=SUFFIXES, dest="suffix")
    return parser.parse_args(arguments)


def _with_bed(sheet: CueSheet, bed: str | None) -> CueSheet:
    if bed is None:
        return sheet
    files = real_music() if bed == "music" else [bed]
    return over(sheet, files, tones=ToneSpan.NONE)


def _example(plan: Path, voice: str, suffixes: list[str], bed: str | None) -> int:
    solo = load_plan(plan).rower is not None
    results = EXAMPLES / "results.csv" if solo else None
    failed = 0
    with open_booth(voice) as booth, tempfile.TemporaryDirectory() as folder:
        sheet = compile_sheet(plan, results=results, voice=voice, speaker=booth)
        sheet = _with_bed(sheet, bed)
        for suffix in suffixes:
            begun = time.perf_counter()
            track = Path(folder, plan.stem + suffix)
            render_track(sheet, track, speaker=booth)
            report = verify_track(track, sheet, speaker=booth)
            took = time.perf_counter() - begun
            between = heard_between(track, sheet) if bed is not None else None
            label = f"{plan.stem:20} {voice:8} {suffix[1:]:5}"
            _row(label, report, between, took)
            failed += report.verdict is not Verdict.OK
            failed += between is not None and not _is_kept(between)
    return failed


def _is_kept(between: Between) -> bool:
    """Return whether a bed is near its target between lines, and down before each of them."""
    return between.off_lu <= MOST_OFF_LU and between.ahead_lu <= -LEAST_AHEAD_LU


def _row(label: str, report: ListeningReport, between: Between | None, took_s: float) -> None:
    places = f"{between.off_lu:5.2f} {between.ahead_lu:6.1f}" if between else f"{'':12}"
    counts = report.counts
    below = [cue.below_db for cue in report.cues if cue.below_db is not None]
    print(
        f"{label} {counts.on_time:>3}/{counts.planned:<3}"
        f"{report.worst_firm_ms:8.3f} {report.worst_floating_ms:8.3f} "
        f"{counts.heard_words:>4}/{counts.planned_words:<4} {report.loudness_lufs:6.2f} "
        f"{report.true_peak_dbtp:6.2f} {min(below, default=0.0):6.1f} {places} {took_s:6.1f}  "
        f"{report.verdict}",
        flush=True,
    )
    for fault in report.faults[:5]:
        print(f"    {fault}", flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
