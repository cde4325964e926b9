"""CSV: from many hands into the log, out of it and back."""

from __future__ import annotations

import csv
import io
import os
import random
import stat
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.errors import ResultsError
from cuegen.log import Log, LogEntry
from cuegen.log.entry import checked
from cuegen.log.table import decoded, load_entries, read_entries, save_entries, write_table
from cuegen.targets.results import COLUMNS, read_results
from tests.log.samples import DAY, ENTRIES, FULL, entry

HEADER = "rower,date,rate,split"
PLAIN = f"{HEADER},note\r\nÅsa Öberg,2031-05-24,20,2:05.5,für später\r\n"
EXPECTED = entry("Åsa Öberg", note="für später")


def entries(text: str) -> list[LogEntry]:
    return [row.entry for row in read_entries(text, file="held.csv")]


def refused(text: str) -> ResultsError:
    with pytest.raises(ResultsError) as caught:
        entries(text)
    return caught.value


# --------------------------------------------------------------- round trip


@given(st.lists(ENTRIES.map(checked), max_size=5))
def test_what_is_written_comes_back_equal(written: list[LogEntry]) -> None:
    assert entries(write_table(written)) == written


def test_the_columns_are_those_of_a_results_file() -> None:
    header = write_table([]).removeprefix("\ufeff").strip().split(",")
    assert sorted(header) == sorted(COLUMNS)


def test_parts_are_written_with_slashes() -> None:
    """As in no other cell a spreadsheet makes nothing of them: neither number, day nor formula."""
    written = entry(parts_ms=(134_200, 133_800, 134_567))
    cells = dict(
        zip(*csv.reader(write_table([written]).removeprefix("\ufeff").splitlines()), strict=True)
    )
    assert cells["parts"] == "2:14.2/2:13.8/2:14.567"


@pytest.mark.parametrize(
    "cell",
    ["2:14.2/2:13.8", "2:14,2/2:13,8", "'2:14.2/2:13.8", "02:14.2 / 02:13.8", "2:14.2,2:13.8"],
)
def test_parts_are_read_however_they_were_saved(cell: str) -> None:
    (found,) = entries(f'{HEADER},parts\nMaren Holt,2031-05-24,20,2:05.5,"{cell}"\n')
    assert found == entry(parts_ms=(134_200, 133_800))


def test_a_file_from_before_there_were_parts_is_known_again(log: Log) -> None:
    """Parts are noted beside what was rowed; they do not make it another rowing."""
    parted = entry(segment=2, parts_ms=(125_000, 126_000))
    older = write_table([replace(parted, parts_ms=())]).replace(",parts\r\n", "\r\n")
    older = "\r\n".join(line.removesuffix(",") for line in older.split("\r\n"))
    assert "parts" not in older
    log.add([parted])
    done = log.import_entries(row.entry for row in read_entries(older))
    assert (done.added, done.known) == (0, 1)
    assert log.entries() == (parted,)


def test_what_is_written_can_be_given_to_a_plan() -> None:
    """Row of a paddle left out: nobody holds a paddle."""
    held = read_results(write_table([entry(watts=177.0, segment=3), FULL]))
    assert [(row.rower, row.split_ms, row.watts, row.segment) for row in held.rows] == [
        ("Maren Holt", 125_500, 177.0, "3")
    ]


def test_a_cell_that_would_run_is_disarmed() -> None:
    """Read by another reader of CSV (Python's own), as a spreadsheet would see it."""
    harmful = '=HYPERLINK("http://example.org")'
    text = write_table([entry(harmful, session="+1", label="-2", note="@sum", watts=1.0)])
    cells = next(csv.reader(io.StringIO(text.splitlines()[1])))
    assert [cell for cell in cells if cell[:1] in ("=", "+", "-", "@")] == []
    assert entries(text)[0].rower == harmful


def test_a_written_file_is_its_owners_alone(tmp_path: Path) -> None:
    path = tmp_path / "held.csv"
    save_entries([FULL], path)
    assert [row.entry for row in load_entries(path)] == [FULL]
    if os.name == "posix":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


# ---------------------------------------------------------------- encodings


@pytest.mark.parametrize(
    "encoding",
    ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1", "cp1252"],
)
def test_the_same_file_in_every_encoding(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "held.csv"
    path.write_bytes(PLAIN.encode(encoding))
    assert [row.entry for row in load_entries(path)] == [EXPECTED]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_the_same_row_with_every_separator(separator: str) -> None:
    text = "\n".join(
        separator.join(cells)
        for cells in (
            ["rower", "date", "rate", "split", "metres", "duration"],
            ["Maren Holt", "2031-05-24", "20", '"2:05,5"', '"956,2"', '"0:04:00,1"'],
        )
    )
    assert entries(text) == [entry(metres=956.2, duration_ms=240_100)]


@pytest.mark.parametrize(
    "data",
    [b"\x00" * 100, b"PK\x03\x04\x14\x00\x06\x00" * 50, b"\xff\xfe\x00\xd8", b"\x81\x8d" * 9],
    ids=["zeros", "a workbook", "half a character", "undefined bytes"],
)
def test_what_is_no_text_is_refused(data: bytes) -> None:
    with pytest.raises(ResultsError, match=r"held\.csv: this is no text that a spreadsheet"):
        decoded(data, "held.csv")


@pytest.mark.parametrize("kind", ["bytes", "letters", "lines", "one quote", "rows"])
def test_ten_megabytes_of_noise_are_one_short_error(tmp_path: Path, kind: str) -> None:
    dice = random.Random(7)
    size = 10_000_000
    letters = bytes(dice.choices(b"abcdefgh,;:.0123456789 ", k=1000))
    path = tmp_path / "noise.csv"
    path.write_bytes(
        {
            "bytes": dice.randbytes(size),
            "letters": letters * (size // 1000),
            "lines": (letters + b"\n") * (size // 1001),
            "one quote": HEADER.encode() + b'\n"' + letters * (size // 1000),
            "rows": HEADER.encode() + b"\n" + (letters[:40] + b"\n") * (size // 41),
        }[kind]
    )
    with pytest.raises(ResultsError) as caught:
        load_entries(path)
    assert len(str(caught.value)) < 600


def test_a_file_of_more_than_any_log_is_refused_unread(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "held.csv"
    with path.open("wb") as file:
        file.truncate(64_000_001)
    monkeypatch.setattr(Path, "read_bytes", lambda _: pytest.fail("it was read"))
    with pytest.raises(ResultsError, match="larger than 64 MB"):
        load_entries(path)


@pytest.mark.parametrize(("name", "problem"), [("gone.csv", "No such file"), (".", "directory")])
def test_a_file_that_cannot_be_read_is_said(tmp_path: Path, name: str, problem: str) -> None:
    with pytest.raises(ResultsError, match=problem):
        load_entries(tmp_path / name)


# --------------------------------------------------------------------- days


def days(*texts: str) -> list[date]:
    return [
        one.day for one in entries("\n".join([HEADER, *(f"I,{text},20,2:05" for text in texts)]))
    ]


def test_one_day_of_the_column_tells_the_order_of_all() -> None:
    assert days("4/5/2031", "24/5/2031") == [date(2031, 5, 4), DAY]
    assert days("4/5/2031", "5/24/2031") == [date(2031, 4, 5), DAY]


@pytest.mark.parametrize("texts", [("4/5/2031",), ("24/5/2031", "4/5/2031", "5/24/2031")])
def test_an_order_that_cannot_be_told_is_refused(texts: tuple[str, ...]) -> None:
    text = "\n".join([HEADER, *(f"I,{text},20,2:05" for text in texts)])
    error = refused(text)
    assert error.problem == (
        "row 2, column date: whether the day or the month comes first cannot be told from this file"
    )
    assert error.where.text == texts[0]


def test_other_forms_beside_need_no_order() -> None:
    assert days("2031-05-24", "24.5.2031", "2031/5/24") == [DAY] * 3


# --------------------------------------------------------------------- rows


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("name,date,rate,split\n", "row 1, there is no such column"),
        (f"{HEADER}\nI,2031-05-24,20,2:05\nI,2031-05-24,201,2:05\n", "row 3, column rate: a rate"),
        (f"{HEADER}\nI,2031-05-24,20,0:49\n", "row 2, column split: a split faster than 0:50.0"),
        (f"{HEADER}\nI,31/2/2031,20,2:05\nI,30/1/2031,20,2:05\n", "row 2, column date: there is"),
        (f"{HEADER}\nI\x1b[2J,2031-05-24,20,2:05\n", r"row 2, column rower: the sign U+001B"),
        (f"{HEADER},parts\nI,2031-05-24,20,2:05,2:05\n", "row 2, column parts: a piece has 2 to"),
        (f"{HEADER},parts\nI,2031-05-24,20,2:05,2:05/9\n", "row 2, column parts: part 2, '9': th"),
        (f"{HEADER},segment\nI,2031-05-24,20,2:05,0\n", "row 2, column segment: this is no seg"),
        (f"{HEADER},segment,label\nI,2031-05-24,20,2:05,a,b\n", "row 2, column segment: this is"),
    ],
)
def test_one_broken_rule_one_error_with_its_row(text: str, problem: str) -> None:
    error = refused(text)
    assert error.problem.startswith(problem)
    assert error.where.file == "held.csv"
    assert error.remedy


@pytest.mark.parametrize(
    ("cell", "segment", "label"), [("3", 3, None), ("catch", None, "catch"), ("3 a", None, "3 a")]
)
def test_a_segment_in_words_is_its_label(cell: str, segment: int | None, label: str | None) -> None:
    (found,) = entries(f"{HEADER},segment\nI,2031-05-24,20,2:05,{cell}\n")
    assert (found.segment, found.label) == (segment, label)


def test_what_is_hard_to_believe_is_read_all_the_same() -> None:
    """It is for the doubts to ask about, not for the reader to refuse."""
    (found,) = entries(f"{HEADER},watts\nI,2031-05-24,90,0:58,100\n")
    assert (found.rate, found.split_ms, found.watts) == (90, 58_000, 100.0)


def test_each_row_knows_its_number() -> None:
    rows = read_entries(f"{HEADER}\n\nI,2031-05-24,20,2:05\n,,,\nI,2031-05-24,22,2:05\n")
    assert [row.spot.number for row in rows] == [3, 5]
