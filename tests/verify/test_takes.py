"""Takes in a track are verified as clips are: by their sound, and by words where they follow."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuegen.schedule.cuesheet import Cue, CueSheet, SheetTake, SheetTakes
from cuegen.script.candidate import Line
from cuegen.script.kinds import CueKind
from cuegen.verify.report import Check
from cuegen.voice.booth import Booth, open_booth
from cuegen.voice.clip import Clip
from tests.verify.planting import found, heard, moved, replaced

pytestmark = pytest.mark.slow


class Coached:
    """A voice with one line of its own: another sound, and whether the aligner follows it."""

    def __init__(self, booth: Booth, text: str, says: Clip, *, follows: bool) -> None:
        self._booth, self._text = booth, text
        self._take = Clip(Line(text), says.samples, follows=follows)

    def length_ms(self, line: Line) -> int:
        return self.clip(line).length_ms

    def clip(self, line: Line) -> Clip:
        return self._take if line.text == self._text else self._booth.clip(line)


def target(sheet: CueSheet) -> Cue:
    return next(cue for cue in sheet.cues if cue.kind is CueKind.TARGET)


def coached_sheet(sheet: CueSheet, speaker: Coached, *, follows: bool) -> CueSheet:
    cue = target(sheet)
    end_ms = cue.start_ms + speaker.length_ms(Line(cue.text))
    take = SheetTake(text=cue.text, clip="0" * 64, follows=follows)
    noted = SheetTakes(folder="takes", lines=(take,))
    sound = sheet.sound.model_copy(update={"takes": noted})
    ended = replaced(sheet, cue, cue.model_copy(update={"end_ms": end_ms}))
    return ended.model_copy(update={"sound": sound})


def test_a_take_that_cannot_be_followed_passes_by_its_sound(
    sheet: CueSheet, booth: Booth, tmp_path: Path
) -> None:
    """Other words stand for a voice that the aligner cannot follow: its clip is what is known."""
    text = target(sheet).text
    says = booth.clip(Line("Palm trees."))
    speaker = Coached(booth, text, says, follows=False)
    report = heard(
        coached := coached_sheet(sheet, speaker, follows=False), coached, speaker, tmp_path
    )
    assert report.faults == ()
    (skipped,) = report.skipped
    assert skipped.why == f"not of cue {target(sheet).id}: the aligner does not follow this take"


def test_the_same_take_said_to_be_followed_is_found_out(
    sheet: CueSheet, booth: Booth, tmp_path: Path
) -> None:
    text = target(sheet).text
    speaker = Coached(booth, text, booth.clip(Line("Palm trees.")), follows=True)
    report = heard(
        coached := coached_sheet(sheet, speaker, follows=True), coached, speaker, tmp_path
    )
    assert found(report) == {(Check.WORDS, target(sheet).id)}


def test_a_take_that_lies_elsewhere_is_found_out(
    sheet: CueSheet, booth: Booth, tmp_path: Path
) -> None:
    text = target(sheet).text
    speaker = Coached(booth, text, booth.clip(Line("Palm trees.")), follows=False)
    planned = coached_sheet(sheet, speaker, follows=False)
    late = replaced(planned, target(planned), moved(target(planned), 60))
    assert found(heard(late, planned, speaker, tmp_path)) == {(Check.PLACEMENT, target(sheet).id)}


def test_words_of_takes_are_checked_though_the_voice_cannot_be_followed(
    sheet: CueSheet, booth: Booth, tmp_path: Path
) -> None:
    """The voice is small, the take natural: right it passes, with other words it does not."""
    text = target(sheet).text
    with open_booth("small") as small:
        cues = tuple(
            cue.model_copy(
                update={"end_ms": cue.start_ms + small.length_ms(Line(cue.text, cue.speed))}
            )
            for cue in sheet.cues
        )
        sound = sheet.sound.model_copy(update={"voice": "small"})
        plain = sheet.model_copy(update={"cues": cues, "sound": sound})
        for says, faults in ((text, set()), ("Palm trees.", {(Check.WORDS, target(sheet).id)})):
            speaker = Coached(small, text, booth.clip(Line(says)), follows=True)
            planned = coached_sheet(plain, speaker, follows=True)
            report = heard(planned, planned, speaker, tmp_path)
            assert found(report) == faults
            assert {skip.check for skip in report.skipped} == {Check.WORDS, Check.NUMBERS}
            assert all(skip.why.startswith("only of takes: ") for skip in report.skipped)
