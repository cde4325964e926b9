"""A history as files: which kind, whole or not at all, for the owner's eyes."""

from __future__ import annotations

import csv
import stat
from pathlib import Path

import pytest
from PIL import Image

from cuegen.errors import OutputError
from cuegen.pages.progress import progress_page
from cuegen.pages.progress_note import progress_note
from cuegen.pages.progress_plots import Plot, plot_png, plot_svg
from cuegen.pages.progress_save import WRITERS, save_progress
from cuegen.pages.progress_table import progress_csv
from cuegen.targets.history import History
from tests.targets.histories import history, piece


@pytest.mark.parametrize("suffix", WRITERS)
def test_the_name_s_ending_says_what_is_written(tmp_path: Path, suffix: str) -> None:
    expected = {
        ".html": progress_page(history()).encode(),
        ".txt": progress_note(history()).encode(),
        ".svg": plot_svg(history(), Plot.ALL).encode(),
        ".png": plot_png(history(), Plot.ALL),
        ".csv": progress_csv(history()).encode(),
    }
    path = tmp_path / f"maren{suffix.upper()}"
    save_progress(history(), path)
    assert path.read_bytes() == expected[suffix]
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("suffix", WRITERS)
def test_only_the_owner_may_read_it(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"maren{suffix}"
    save_progress(history(), path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_the_picture_has_all_three_drawings_one_below_the_other(tmp_path: Path) -> None:
    save_progress(history(), tmp_path / "maren.png")
    with Image.open(tmp_path / "maren.png") as picture:
        assert picture.size[0] == 960
        assert picture.size[1] > 2 * picture.size[0]


@pytest.mark.parametrize(
    ("name", "problem"),
    [
        ("maren.pdf", "progress cannot be written as '.pdf'"),
        ("maren", "the name of progress needs a suffix that says its format"),
    ],
)
def test_another_ending_is_refused_and_nothing_written(
    tmp_path: Path, name: str, problem: str
) -> None:
    with pytest.raises(OutputError, match=problem) as refused:
        save_progress(history(), tmp_path / name)
    assert refused.value.remedy == "Use one of .html, .txt, .svg, .png, .csv."
    assert refused.value.where.file == str(tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_a_place_that_cannot_be_written_to_is_named(tmp_path: Path) -> None:
    (tmp_path / "maren.txt").mkdir()
    with pytest.raises(OutputError, match="could not write"):
        save_progress(history(), tmp_path / "maren.txt")


# ------------------------------------------------------------------- csv


def rows_of(made: History) -> list[dict[str, str]]:
    text = progress_csv(made)
    assert text.startswith("\ufeffrower,")
    assert text.count("\n") == text.count("\r\n")
    return list(csv.DictReader(text.removeprefix("\ufeff").splitlines()))


def test_a_row_has_all_that_is_known_of_a_piece() -> None:
    rows = rows_of(history())
    assert len(rows) == 16
    assert rows[-1] == {
        "rower": "Maren Holt",
        "block": "Tern autumn",
        "week": "4",
        "title": "Back up",
        "easy": "no",
        "date": "2031-10-30",
        "segment": "2",
        "rate": "24",
        "target": "2:02.5",
        "held": "2:03.9",
        "off_s": "1.4",
        "work_per_stroke_j": "460",
        "heart_rate": "176",
        "felt_pct": "84",
    }
    assert [row["easy"] for row in rows].count("yes") == 4
    assert rows[0]["off_s"] == "-0.2"


def test_what_is_not_known_is_left_empty() -> None:
    (row,) = rows_of(history(pieces=(piece(20, "2:10.025"),)))
    assert row["held"] == "2:10.025"
    empty = {name for name, cell in row.items() if not cell}
    assert empty == {"segment", "target", "off_s", "heart_rate", "felt_pct"}


def test_a_name_that_begins_a_formula_is_not_run() -> None:
    """OWASP, "CSV Injection" (from memory): signs that begin one."""
    row = rows_of(history(rower="=HYPERLINK(1)", block="+1"))[0]
    assert (row["rower"], row["block"]) == ("'=HYPERLINK(1)", "'+1")


def test_nothing_rowed_is_a_table_without_rows() -> None:
    assert rows_of(history(pieces=())) == []
