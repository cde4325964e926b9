"""Compiling tells a speaker of the lines to come, so that a voice speaks them in one go."""

from __future__ import annotations

from collections.abc import Iterable

from cuegen.plan.reading import read_plan
from cuegen.script.candidate import Line
from cuegen.steps import compile_sheet
from cuegen.telling import Progress
from tests.voice.fake import FakeSpeaker

PLAN = """\
title: Two short pieces
audience: group
session: |
  warm-up 2:00 r18
  2 x 2:00 r20/24
  cool-down 2:00
"""


class ToldSpeaker(FakeSpeaker):
    """Notes which lines it was told of, and which it was asked for untold."""

    def __init__(self) -> None:
        super().__init__()
        self.told: set[Line] = set()
        self.untold: list[Line] = []

    def prepare(self, lines: Iterable[Line], on_progress: Progress | None = None) -> None:
        self.told.update(lines)
        if on_progress is not None:
            on_progress(len(self.told), len(self.told))

    def length_ms(self, line: Line) -> int:
        if line.speed == 1.0 and line not in self.told:
            self.untold.append(line)
        return super().length_ms(line)


def test_every_line_at_its_own_pace_is_told_before_it_is_measured() -> None:
    speaker = ToldSpeaker()
    sheet = compile_sheet(read_plan(PLAN), speaker=speaker)
    assert len(sheet.cues) > 15
    assert speaker.untold == []
    assert {Line(cue.text) for cue in sheet.cues if cue.speed == 1.0} <= speaker.told


def test_progress_reaches_the_speaker() -> None:
    heard: list[tuple[int, int]] = []
    compile_sheet(
        read_plan(PLAN),
        speaker=ToldSpeaker(),
        on_progress=lambda done, of: heard.append((done, of)),
    )
    assert heard[-1][0] == heard[-1][1] > 15


def test_a_speaker_that_is_not_to_be_told_gives_the_same_sheet() -> None:
    plan = read_plan(PLAN)
    assert compile_sheet(plan, speaker=FakeSpeaker()) == compile_sheet(plan, speaker=ToldSpeaker())
