"""Which file is the take of which line: by name, by words, by number, and what is left over."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuegen.errors import TakeError
from cuegen.takes.folder import TakeFolder, matched, open_folder, standings
from cuegen.takes.lines import TakeLine, lines_to_record
from cuegen.takes.listing import LIST_NAME, Standing, State, to_csv
from cuegen.takes.names import take_name
from tests.takes.sheets import cue, sheet

TEXTS = ("Sit tall.", "Rate up, twenty.", "Easy.")


def lines(*texts: str) -> tuple[TakeLine, ...]:
    cues = (cue(f"s{n}", text, 20_000 + 5_000 * n, 900) for n, text in enumerate(texts or TEXTS))
    return lines_to_record(sheet(*cues))


def folder(path: Path, *names: str) -> TakeFolder:
    for name in names:
        (path / name).write_bytes(b"")
    return open_folder(path)


@pytest.mark.parametrize(
    "name",
    [
        f"{take_name('Rate up, twenty.')}.wav",
        f"{take_name('Rate up, twenty.')}.OPUS",
        f"best {take_name('Rate up, twenty.')}.flac",
        "Rate up, twenty.m4a",
        "rate_up_twenty.mp3",
        "2.ogg",
        "02.wav",
    ],
)
def test_a_file_means_its_line_by_name_by_words_or_by_number(tmp_path: Path, name: str) -> None:
    found = matched(folder(tmp_path, name), lines())
    assert found.takes == {"rate up twenty": tmp_path / name}
    assert (found.doubles, found.strangers) == ((), ())


def test_what_is_no_audio_or_hidden_is_not_seen(tmp_path: Path) -> None:
    found = matched(folder(tmp_path, "1.txt", ".2.wav", "notes.pdf"), lines())
    assert (found.takes, found.strangers) == ({}, ())


def test_of_two_files_for_a_line_the_last_is_taken_and_the_other_named(tmp_path: Path) -> None:
    found = matched(folder(tmp_path, "Easy.wav", "Easy (2).wav", "Easy (10).wav"), lines())
    assert found.takes["easy"].name == "Easy (10).wav"
    assert [path.name for path in found.doubles] == ["Easy.wav", "Easy (2).wav"]


def test_a_file_of_no_line_is_a_stranger(tmp_path: Path) -> None:
    found = matched(folder(tmp_path, "9.wav", "Hello there.wav"), lines())
    assert {path.name for path in found.strangers} == {"9.wav", "Hello there.wav"}


def test_numbers_are_those_of_the_list_in_the_folder(tmp_path: Path) -> None:
    """After an edit the sheet's second line is another one; the file is still the old line's."""
    old = [Standing(line, State.MISSING) for line in lines()]
    (tmp_path / LIST_NAME).write_text(to_csv(old), encoding="utf-8", newline="")
    found = matched(folder(tmp_path, "2.wav"), lines("Hello.", "Sit tall.", "Rate up, twenty."))
    assert found.takes == {"rate up twenty": tmp_path / "2.wav"}


def test_an_edit_asks_only_for_the_changed_take(tmp_path: Path) -> None:
    old = lines()
    recorded = folder(tmp_path, *(f"{line.name}.wav" for line in old))
    found = standings(lines("Sit tall.", "Rate up, twenty-two.", "Easy."), recorded)
    assert [s.state for s in found] == [State.RECORDED, State.CHANGED, State.RECORDED]
    assert found[1].was == "rate up twenty"


def test_an_edit_is_known_by_its_cue_though_its_words_are_all_new(tmp_path: Path) -> None:
    old = lines()
    text = to_csv([Standing(line, State.MISSING) for line in old])
    (tmp_path / LIST_NAME).write_text(text, encoding="utf-8", newline="")
    recorded = folder(tmp_path, "1.wav", "2.wav", "3.wav")
    found = standings(lines("Sit tall.", "Quick hands now.", "Easy."), recorded)
    assert [s.state for s in found] == [State.RECORDED, State.CHANGED, State.RECORDED]
    assert found[1].was == "Rate up, twenty."


def test_what_was_never_recorded_is_missing(tmp_path: Path) -> None:
    found = standings(lines("Quick hands now."), folder(tmp_path, "Easy.wav"))
    assert found[0].state is State.MISSING
    assert standings(lines("Easy."), None)[0].state is State.MISSING


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(TakeError, match="nowhere: this folder of takes cannot be read: no such"):
        open_folder(tmp_path / "nowhere")


def test_a_file_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "long.wav").write_bytes(b"")
    with pytest.raises(TakeError, match=r"long\.wav: this is a file, not a folder of takes"):
        open_folder(tmp_path / "long.wav")


def test_a_list_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    (tmp_path / LIST_NAME).write_text("number,words\n,Sit tall.\n", encoding="utf-8")
    with pytest.raises(TakeError, match=r"lines\.csv, line 2, column 1"):
        open_folder(tmp_path)
