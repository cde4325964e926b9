"""Nothing half-written is left behind, and what cannot be read is said in one sentence."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from cuegen.errors import OutputError, PlanError
from cuegen.files import read_text, write_text, writing


def test_the_old_file_stays_until_the_new_one_is_whole(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"
    write_text(target, "old")
    with writing(target) as part:
        part.write_text("new")
        assert target.read_text() == "old"
        assert part.parent == target.parent
        assert part.suffix == ".txt"
    assert target.read_text() == "new"


@pytest.mark.parametrize("bang", [ValueError, KeyboardInterrupt])
def test_an_error_leaves_the_old_file_and_no_part(
    tmp_path: Path, bang: type[BaseException]
) -> None:
    target = tmp_path / "a.txt"
    write_text(target, "old")
    with pytest.raises(bang):
        _write_half(target, bang)
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]
    assert target.read_text() == "old"


def test_a_full_disk_is_an_output_error_naming_the_target(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"
    with (
        pytest.raises(OutputError, match=r"a\.txt: could not write: No space left"),
        writing(target),
    ):
        raise OSError(28, "No space left on device")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_the_way_is_an_output_error(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    with pytest.raises(OutputError, match="a folder of that name"):
        write_text(tmp_path / "out", "x")


def test_a_file_where_a_folder_should_be_is_an_output_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="Check the folder"):
        write_text(tmp_path / "file" / "a.txt", "x")


def test_a_written_file_may_be_read_by_others(tmp_path: Path) -> None:
    write_text(tmp_path / "a.txt", "x")
    assert stat.S_IMODE((tmp_path / "a.txt").stat().st_mode) & 0o044 == 0o044


def test_a_byte_order_mark_is_dropped(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_bytes(b"\xef\xbb\xbftitle: x")
    assert read_text(tmp_path / "a.yaml", PlanError, "plan") == "title: x"


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(PlanError, match=r"gone\.yaml: there is no such plan"):
        read_text(tmp_path / "gone.yaml", PlanError, "plan")


def test_a_folder_is_not_a_file(tmp_path: Path) -> None:
    with pytest.raises(PlanError, match="this is a folder, not a plan"):
        read_text(tmp_path, PlanError, "plan")


def test_other_encodings_are_refused_with_the_byte(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_bytes(b"title: caf\xe9")
    with pytest.raises(PlanError, match=r"not UTF-8 text \(byte 11\)"):
        read_text(tmp_path / "a.yaml", PlanError, "plan")


def _write_half(target: Path, bang: type[BaseException]) -> None:
    with writing(target) as part:
        part.write_text("half")
        raise bang
