"""Tests of cuegen.handouts: what was made for a rower is found again, and removed."""

from __future__ import annotations

import json
import os
import stat
from pathlib import Path

import pytest

from cuegen.errors import OutputError
from cuegen.handouts import handouts_of, note_handout, notes_folder, remove_handout


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return tmp_path / "data" / "results.db"


def made(log: Path, path: Path, rower: str = "Edda Kolm", say: str | None = None) -> Path:
    path.write_text("hers")
    note_handout(log, path, rower, say)
    return path


def test_a_file_made_for_a_rower_is_found_by_any_spelling(log: Path, tmp_path: Path) -> None:
    path = made(log, tmp_path / "week.mp3", say="Edd-a Kolm")
    (found,) = handouts_of(log, "edda  KOLM")
    assert (found.path, found.names) == (path, ("Edda Kolm", "Edd-a Kolm"))


def test_a_file_of_another_rower_is_not(log: Path, tmp_path: Path) -> None:
    made(log, tmp_path / "week.mp3", "Tore Vass")
    assert handouts_of(log, "Edda Kolm") == ()


def test_a_file_made_again_is_noted_once(log: Path, tmp_path: Path) -> None:
    for _ in range(2):
        made(log, tmp_path / "week.mp3")
    assert len(handouts_of(log, "Edda Kolm")) == 1


def test_one_file_may_be_of_two_rowers(log: Path, tmp_path: Path) -> None:
    """A block's memory holds what each of them heard."""
    for rower in ("Edda Kolm", "Tore Vass"):
        made(log, tmp_path / "spring.heard.json", rower)
    assert len(handouts_of(log, "Edda Kolm")) == len(handouts_of(log, "Tore Vass")) == 1


def test_a_removed_file_leaves_no_note(log: Path, tmp_path: Path) -> None:
    path = made(log, tmp_path / "week.mp3")
    assert remove_handout(handouts_of(log, "Edda Kolm")[0]) is True
    assert not path.exists()
    assert list(notes_folder(log).iterdir()) == []


def test_a_file_that_is_gone_already_is_no_trouble(log: Path, tmp_path: Path) -> None:
    made(log, tmp_path / "week.mp3").unlink()
    assert remove_handout(handouts_of(log, "Edda Kolm")[0]) is False
    assert handouts_of(log, "Edda Kolm") == ()


def test_a_file_that_cannot_be_removed_keeps_its_note(log: Path, tmp_path: Path) -> None:
    folder = tmp_path / "week.mp3"
    folder.mkdir()
    note_handout(log, folder, "Edda Kolm")
    with pytest.raises(OutputError, match="this file could not be removed"):
        remove_handout(handouts_of(log, "Edda Kolm")[0])
    assert len(handouts_of(log, "Edda Kolm")) == 1


@pytest.mark.parametrize("text", ["", "{", "[]", '{"path": 1}', json.dumps({"rower": "Edda Kolm"})])
def test_a_damaged_note_names_nobody(log: Path, tmp_path: Path, text: str) -> None:
    path = made(log, tmp_path / "week.mp3")
    (notes_folder(log) / "damaged.json").write_text(text)
    assert [one.path for one in handouts_of(log, "Edda Kolm")] == [path]


@pytest.mark.skipif(os.name != "posix", reason="rights as POSIX has them")
def test_only_the_owner_may_read_a_note(log: Path, tmp_path: Path) -> None:
    made(log, tmp_path / "week.mp3")
    (note,) = notes_folder(log).iterdir()
    assert stat.S_IMODE(note.stat().st_mode) == 0o600


def test_nobody_has_anything_before_the_first_note(log: Path) -> None:
    assert handouts_of(log, "Edda Kolm") == ()
