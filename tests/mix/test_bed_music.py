"""Real music under examples: the distances that are promised, measured.

The music and its meter: tests/mix/beds.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from cuegen.clock import samples_at
from cuegen.mix.bed import in_the_open_db
from cuegen.mix.ducking import Span, spans_of
from cuegen.mix.levels import levels_of
from cuegen.mix.render import render
from cuegen.plan.model import ToneSpan
from cuegen.plan.reading import load_plan, read_plan
from cuegen.schedule.cuesheet import CueSheet
from cuegen.steps import compile_sheet
from cuegen.verify.listening import listen
from cuegen.verify.report import Verdict
from cuegen.voice.booth import open_booth
from cuegen.voice.clip import Speaker
from tests.mix.beds import Part, bed_blocks, lines_of, meter, open_inner, over, real_music
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

pytestmark = pytest.mark.slow


def sheet_of_plan(plan: Path, speaker: Speaker) -> CueSheet:
    """Return an example's sheet with all of the music as its bed."""
    results = EXAMPLES / "results.csv" if load_plan(plan).rower else None
    return over(
        compile_sheet(plan, results=results, speaker=speaker), real_music(), tones=ToneSpan.NONE
    )


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
    opened = [Part(each) for each in open_inner(sheet)]
    lines = [Part(each) for each in lines_of(sheet)]
    ahead = [
        Part(Span(start, start + samples_at(400)))
        for start in (max(0, span.start - samples_at(150)) for span in spans)
    ]
    meter(bed_blocks(sheet), [*opened, *lines, *ahead])
    speech = levels_of(sheet).speech_lufs
    return Heard(
        [part.lufs() - speech + open_db for part in opened],
        [part.lufs() - speech for part in lines],
        [part.lufs() - speech for part in ahead],
    )


def test_there_are_plans_and_music() -> None:
    assert len(PLANS) >= 8
    assert len(real_music()) == 5


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
        sheet = compile_sheet(read_plan(SHORT), speaker=booth)
        sheet = over(sheet, real_music(), tones=ToneSpan.NONE)
        render(sheet, booth, tmp_path / "track.mp3")
        report = listen(tmp_path / "track.mp3", sheet, booth)
    assert [str(fault) for fault in report.faults] == []
    assert report.verdict is Verdict.OK
    below = [cue.below_db for cue in report.cues]
    assert len(below) > 5
    assert min(each for each in below if each is not None) >= 20.0
