"""Real music under examples: the distances that are promised, measured.

The music is that of the package immich-memories-music (MIT): 28 pieces of half a
minute, acoustic and electronic, calm and loud. Loudness is libebur128's.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyebur128
import pytest
from immich_memories_music import tracks_dir

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.mix.bed import in_the_open_db
from cuegen.mix.ducking import Span, open_stretches, spans_of
from cuegen.mix.levels import levels_of
from cuegen.mix.render import render
from cuegen.plan.model import ToneSpan
from cuegen.plan.reading import load_plan, read_plan
from cuegen.schedule.cuesheet import CueSheet, SheetBed
from cuegen.steps import compile_sheet
from cuegen.verify.listening import listen
from cuegen.verify.report import Verdict
from cuegen.voice.booth import open_booth
from cuegen.voice.clip import Speaker
from tests.mix.beds import bed_blocks
from tests.voice.fake import FakeSpeaker

EXAMPLES = Path(__file__).parents[2] / "examples"
PLANS = sorted(path for path in EXAMPLES.glob("*.yaml") if "session:" in path.read_text("utf-8"))
ONE = next(path for path in PLANS if path.stem == "lock-gates")
"""Rowed in pieces, the example with the most lines; `python -m tests.bench.examples --bed music`
measures all of them, spoken, in the decoded file."""
SHORT = """\
title: Two short pieces
audience: solo
session: |
  2 x 0:45 r20/24 @2:10/-4
  cool-down 0:40
"""
FOLDERS = sorted(path for path in tracks_dir().iterdir() if path.is_dir())

pytestmark = pytest.mark.slow


def sheet_of_plan(plan: Path, speaker: Speaker) -> CueSheet:
    """Return an example's sheet with all of the music as its bed."""
    results = EXAMPLES / "results.csv" if load_plan(plan).rower else None
    return over_music(compile_sheet(plan, results=results, speaker=speaker))


def over_music(sheet: CueSheet) -> CueSheet:
    """Return a sheet with all of the music as its bed.

    Without stroke tones: what is measured under a line is then the bed alone. (A catch
    tone of its own lies 20 dB under speech; with a bed just under that the two are nearer.)
    """
    first, *more = (str(folder) for folder in FOLDERS)
    bed = SheetBed(file=first, below_db=20.0, more=tuple(more))
    sound = sheet.sound.model_copy(update={"bed": bed, "stroke_tones": ToneSpan.NONE})
    return sheet.model_copy(update={"sound": sound})


@dataclass(frozen=True)
class Heard:
    """Loudness of an example's bed alone, in LU against speech: negative is under it.

    opened: of each open stretch of a second and more, against its target. lines: under
    each of 400 ms and more. ahead: of the 400 ms around each span's start less 150 ms.
    """

    opened: list[float]
    lines: list[float]
    ahead: list[float]


def heard(plan: Path) -> Heard:
    """Return what is heard of an example's bed; its lines are a fake voice's."""
    sheet = sheet_of_plan(plan, FakeSpeaker())
    length, spans = samples_at(sheet.duration_ms), spans_of(sheet)
    open_db = in_the_open_db(spans, length)
    opened = [
        Span(max(each.start, 2 * SAMPLE_RATE), min(each.end, length - 4 * SAMPLE_RATE))
        for each in open_stretches(spans, length)
    ]
    opened = [each for each in opened if each.end - each.start >= SAMPLE_RATE]
    lines = [
        Span(samples_at(cue.start_ms), samples_at(cue.end_ms))
        for cue in sheet.cues
        if cue.end_ms - cue.start_ms >= 400
    ]
    ahead = [
        Span(start, start + samples_at(400))
        for start in (max(0, span.start - samples_at(150)) for span in spans)
    ]
    parts = [*opened, *lines, *ahead]
    speech = levels_of(sheet).speech_lufs
    found = [lufs - speech for lufs in loudness_of_parts(sheet, parts)]
    first, second = len(opened), len(opened) + len(lines)
    return Heard([lu + open_db for lu in found[:first]], found[first:second], found[second:])


def loudness_of_parts(sheet: CueSheet, parts: list[Span]) -> list[float]:
    """Return the gated loudness of stretches of a sheet's bed, heard as it streams by."""
    modes = pyebur128.MeasurementMode.MODE_I
    meters = [pyebur128.R128State(2, SAMPLE_RATE, modes) for _ in parts]
    at = 0
    for block in bed_blocks(sheet):
        for meter, stretch in zip(meters, parts, strict=True):
            inside = block[max(0, stretch.start - at) : max(0, stretch.end - at)]
            if len(inside):
                meter.add_frames(np.ascontiguousarray(inside).reshape(-1), len(inside))
        at += len(block)
    return [float(pyebur128.get_loudness_global(meter)) for meter in meters]


def test_there_are_plans_and_music() -> None:
    assert len(PLANS) >= 8
    assert len(FOLDERS) == 5


def test_speech_lies_20_db_above_the_bed_which_is_back_between_lines() -> None:
    """In every line 20 dB; in every open stretch within 1 LU of its target; down in time.

    Lines from the first sample of their clip to the last, all gated.
    """
    found = heard(ONE)
    assert len(found.lines) > 50
    assert max(found.lines) <= -20.0
    assert len(found.opened) > 20
    assert max(np.abs(found.opened)) <= 1.0
    assert max(found.ahead) <= -20.0


def test_a_decoded_mp3_passes_its_checks(tmp_path: Path) -> None:
    """Two short pieces, spoken, over music: all checks, 20 dB in every line.

    Heard from the file, codec and limiter included.
    """
    with open_booth("natural") as booth:
        sheet = over_music(compile_sheet(read_plan(SHORT), speaker=booth))
        render(sheet, booth, tmp_path / "track.mp3")
        report = listen(tmp_path / "track.mp3", sheet, booth)
    assert [str(fault) for fault in report.faults] == []
    assert report.verdict is Verdict.OK
    below = [cue.below_db for cue in report.cues]
    assert len(below) > 5
    assert min(each for each in below if each is not None) >= 20.0
