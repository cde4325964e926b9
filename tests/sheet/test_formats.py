"""The table of formats, and sheets read from and written to files."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuegen.errors import OutputError, SheetError
from cuegen.script.candidate import Line
from cuegen.sheet.formats import FORMATS, format_of, load_edited, load_sheet, save_sheet
from tests.sheet.samples import sample_sheet


def test_the_table_names_every_format_once() -> None:
    assert list(FORMATS) == [
        "json",
        "csv",
        "markdown",
        "webvtt",
        "subrip",
        "chapters",
        "publish",
        "html",
    ]
    suffixes = [end for fmt in FORMATS.values() for end in (fmt.suffix, *fmt.others)]
    assert len(set(suffixes)) == len(suffixes)
    assert all(fmt.summary for fmt in FORMATS.values())


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("a.sheet.json", "json"),
        ("a.json", "json"),
        ("a.CSV", "csv"),
        ("a.md", "markdown"),
        ("a.markdown", "markdown"),
        ("a.vtt", "webvtt"),
        ("a.chapters.vtt", "chapters"),
        ("a.htm", "html"),
    ],
)
def test_a_name_tells_its_format(name: str, expected: str) -> None:
    found = format_of(Path(name))
    assert found is not None
    assert found.name == expected


def test_a_name_without_a_known_ending_tells_none() -> None:
    assert format_of(Path("a.mp3")) is None


@pytest.mark.parametrize("name", list(FORMATS))
def test_each_format_is_written_as_its_text(name: str, tmp_path: Path) -> None:
    fmt = FORMATS[name]
    path = tmp_path / f"thursday{fmt.suffix}"
    save_sheet(sample_sheet(), path)
    assert path.read_bytes() == fmt.write(sample_sheet()).encode()


def test_a_named_format_goes_before_the_ending(tmp_path: Path) -> None:
    save_sheet(sample_sheet(), tmp_path / "a.txt", "markdown")
    assert (tmp_path / "a.txt").read_text().startswith("# Alder ladder")


def test_an_unknown_format_is_refused_and_nothing_written(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="no sheet format 'pdf'\n  Formats are json, csv"):
        save_sheet(sample_sheet(), tmp_path / "a.html", "pdf")
    with pytest.raises(OutputError, match="the name tells no sheet format"):
        save_sheet(sample_sheet(), tmp_path / "a.pdf")
    assert list(tmp_path.iterdir()) == []


def test_json_is_loaded_from_any_name(tmp_path: Path) -> None:
    save_sheet(sample_sheet(), tmp_path / "a.cues", "json")
    assert load_sheet(tmp_path / "a.cues") == sample_sheet()


def test_a_missing_sheet_is_named(tmp_path: Path) -> None:
    with pytest.raises(SheetError, match=r"none\.json: there is no such cue sheet"):
        load_sheet(tmp_path / "none.json")


@pytest.mark.parametrize(
    ("name", "remedy"),
    [("a.csv", "Name the JSON sheet it was written from as well"), ("a.vtt", "Name the JSON")],
)
def test_a_format_that_is_not_whole_cannot_be_loaded_alone(name: str, remedy: str) -> None:
    with pytest.raises(SheetError, match=f"does not hold the whole sheet\n  {remedy}"):
        load_sheet(Path(name))


def test_an_edited_csv_comes_back_from_its_file(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    save_sheet(sample_sheet(), path)
    assert load_edited(path, sample_sheet()) == sample_sheet()
    path.write_bytes(path.read_bytes().replace(b"And done.", b"That is it."))

    def measure(line: Line) -> int:
        return 100 * len(line.text)

    sheet = load_edited(path, sample_sheet(), measure)
    assert [c.text for c in sheet.cues if c.id == "finish"] == ["That is it."]


def test_a_fault_in_a_csv_file_names_the_file(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    save_sheet(sample_sheet(), path)
    path.write_bytes(path.read_bytes().replace(b"'10:00.450", b"later"))
    with pytest.raises(SheetError, match=r"a\.csv: 'later': row 16, column B 'at'"):
        load_edited(path, sample_sheet())
