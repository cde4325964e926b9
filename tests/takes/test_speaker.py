"""Takes before a voice: found by their words, never sped up, kept by their content.

The sheets are German, so that no aligner is asked: names alone say which line a file is.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from cuegen.clock import samples_at
from cuegen.errors import TakeError
from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.candidate import Line
from cuegen.script.kinds import CueKind
from cuegen.sheet.checking import check_sheet
from cuegen.sheet.json_format import from_text, to_text
from cuegen.takes.faults import FaultKind
from cuegen.takes.speaker import (
    FolderAsked,
    FolderSpeaker,
    folder_from,
    folder_speaker,
    noted_speaker,
    with_takes,
)
from tests.takes.coach import recorded, save
from tests.takes.sheets import cue, sheet
from tests.voice.fake import FakeSpeaker, fake_length_ms

TEXTS = ("Und los geht es.", "Noch zwei Minuten.", "Ruhig auslaufen.")


def german(*texts: str, spare_ms: int = 2_000) -> CueSheet:
    at, cues = 1_000, []
    for number, text in enumerate(texts or TEXTS):
        length = fake_length_ms(Line(text))
        cues.append(cue(f"c{number}", text, at, length, CueKind.OWN))
        at += length + 400 + spare_ms
    return sheet(*cues, language="de")


def record(folder: Path, name: str, says: str) -> Path:
    """Record other noise than the voice's own, so that the two can be told apart."""
    folder.mkdir(exist_ok=True)
    clip = FakeSpeaker().clip(Line(f"{says} coach")).samples
    return save(folder / f"{name}.wav", recorded(clip, 700, 400))


@contextmanager
def opened(
    folder: Path, sheet: CueSheet, cache_dir: Path, *, stands: bool = True
) -> Iterator[tuple[FolderSpeaker, FakeSpeaker]]:
    voice = FakeSpeaker()
    asked = FolderAsked(folder, stands=stands, cache_dir=cache_dir)
    with folder_speaker(asked, sheet, voice) as speaker:
        yield speaker, voice


def test_a_line_with_a_take_is_said_with_it_and_others_by_the_voice(
    tmp_path: Path, cache_dir: Path
) -> None:
    record(tmp_path / "t", TEXTS[1], TEXTS[1])
    with opened(tmp_path / "t", german(), cache_dir) as (speaker, voice):
        take, other = speaker.clip(Line(TEXTS[1])), speaker.clip(Line(TEXTS[0]))
        assert voice.asked == 1
        assert other.samples.tobytes() == voice.clip(Line(TEXTS[0])).samples.tobytes()
        assert (other.follows, take.follows) == (None, False)
        planned = fake_length_ms(Line(f"{TEXTS[1]} coach"))
        assert take.length_ms == pytest.approx(planned, abs=50)
        assert speaker.length_ms(Line(TEXTS[1])) == take.length_ms


@pytest.mark.parametrize("speed", [1.0, 1.06, 1.12])
def test_a_take_is_never_sped_up(tmp_path: Path, cache_dir: Path, speed: float) -> None:
    record(tmp_path / "t", TEXTS[1], TEXTS[1])
    with opened(tmp_path / "t", german(), cache_dir) as (speaker, _):
        assert speaker.length_ms(Line(TEXTS[1], speed)) == speaker.length_ms(Line(TEXTS[1]))
        assert speaker.length_ms(Line(TEXTS[0], speed)) == fake_length_ms(Line(TEXTS[0], speed))


def test_other_signs_are_the_same_take_and_other_words_are_not(
    tmp_path: Path, cache_dir: Path
) -> None:
    record(tmp_path / "t", TEXTS[1], TEXTS[1])
    with opened(tmp_path / "t", german(), cache_dir) as (speaker, _):
        assert speaker.takes.find("noch zwei Minuten!") is not None
        assert speaker.takes.find("Noch drei Minuten.") is None


def test_a_take_longer_than_its_place_is_not_used_and_named(
    tmp_path: Path, cache_dir: Path
) -> None:
    record(tmp_path / "t", TEXTS[0], TEXTS[0] * 3)
    with opened(tmp_path / "t", german(spare_ms=100), cache_dir) as (speaker, _):
        assert speaker.takes.find(TEXTS[0]) is None
        (told,) = speaker.told()
    assert told.startswith(f"{TEXTS[0]}.wav is not used: too long: lasts 3.2")


def test_where_lines_may_move_only_firm_ones_are_held_to_their_place(
    tmp_path: Path, cache_dir: Path
) -> None:
    record(tmp_path / "t", TEXTS[0], TEXTS[0] * 3)
    floating = german(spare_ms=100)
    with opened(tmp_path / "t", floating, cache_dir, stands=False) as (speaker, _):
        assert speaker.takes.find(TEXTS[0]) is not None
    firm = floating.model_copy(
        update={"cues": tuple(one.model_copy(update={"firm": True}) for one in floating.cues)}
    )
    with opened(tmp_path / "t", firm, cache_dir, stands=False) as (speaker, _):
        assert speaker.takes.find(TEXTS[0]) is None


def test_a_take_that_found_no_place_is_named(tmp_path: Path, cache_dir: Path) -> None:
    """One because it is longer than the place it had, one because others are."""
    long = record(tmp_path / "t", TEXTS[0], TEXTS[0] * 3)
    short = record(tmp_path / "t", TEXTS[1], TEXTS[1])
    made = german(spare_ms=600)
    with opened(tmp_path / "t", made, cache_dir, stands=False) as (speaker, _):
        speaker.settle(made.model_copy(update={"cues": made.cues[2:]}))
        assert [fault.kind for fault in speaker.shelf.faults[long]] == [FaultKind.TOO_LONG]
        assert list(speaker.shelf.faults) == [long]
        assert "has no place in the session any more" in speaker.shelf.doubts[short]


def test_a_faulty_take_gives_way_to_the_voice(tmp_path: Path, cache_dir: Path) -> None:
    (tmp_path / "t").mkdir()
    save(tmp_path / "t" / f"{TEXTS[0]}.wav", np.zeros(samples_at(1_000)))
    with opened(tmp_path / "t", german(), cache_dir) as (speaker, _):
        assert speaker.clip(Line(TEXTS[0])).follows is None
        (told,) = speaker.told()
    assert "is not used: empty: nobody speaks" in told


def test_the_sheet_notes_its_takes_and_their_lengths(tmp_path: Path, cache_dir: Path) -> None:
    record(tmp_path / "t", TEXTS[1], TEXTS[1])
    with opened(tmp_path / "t", german(), cache_dir) as (speaker, _):
        made = with_takes(german(), speaker.takes, "t")
        length = speaker.length_ms(Line(TEXTS[1]))
    check_sheet(made)
    assert made.sound.takes is not None
    assert made.sound.takes.folder == "t"
    assert [take.text for take in made.sound.takes.lines] == [TEXTS[1]]
    assert made.cues[1].end_ms - made.cues[1].start_ms == length
    assert made.cues[0] == german().cues[0]
    assert from_text(to_text(made)) == made


def test_a_sheet_without_takes_notes_none(tmp_path: Path, cache_dir: Path) -> None:
    (tmp_path / "t").mkdir()
    with opened(tmp_path / "t", german(), cache_dir) as (speaker, _):
        assert with_takes(german(), speaker.takes, "t") == german()


def noted(tmp_path: Path, cache_dir: Path) -> tuple[CueSheet, bytes]:
    """Make a sheet with one take; return it with the take's very samples."""
    record(tmp_path / "t", TEXTS[1], TEXTS[1])
    with opened(tmp_path / "t", german(), cache_dir) as (speaker, _):
        samples = speaker.clip(Line(TEXTS[1])).samples.tobytes()
        return with_takes(german(), speaker.takes, "t"), samples


def said(made: CueSheet, beside: Path, cache_dir: Path, folder: Path | None = None) -> bytes:
    with noted_speaker(made, beside, FakeSpeaker(), folder=folder, cache_dir=cache_dir) as mouth:
        assert mouth.length_ms(Line(TEXTS[0])) == fake_length_ms(Line(TEXTS[0]))
        return mouth.clip(Line(TEXTS[1])).samples.tobytes()


def test_a_later_run_has_the_very_clip_without_the_folder(tmp_path: Path, cache_dir: Path) -> None:
    made, samples = noted(tmp_path, cache_dir)
    (tmp_path / "t" / f"{TEXTS[1]}.wav").unlink()
    assert said(made, tmp_path / "elsewhere", cache_dir) == samples


def test_a_take_recorded_again_does_not_change_a_track_that_was_made(
    tmp_path: Path, cache_dir: Path
) -> None:
    made, samples = noted(tmp_path, cache_dir)
    record(tmp_path / "t", TEXTS[1], TEXTS[2])
    assert said(made, tmp_path, cache_dir) == samples


def test_without_the_cache_the_clip_is_made_again_whatever_its_file_is_called(
    tmp_path: Path, cache_dir: Path
) -> None:
    made, samples = noted(tmp_path, cache_dir)
    (tmp_path / "t" / f"{TEXTS[1]}.wav").rename(tmp_path / "t" / "renamed.wav")
    assert said(made, tmp_path, tmp_path / "empty") == samples
    assert said(made, tmp_path / "moved", tmp_path / "empty2", tmp_path / "t") == samples


def test_without_the_cache_a_take_recorded_again_is_named(tmp_path: Path, cache_dir: Path) -> None:
    made, _ = noted(tmp_path, cache_dir)
    record(tmp_path / "t", TEXTS[1], TEXTS[2])
    with pytest.raises(
        TakeError, match=r"'Noch zwei Minuten\.': the take of this line is gone, or"
    ):
        said(made, tmp_path, tmp_path / "empty")


def test_a_cache_that_takes_nothing_is_said_and_the_take_used(tmp_path: Path) -> None:
    record(tmp_path / "t", TEXTS[1], TEXTS[1])
    (tmp_path / "in-the-way").write_text("", encoding="utf-8")
    with opened(tmp_path / "t", german(), tmp_path / "in-the-way") as (speaker, _):
        assert speaker.clip(Line(TEXTS[1])).follows is False
        assert any("finished takes are not kept for next time" in told for told in speaker.told())


def test_a_damaged_entry_of_the_cache_is_made_again(tmp_path: Path, cache_dir: Path) -> None:
    record(tmp_path / "t", TEXTS[1], TEXTS[1])
    with opened(tmp_path / "t", german(), cache_dir) as (speaker, _):
        before = speaker.clip(Line(TEXTS[1])).samples.tobytes()
        for entry in cache_dir.rglob("*.clip"):
            entry.write_bytes(b"damaged")
        assert speaker.clip(Line(TEXTS[1])).samples.tobytes() == before


def test_a_speaker_that_prepares_is_told_only_of_lines_without_a_take(
    tmp_path: Path, cache_dir: Path
) -> None:
    told: list[Line] = []

    class Preparing(FakeSpeaker):
        def prepare(self, lines: list[Line], on_progress: object) -> None:
            assert on_progress is None
            told.extend(lines)

    record(tmp_path / "t", TEXTS[1], TEXTS[1])
    asked = FolderAsked(tmp_path / "t", stands=True, cache_dir=cache_dir)
    with folder_speaker(asked, german(), Preparing()) as speaker:
        speaker.prepare(Line(text) for text in TEXTS)
    assert told == [Line(TEXTS[0]), Line(TEXTS[2])]


def test_a_folder_is_noted_as_seen_from_the_sheet(tmp_path: Path) -> None:
    assert folder_from(tmp_path / "plans" / "takes", tmp_path / "out") == "../plans/takes"
    assert folder_from(tmp_path / "takes", tmp_path) == "takes"
