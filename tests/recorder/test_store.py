"""A take is put into the folder: one for each line, whole, nowhere else, and examined."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from cuegen.errors import OutputError
from cuegen.recorder.store import Store
from cuegen.schedule.cuesheet import CueSheet
from cuegen.takes.examine import Examiner
from cuegen.takes.faults import FaultKind
from cuegen.takes.folder import matched, open_folder
from cuegen.takes.lines import lines_to_record
from tests.recorder.served import TEXTS, german_sheet, wav_bytes

NAMES = [line.name for line in lines_to_record(german_sheet())]


@contextmanager
def stored(folder: Path, sheet: CueSheet | None = None, *, stands: bool = True) -> Iterator[Store]:
    sheet = sheet or german_sheet()
    lines = lines_to_record(sheet)
    with Examiner(lines, sheet.sound.language) as examiner:
        yield Store(folder, lines, examiner, stands=stands)


def names(folder: Path) -> set[str]:
    return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}


def test_a_take_lands_under_the_name_that_takes_have(tmp_path: Path) -> None:
    """What is said lasts half a second; a clip may be some hundredths longer."""
    data = wav_bytes()
    with stored(tmp_path / "t") as store:
        kept = store.keep(2, data)
        assert kept.path == tmp_path / "t" / f"{NAMES[1]}.wav"
        assert kept.path.read_bytes() == data
        assert (kept.faults, kept.moved) == ((), ())
        assert kept.length_ms == pytest.approx(500, abs=60)
        assert store.recorded() == {2}
        found = matched(open_folder(tmp_path / "t"), store.lines.values())
    assert [path.name for path in found.takes.values()] == [f"{NAMES[1]}.wav"]
    assert names(tmp_path) == {f"t/{NAMES[1]}.wav"}


def test_a_line_said_again_replaces_its_take(tmp_path: Path) -> None:
    first, second = wav_bytes(seed=1), wav_bytes(seed=2)
    with stored(tmp_path) as store:
        store.keep(1, first)
        store.keep(1, second)
    assert names(tmp_path) == {f"{NAMES[0]}.wav"}
    assert (tmp_path / f"{NAMES[0]}.wav").read_bytes() == second


def test_earlier_takes_by_other_names_are_moved_aside_and_none_is_lost(tmp_path: Path) -> None:
    """By number, by its words, in another format; those of other lines stay."""
    (tmp_path / "earlier").mkdir()
    olds = ("02.wav", "Noch zwei Minuten.m4a", "3.wav", "earlier/02.wav")
    for old in olds:
        (tmp_path / old).write_bytes(old.encode())
    with stored(tmp_path) as store:
        kept = store.keep(2, wav_bytes())
        assert store.file_of(2) == kept.path
    assert sorted(kept.moved) == ["02.wav", "Noch zwei Minuten.m4a"]
    assert names(tmp_path) == {
        *(f"{NAMES[1]}.wav", "3.wav", "earlier/02.wav", "earlier/02 (2).wav"),
        "earlier/Noch zwei Minuten.m4a",
    }
    assert (tmp_path / "earlier" / "02.wav").read_bytes() == b"earlier/02.wav"
    assert (tmp_path / "earlier" / "02 (2).wav").read_bytes() == b"02.wav"


def test_nothing_leaves_the_folder_by_a_link(tmp_path: Path) -> None:
    folder, outside = tmp_path / "t", tmp_path / "outside"
    folder.mkdir()
    outside.mkdir()
    (outside / "kept.wav").write_bytes(b"mine")
    (folder / f"{NAMES[0]}.wav").symlink_to(outside / "kept.wav")
    (folder / "earlier").symlink_to(outside)
    (folder / "02.wav").write_bytes(b"old")
    with stored(folder) as store:
        store.keep(1, wav_bytes())
        with pytest.raises(OutputError, match="could not be moved aside: leads out of the folder"):
            store.keep(2, wav_bytes())
    assert (outside / "kept.wav").read_bytes() == b"mine"
    assert names(outside) == {"kept.wav"}
    assert not (folder / f"{NAMES[0]}.wav").is_symlink()


def test_a_folder_that_cannot_be_written_to_is_said(tmp_path: Path) -> None:
    (tmp_path / "t").write_bytes(b"a file")
    with stored(tmp_path / "t") as store, pytest.raises(OutputError, match="could not write"):
        store.keep(1, wav_bytes())


def test_silence_is_named(tmp_path: Path) -> None:
    silence = bytearray(wav_bytes())
    silence[44:] = bytes(len(silence) - 44)
    with stored(tmp_path) as store:
        kept = store.keep(1, bytes(silence))
    assert [fault.kind for fault in kept.faults] == [FaultKind.EMPTY]
    assert kept.length_ms is None


def test_a_take_longer_than_its_place_is_a_fault_where_the_sheet_stands(tmp_path: Path) -> None:
    """Places of 1.5 s; what is said lasts about 2.4 s."""
    crowded = german_sheet(longest_ms=1_500)
    with stored(tmp_path, crowded) as store:
        kept = store.keep(1, wav_bytes(5.0))
    assert [fault.kind for fault in kept.faults] == [FaultKind.TOO_LONG]
    assert kept.faults[0].problem.endswith("its place has 1.50 s")


def test_where_lines_can_move_it_is_only_named(tmp_path: Path) -> None:
    crowded = german_sheet(longest_ms=1_500)
    with stored(tmp_path, crowded, stands=False) as store:
        kept = store.keep(1, wav_bytes(5.0))
    assert kept.faults == ()
    assert "they are not English" in kept.doubt
    firm = crowded.model_copy(
        update={"cues": tuple(one.model_copy(update={"firm": True}) for one in crowded.cues)}
    )
    with stored(tmp_path, firm, stands=False) as store:
        kept = store.keep(1, wav_bytes(5.0))
    assert [fault.kind for fault in kept.faults] == [FaultKind.TOO_LONG]


def test_a_line_without_a_take_has_no_file(tmp_path: Path) -> None:
    with stored(tmp_path / "not-there") as store:
        assert store.recorded() == frozenset()
        assert store.file_of(3) is None
    assert len(TEXTS) == 3
