"""A CSV is compared as it stands: another version, or one that could not be merged."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

import pytest

from cuegen.errors import SheetError
from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.kinds import CueKind
from cuegen.sheet.csv_compare import as_sheet
from cuegen.sheet.csv_format import to_text
from cuegen.sheet.difference import Change, difference
from tests.sheet.samples import sample_sheet

AT, KIND, FIRM, TEXT = 1, 2, 3, 5
Table = list[list[str]]
BASE = sample_sheet()


def edited(edit: Callable[[Table], object], *, delimiter: str = ",") -> str:
    rows = list(csv.reader(io.StringIO(to_text(BASE).removeprefix("\ufeff"), newline="")))
    edit(rows)
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter, quoting=csv.QUOTE_ALL).writerows(rows)
    return "\ufeff" + out.getvalue()


def set_cell(name: str, column: int, value: str) -> Callable[[Table], object]:
    def edit(rows: Table) -> None:
        next(row for row in rows if row[0] == name)[column] = value

    return edit


def changes(text: str, beside: CueSheet = BASE) -> list[tuple[Change, str, int, str]]:
    found = difference(beside, as_sheet(text, beside, "s.csv"))
    assert (found.sheet, found.segments, found.relengthened) == ((), (), 0)
    return [(c.change, c.id, c.moved_ms, c.text) for c in found.cues]


def test_what_was_written_does_not_differ_from_its_sheet() -> None:
    assert changes(to_text(BASE)) == []


def test_what_a_spreadsheet_does_to_cells_is_no_change() -> None:
    def saved(rows: Table) -> None:
        for row in rows[1:]:
            row[AT] = row[AT].removeprefix("'")
        set_cell("goal.1", AT, "01:20.0")(rows)  # it was 1:20.007
        set_cell("change.1", AT, "2:25")(rows)  # a firm cue, and the very instant

    assert changes(edited(saved, delimiter=";")) == []


def test_words_and_times_that_were_edited_are_told() -> None:
    def edit(rows: Table) -> None:
        set_cell("cool.3", TEXT, "Long, 20 more.")(rows)
        set_cell("goal.1", AT, "1:21")(rows)

    assert changes(edited(edit)) == [
        (Change.CHANGED, "goal.1", 993, "Next: twenty, two fourteen."),
        (Change.CHANGED, "cool.3", 0, "Long, twenty more."),
    ]


def test_a_row_of_the_coachs_own_is_new() -> None:
    text = edited(lambda rows: rows.append(["", "4:10", "", "", "", "Breathe.", "", ""]))
    assert changes(text) == [(Change.NEW, "own.added.250000", 0, "Breathe.")]


def test_a_csv_that_could_not_be_merged_is_compared_all_the_same() -> None:
    """A firm cue moved onto its neighbour, a firm row gone, an id that the sheet has not."""

    def edit(rows: Table) -> None:
        set_cell("change.1", AT, "3:20.500")(rows)
        set_cell("cool.3", 0, "s09.cool-down.1")(rows)
        del rows[3]

    assert changes(edited(edit)) == [
        (Change.GONE, "count.0.3", 0, "Three."),
        (Change.CHANGED, "change.1", 55_500, "Rate up, twenty."),
        (Change.GONE, "cool.3", 0, "Long and light."),
        (Change.NEW, "s09.cool-down.1", 0, "Long and light."),
    ]


def test_two_csvs_are_compared_on_the_clock_of_the_track() -> None:
    old = as_sheet(to_text(BASE))
    new = as_sheet(edited(set_cell("cool.3", TEXT, "Light.")), old)
    (change,) = difference(old, new).cues
    assert (change.id, change.clock_ms, change.was) == ("cool.3", 600_450, "Long and light.")


def test_a_csv_alone_keeps_kind_firmness_and_theme() -> None:
    cues = {cue.id: cue for cue in as_sheet(to_text(BASE)).cues}
    assert [(c.kind, c.firm, c.theme, c.segment) for c in cues.values()] == [
        (c.kind, c.firm, c.theme, c.segment) for c in BASE.cues
    ]


def test_columns_that_are_missing_are_taken_from_the_other_sheet() -> None:
    rows = [[cue.id, f"{cue.at_ms // 60_000}:{cue.at_ms % 60_000 / 1000:06.3f}", cue.text]
            for cue in BASE.cues]  # fmt: skip
    out = io.StringIO(newline="")
    csv.writer(out).writerows([["id", "at", "text"], *rows])
    assert changes(out.getvalue()) == []


def test_a_line_without_kind_beside_nothing_is_the_coachs_own() -> None:
    (cue,) = as_sheet("id,at,text\n,0:10,Breathe.\n").cues
    assert (cue.kind, cue.firm, cue.segment) == (CueKind.OWN, True, 0)


@pytest.mark.parametrize(
    ("edit", "message"),
    [
        (set_cell("cool.3", AT, "soon"), "row 16, column B 'at': this is no time"),
        (set_cell("cool.3", KIND, "song"), "row 16, column C 'kind': there is no such kind"),
        (set_cell("cool.3", 0, "finish"), "row 17, column A 'id': another row has the same id"),
    ],
)
def test_what_cannot_be_read_is_named(edit: Callable[[Table], object], message: str) -> None:
    with pytest.raises(SheetError, match=message) as caught:
        as_sheet(edited(edit), BASE, "s.csv")
    assert str(caught.value).startswith("s.csv")


def test_a_csv_without_lines_is_refused() -> None:
    with pytest.raises(SheetError, match="the CSV has no lines"):
        as_sheet("id,at,text\n")
