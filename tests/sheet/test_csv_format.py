"""A CSV sheet goes to a spreadsheet and comes back; what an edit breaks is named by its cell."""

from __future__ import annotations

import contextlib
import csv
import io
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.cells import RUNS_AS_FORMULA, guard, unguard
from cuegen.errors import SheetError
from cuegen.schedule.cuesheet import LEAD_MS, CueSheet, Sound
from cuegen.script.candidate import Line
from cuegen.script.kinds import CueKind
from cuegen.sheet.checking import check_sheet
from cuegen.sheet.csv_cells import (
    COLUMNS,
    letter,
    parse_time,
    time_text,
)
from cuegen.sheet.csv_format import from_text, to_text
from tests.sheet.samples import cues, sample_sheet
from tests.sheet.strategies import sheets

Table = list[list[str]]

AT, KIND, FIRM, SEGMENT, TEXT, THEME = 1, 2, 3, 4, 5, 6


def measure(line: Line) -> int:
    """100 ms a letter at the voice's own pace, rounded up when faster."""
    return -int(-100 * len(line.text) // line.speed)


def table(sheet: CueSheet | None = None) -> Table:
    text = to_text(sheet or sample_sheet()).removeprefix("\ufeff")
    return list(csv.reader(io.StringIO(text, newline="")))


def written(rows: Table, delimiter: str = ",", line_end: str = "\r\n") -> str:
    out = io.StringIO(newline="")
    # With "\n" alone as its line end, Python's writer leaves a lone "\r" unquoted.
    if line_end == "\n":
        writer = csv.writer(out, delimiter=delimiter, lineterminator="\n", quoting=csv.QUOTE_ALL)
    else:
        writer = csv.writer(out, delimiter=delimiter, lineterminator=line_end)
    writer.writerows(rows)
    return out.getvalue()


def row_of(rows: Table, cue_id: str) -> list[str]:
    return next(row for row in rows if row[0] == cue_id)


def edited(edit: Callable[[Table], object]) -> CueSheet:
    rows = table()
    edit(rows)
    return from_text(written(rows), sample_sheet(), measure, "s.csv")


def set_cell(cue_id: str, column: int, value: str) -> Callable[[Table], object]:
    def edit(rows: Table) -> None:
        row_of(rows, cue_id)[column] = value

    return edit


def cue_named(sheet: CueSheet, cue_id: str) -> tuple[int, int, int, str, float]:
    cue = next(cue for cue in sheet.cues if cue.id == cue_id)
    return cue.at_ms, cue.start_ms, cue.end_ms, cue.text, cue.speed


# What comes back untouched


@given(sheets(), st.sampled_from(",;\t"), st.sampled_from(("\r\n", "\n")))
def test_any_sheet_comes_back_equal_through_any_delimiter(
    sheet: CueSheet, delimiter: str, line_end: str
) -> None:
    assert from_text(to_text(sheet), sheet) == sheet
    assert from_text(written(table(sheet), delimiter, line_end), sheet) == sheet


@pytest.mark.parametrize("text", ["0:30", "20", "1/2", "2.14", "50 %", "1e5", "5:00 pm", "True"])
def test_words_that_a_spreadsheet_takes_for_a_number_are_kept(text: str) -> None:
    assert guard(text) == "'" + text


@pytest.mark.parametrize("text", ["Rate 20.", "20 strokes", "Go!", "I'm 3", "e"])
def test_plain_words_are_written_bare(text: str) -> None:
    assert guard(text) == text


@given(sheets())
def test_no_cell_begins_like_a_formula(sheet: CueSheet) -> None:
    for row in table(sheet):
        for cell in row:
            assert cell.lstrip(" ")[:1] not in set(RUNS_AS_FORMULA)


@given(
    st.text()
    | st.from_regex(r"'{0,2}[0-9:. ]+", fullmatch=True)
    | st.sampled_from(("'", "''=", "' '=1", " =1", "'0:01", "\t"))
)
def test_a_guarded_cell_reads_back_the_same(text: str) -> None:
    assert unguard(guard(text)) == text


def test_a_spreadsheet_that_hides_the_apostrophe_still_reads_back() -> None:
    """Some take the apostrophe for their own mark of text, and save the cell without it."""
    rows = [[cell.removeprefix("'") for cell in row] for row in table()]
    assert from_text(written(rows), sample_sheet()) == sample_sheet()


def test_rows_and_columns_may_be_moved_and_columns_added_or_left_out() -> None:
    rows = [[row[5], row[1], "my note", row[0]] for row in table()]
    rows[0][2] = "note"
    assert from_text(written([rows[0], *reversed(rows[1:])]), sample_sheet()) == sample_sheet()


def test_blank_rows_byte_order_mark_and_sep_line_are_passed_over() -> None:
    rows = table()
    text = "\ufeffsep=;\r\n" + written([*rows[:3], [""] * 8, [], *rows[3:]], ";")
    assert from_text(text, sample_sheet()) == sample_sheet()


def test_times_cut_or_rounded_to_tenths_mean_the_same_instant() -> None:
    """A spreadsheet that shows mm:ss.0 saves 1:20.007 as 01:20.0 and 3:20.250 as 03:20.3."""
    rows = table()
    row_of(rows, "goal.1")[AT] = "01:20.0"
    row_of(rows, "technique.1.1")[AT] = "03:20.3"
    row_of(rows, "left.1.60")[AT] = "5:25,1"
    assert from_text(written(rows), sample_sheet()) == sample_sheet()


def test_line_breaks_and_blanks_that_a_spreadsheet_changes_are_no_edit() -> None:
    base = sample_sheet(cues=(cues()[0].model_copy(update={"text": "Welcome\r\nto the ladder. "}),))
    rows = table(base)
    rows[1][TEXT] = "Welcome\nto the ladder."
    assert from_text(written(rows), base) == base


def test_the_heading_row_and_first_cells_are_for_people() -> None:
    first, second = table()[:2]
    assert first == [column.name for column in COLUMNS]
    expected = "welcome|'0:00.500|welcome|no|1|Welcome to the Alder ladder.||'-0:25"
    assert "|".join(second) == expected


# What an edit does


def test_changed_words_are_measured_and_keep_their_instant() -> None:
    sheet = edited(set_cell("cool.3", TEXT, "Long, light, easy."))
    assert cue_named(sheet, "cool.3") == (600_450, 600_440, 602_240, "Long, light, easy.", 1.0)
    assert len(sheet.cues) == len(cues())


def test_words_with_little_room_are_spoken_a_little_faster() -> None:
    """5 s from the first beat's clip at 21.990 s back to 6.0 s is 15.99 s: 168 letters."""
    words = "w" * 168
    sheet = edited(set_cell("caution", TEXT, words))
    assert cue_named(sheet, "caution") == (6_010, 6_000, 6_000 + 15_850, words, 1.06)


def test_a_floating_cue_moves_with_its_length() -> None:
    sheet = edited(set_cell("cool.3", AT, "10:30"))
    assert cue_named(sheet, "cool.3")[:3] == (630_000, 629_990, 629_990 + 2_626)


def test_cues_are_put_in_order_of_their_new_times() -> None:
    sheet = edited(set_cell("welcome", AT, "0:15.000"))
    assert [cue.id for cue in sheet.cues[:3]] == ["caution", "welcome", "count.0.3"]


def test_moving_words_that_tell_a_time_leaves_a_note() -> None:
    sheet = edited(set_cell("left.1.60", AT, "5:30"))
    assert sheet.notes == (
        "The cool-down is short.",
        "left.1.60 was moved from 5:25.125 to 5:30.000: see that its words still hold there.",
    )


def test_a_row_taken_out_drops_a_floating_cue() -> None:
    sheet = edited(lambda rows: rows.remove(row_of(rows, "technique.2.1")))
    assert [c.id for c in cues() if c not in sheet.cues] == ["technique.2.1"]


def test_the_coachs_own_line_may_move_and_go_though_it_is_firm() -> None:
    assert cue_named(edited(set_cell("own.1", AT, "4:00")), "own.1")[0] == 240_000
    gone = edited(lambda rows: rows.remove(row_of(rows, "own.1")))
    assert "own.1" not in [cue.id for cue in gone.cues]


def test_a_row_without_id_is_a_line_of_the_coachs_own() -> None:
    sheet = edited(lambda rows: rows.append(["", "4:10", "", "", "", " Kit, breathe. ", "", ""]))
    cue = next(cue for cue in sheet.cues if cue.id == "own.added.250000")
    assert (cue.kind, cue.firm, cue.at_ms, cue.start_ms) == (CueKind.OWN, True, 250_000, 249_990)
    assert (cue.end_ms, cue.segment, cue.text) == (249_990 + 1_300, 1, "Kit, breathe.")
    check_sheet(sheet)


def test_an_added_line_comes_back_from_a_second_round() -> None:
    once = edited(lambda rows: rows.append(["", "4:10", "own", "yes", "2", "Kit.", "", ""]))
    assert from_text(to_text(once), once) == once


def test_new_words_are_kept_as_they_will_be_heard() -> None:
    """Figures in words; what the spreadsheet made of dashes and dots, as it was typed."""
    typed = "Hold 2:04.5 \u2013 80%\u2026\r\n 10 strokes"
    sheet = edited(set_cell("cool.3", TEXT, typed))
    assert cue_named(sheet, "cool.3")[3] == (
        "Hold two oh four point five - eighty percent... ten strokes"
    )


def test_words_in_a_language_without_spoken_numbers_are_kept_as_they_stand() -> None:
    base = sample_sheet(sound=Sound(voice="small", language="de"))
    rows = table(base)
    row_of(rows, "cool.3")[TEXT] = "Lang und leicht."
    assert cue_named(from_text(written(rows), base, measure), "cool.3")[3] == "Lang und leicht."


def test_a_line_that_moves_into_another_segment_belongs_to_it() -> None:
    sheet = edited(set_cell("technique.2.1", AT, "6:00"))
    moved = next(cue for cue in sheet.cues if cue.id == "technique.2.1")
    assert (moved.at_ms, moved.segment) == (360_000, 1)


def pinned() -> CueSheet:
    """The sample with its cool-down line held by the plan, firm where its kind floats."""
    held = [c.model_copy(update={"firm": c.firm or c.id == "cool.3"}) for c in cues()]
    return sample_sheet(cues=tuple(held))


def test_a_cue_that_the_plan_pinned_may_move_and_go() -> None:
    rows = table(pinned())
    row_of(rows, "cool.3")[AT] = "10:30"
    moved = from_text(written(rows), pinned())
    assert [(c.at_ms, c.firm) for c in moved.cues if c.id == "cool.3"] == [(630_000, True)]
    rows.remove(row_of(rows, "cool.3"))
    assert "cool.3" not in [cue.id for cue in from_text(written(rows), pinned()).cues]


def test_segment_and_theme_may_be_changed() -> None:
    rows = table()
    row_of(rows, "technique.2.1")[SEGMENT] = "4"
    row_of(rows, "technique.2.1")[THEME] = "=legs"
    cue = next(c for c in from_text(written(rows), sample_sheet()).cues if c.id == "technique.2.1")
    assert (cue.segment, cue.theme) == (3, "=legs")


# What an edit breaks

BROKEN: list[tuple[Callable[[Table], object], str]] = [
    (
        set_cell("cool.3", TEXT, " "),
        r"row 16, column F 'text': there is nothing to say",
    ),
    (set_cell("cool.3", AT, "ten"), r"'ten': row 16, column B 'at': this is no time"),
    (set_cell("cool.3", AT, "1:60.000"), "row 16, column B 'at': this is no time"),
    (set_cell("cool.3", AT, "1:75:00"), "row 16, column B 'at': this is no time"),
    (set_cell("cool.3", AT, ""), "row 16, column B 'at': the time is missing"),
    (set_cell("welcome", AT, "0:00.009"), "row 2, column B 'at': this lies before the track"),
    (
        set_cell("change.2", AT, "6:25.001"),
        r"row 13, column B 'at': the firm cue 'change\.2' was moved from 6:25\.000",
    ),
    (set_cell("change.2", AT, "6:26"), r"row 13, column B 'at': the firm cue 'change\.2'"),
    (
        set_cell("cool.3", KIND, "beat"),
        r"row 16, column C 'kind': the kind of a cue cannot be changed",
    ),
    (set_cell("cool.3", FIRM, "yes"), "row 16, column D 'firm': whether a cue is firm"),
    (set_cell("cool.3", SEGMENT, "5"), "row 16, column E 'segment': there is no such segment"),
    (set_cell("cool.3", SEGMENT, "two"), "row 16, column E 'segment': there is no such"),
    (
        set_cell("cool.3", 0, "cool.4"),
        r"row 16, column A 'id': the sheet has no cue of that name\n  Did you mean 'cool\.3'\?",
    ),
    (set_cell("cool.3", 0, "?"), r"row 16, column A 'id': the sheet has .*\n  Put the id back"),
    (set_cell("cool.3", TEXT, "Long & light"), "row 16, column F 'text': '&' cannot be spoken"),
    (set_cell("cool.3", TEXT, "At 1.5"), r"row 16, column F 'text': '15' cannot be spoken"),
    (
        lambda rows: rows.append(list(row_of(rows, "cool.3"))),
        "row 19, column A 'id': row 16 has the same id",
    ),
    (
        set_cell("goal.1", AT, "2:23.000"),
        r"row 8, column B 'at': rows 8 and 9 overlap: 'Next: .*' is spoken until 2:26\.200, "
        r"'Rate up, twenty.' begins at 2:24\.990",
    ),
    (
        set_cell("caution", AT, "0:03"),
        "row 3, column B 'at': rows 2 and 3 overlap",
    ),
    (
        set_cell("start.0", TEXT, "w" * 700),
        "row 7, column F 'text': rows 7 and 8 overlap",
    ),
    (
        lambda rows: rows.append(["", "3:50.5", "", "", "", "Hi.", "", ""]),
        r"row 19, column B 'at': rows 11 and 19 overlap",
    ),
    (
        lambda rows: rows.append(["", "4:10", "beat", "", "", "Hi.", "", ""]),
        "row 19, column C 'kind': .*\n  A line that you add is of kind 'own'",
    ),
    (
        lambda rows: rows.append(["", "4:10", "", "", "", "", "", "note"]),
        "row 19, column F 'text': there is nothing to say",
    ),
    (
        set_cell("results", AT, "11:10"),
        r"row 18, column B 'at': the line is spoken until 11:12\.818, the track ends at 11:11",
    ),
    (
        set_cell("results", AT, "11:04:00"),
        r"row 18, column B 'at': the line is spoken until 11:04:02\.818, the track ends",
    ),
    (set_cell("technique.2.1", AT, "7:39"), "row 14, column B 'at': .* in the quiet from 7:20"),
    (
        lambda rows: rows.remove(row_of(rows, "count.0.2")),
        r"row 5, column A 'id': the row of the firm cue 'count\.0\.2' \(0:23\.000 'Two\.'\) is "
        "gone from above this one",
    ),
    (
        lambda rows: rows.__delitem__(slice(-2, None)),
        r"row 16, column A 'id': the row of the firm cue 'finish' .* is gone from below this one",
    ),
    (lambda rows: rows.__delitem__(slice(1, None)), r"the firm cue 'count\.0\.3' .* is gone\n"),
    (lambda rows: rows[0].__setitem__(TEXT, "words"), "row 1: there is no column headed 'text'"),
    (lambda rows: rows[0].__setitem__(TEXT, "at"), "row 1: two columns are headed 'at'"),
    (list.clear, "the CSV is empty"),
]


@pytest.mark.parametrize(("edit", "message"), BROKEN)
def test_what_an_edit_breaks_is_named(edit: Callable[[Table], object], message: str) -> None:
    with pytest.raises(SheetError, match=message) as caught:
        edited(edit)
    assert str(caught.value).startswith("s.csv")
    assert caught.value.remedy


def test_rows_count_as_a_spreadsheet_counts_them() -> None:
    """A line break inside a cell begins no row, a blank row is one."""
    rows = table()
    rows[1][TEXT] = "Welcome\nto\nthe ladder."
    row_of(rows, "caution")[AT] = "soon"
    rows.insert(2, [])
    with pytest.raises(SheetError, match="row 4, column B 'at'"):
        from_text(written(rows), sample_sheet(), measure)


def test_columns_are_lettered_where_they_stand() -> None:
    rows = [["", *row] for row in table()]
    row_of([row[1:] for row in rows], "caution")
    next(row for row in rows if row[1] == "caution")[AT + 1] = "soon"
    with pytest.raises(SheetError, match="row 3, column C 'at'"):
        from_text(written(rows), sample_sheet(), measure)


def test_an_open_quotation_mark_is_named() -> None:
    with pytest.raises(SheetError, match=r"s\.csv, line 19: row 19 cannot be read"):
        from_text(written(table()) + 'x,"open', sample_sheet(), measure, "s.csv")


def test_new_words_without_a_voice_are_refused() -> None:
    rows = table()
    row_of(rows, "cool.3")[TEXT] = "Other words."
    with pytest.raises(SheetError, match="row 16, column F 'text': the words are new"):
        from_text(written(rows), sample_sheet())


@given(sheets(), st.data())
def test_any_edit_gives_a_sound_sheet_or_a_sheet_error(
    sheet: CueSheet, data: st.DataObject
) -> None:
    rows = table(sheet)
    for _ in range(data.draw(st.integers(1, 3))):
        row = rows[data.draw(st.integers(0, len(rows) - 1))]
        cell = st.sampled_from(("", "0:30", "12:00.5", "'=x", "own", "2", "yes")) | st.text(
            max_size=8
        )
        row[data.draw(st.integers(0, len(row) - 1))] = data.draw(cell)
    with contextlib.suppress(SheetError):
        check_sheet(from_text(written(rows), sheet, measure))


def test_a_stray_carriage_return_in_the_headings_is_an_error_like_any_other() -> None:
    with pytest.raises(SheetError, match=r"row 1: there is no column headed 'at'"):
        from_text("id\r" + written(table()), sample_sheet(), measure, "s.csv")


# Cells


@given(st.integers(0, 86_400_000))
def test_a_time_reads_back_to_the_millisecond(ms: int) -> None:
    typed = parse_time(time_text(ms))
    assert typed is not None
    assert (typed.ms, typed.decimals) == (ms, 3)


@pytest.mark.parametrize(
    ("cell", "ms"),
    [("0:07", 7_000), ("'61:02.5", 3_662_500), ("1:01:02,25", 3_662_250), (" 1:00 ", 60_000)],
)
def test_times_as_people_and_spreadsheets_write_them(cell: str, ms: int) -> None:
    typed = parse_time(cell)
    assert typed is not None
    assert typed.ms == ms


@pytest.mark.parametrize("cell", ["", "7", "0:7", "1:61", "-0:10", "1:00.1234", "1:00 pm", "0.5"])
def test_what_is_no_time_is_not_guessed_at(cell: str) -> None:
    assert parse_time(cell) is None


def test_columns_are_called_as_spreadsheets_call_them() -> None:
    assert [letter(n) for n in (0, 5, 25, 26, 51, 52, 701, 702)] == [
        "A",
        "F",
        "Z",
        "AA",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]


def test_the_lead_of_a_clip_is_the_contracts() -> None:
    sheet = edited(set_cell("cool.3", AT, "10:30"))
    assert all(cue.at_ms - cue.start_ms == LEAD_MS for cue in sheet.cues)
