"""The results file: what it gives, and one error for each rule it can break."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cuegen.cells import guard, unguard
from cuegen.errors import ResultsError
from cuegen.targets.results import COLUMNS, Result, Results, load_results, read_results

HEADER = "rower,date,rate,split"
GOOD = "Ilka Brandt,2031-05-24,20,2:05.5"


def refused(text: str) -> ResultsError:
    with pytest.raises(ResultsError) as caught:
        read_results(text, file="held.csv")
    return caught.value


def test_every_column_comes_through() -> None:
    """Distinct values, so that two columns taken for each other would show."""
    text = (
        "note,segment,session,metres,watts,split,rate,date,rower,label,kind,duration,"
        "heart rate,felt,parts\n"
        "windy,3,Weir evening,1250,177.5,2:05.5,20,2031-05-24,Ilka Brandt,catch,row,0:05:13.8,"
        "151,80%,2:05.0/2:06.0\n"
    )
    assert read_results(text).rows == (
        Result(
            rower="Ilka Brandt",
            date=date(2031, 5, 24),
            rate=20,
            split_ms=125_500,
            watts=177.5,
            metres=1250.0,
            session="Weir evening",
            segment="3",
            note="windy",
            heart_rate=151,
            felt_pct=80,
        ),
    )
    assert set(text.splitlines()[0].replace(" ", "_").split(",")) == set(COLUMNS)


def test_only_rows_of_work_count() -> None:
    """A warm-up at rate 18 is nothing that was held at 18."""
    rows = (
        f"I,2031-05-24,{rate},2:05,{kind}"
        for rate, kind in ((18, "warm-up"), (20, "row"), (22, ""))
    )
    text = "\n".join((f"{HEADER},kind", *rows))
    assert [row.rate for row in read_results(text).rows] == [20, 22]


@pytest.mark.parametrize("split", ["2:05.5", "02:05,5", "00:02:05.5", "0:02:05.50"])
def test_a_split_that_a_spreadsheet_saved_again(split: str) -> None:
    assert read_results(f'{HEADER}\nI,2031-05-24,20,"{split}"\n').rows[0].split_ms == 125_500


def test_a_split_that_a_spreadsheet_took_for_hours() -> None:
    assert read_results(f"{HEADER}\nI,2031-05-24,20,02:05:00\n").rows[0].split_ms == 125_000


@pytest.mark.parametrize("day", ["2031-05-04", "2031/5/4", "4.5.2031", "04.05.2031"])
def test_a_day_that_can_be_read_in_one_way_only(day: str) -> None:
    assert read_results(f"{HEADER}\nI,{day},20,2:05\n").rows[0].date == date(2031, 5, 4)


@given(st.text(min_size=1))
def test_a_guarded_text_comes_back(text: str) -> None:
    assert unguard(guard(text)) == text


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", " =1", "\uff1dA1", "12", "1/2", "1e5"])
def test_a_text_that_would_run_or_turn_begins_with_an_apostrophe(text: str) -> None:
    assert guard(text) == f"'{text}"


def test_a_guarded_name_is_the_rowers_own() -> None:
    assert read_results(f"{HEADER}\n'@Ilka,2031-05-24,20,2:05\n").rowers == ("@Ilka",)


@pytest.mark.parametrize(
    "text",
    [
        f"{HEADER}\n{GOOD}\n",
        f"\ufeff{HEADER}\r\n{GOOD}\r\n",
        "rower;date;rate;split\nIlka Brandt;2031-05-24;20;2:05,5\n",
        ' Rower , DATE,rate,split\n Ilka  Brandt ,2031-05-24, 20,"2:05,5"',
        f"\n{HEADER},,\n,,\n{GOOD},,\n\n",
        "rower\tdate\trate\tsplit\nIlka Brandt\t2031-05-24\t20\t2:05,5\n",
    ],
    ids=[
        "plain",
        "bom-crlf",
        "semicolon-comma",
        "capitals-spaces-quoted",
        "blank-rows-cells",
        "tabs",
    ],
)
def test_the_same_row_in_every_dress(text: str) -> None:
    expected = Result("Ilka Brandt", date(2031, 5, 24), 20, 125_500)
    assert read_results(text).rows == (expected,)


def test_a_header_alone_is_a_log_not_yet_begun() -> None:
    assert read_results(HEADER) == Results(())


def test_rows_are_numbered_as_a_spreadsheet_shows_them() -> None:
    """A line break inside quotes is one row of the sheet but two lines of the file."""
    text = f'{HEADER},note\nIlka,2031-05-24,20,2:05,"windy,\ncold"\n\nIlka,2031-05-25,20,0:58,\n'
    error = refused(text)
    assert (error.where.line, error.problem[:6]) == (5, "row 4,")


@pytest.mark.parametrize(
    ("text", "line", "offending", "problem", "remedy"),
    [
        ("", None, None, "this results file is empty", "rower,date,rate,split"),
        (" \n;;\n", None, None, "this results file is empty", "rower,date,rate,split"),
        (
            "rower,date,rate,spilt\n",
            1,
            "spilt",
            "row 1, there is no such column, perhaps 'split' is meant",
            "Columns are rower, date, rate, split, watts",
        ),
        ("rower,date,rate,split,qqq\n", 1, "qqq", "row 1, there is no such column", "Columns are"),
        ("rower,date,split\n", 1, None, "row 1, the column 'rate' is missing", "header is rower"),
        (
            "rower,date,rate,split,rate\n",
            1,
            "rate",
            "row 1, the column 'rate' stands twice",
            "Keep one",
        ),
        (f"{HEADER}\nI,2031-05-24,20,\n", 2, None, "column split: the cell is empty", "2:05.5"),
        (f"{HEADER}\nI,2031-05-24\n", 2, None, "column rate: the cell is empty", "whole number"),
        (f"{HEADER}\nI,24/5/2031,20,2:05\n", 2, "24/5/2031", "no date of the form", "2031-05-24"),
        (f"{HEADER}\nI,2031-02-30,20,2:05\n", 2, "2031-02-30", "no such day", "2031-05-24"),
        (f"{HEADER}\nI,0231-05-24,20,2:05\n", 2, "0231-05-24", "the year 231", "Check the date"),
        (f"{HEADER}\nI,2031-05-24,9,2:05\n", 2, "9", "between 10 and 60 strokes", "Check"),
        (f"{HEADER}\nI,2031-05-24,61,2:05\n", 2, "61", "between 10 and 60 strokes", "Check"),
        (f"{HEADER}\nI,2031-05-24,20.5,2:05\n", 2, "20.5", "no whole number of strokes", "as 20"),
        (f"{HEADER}\nI,2031-05-24,20,0:58\n", 2, "0:58", "faster than 1:10.0 is hard", "Check it"),
        (f"{HEADER}\nI,2031-05-24,20,5:01\n", 2, "5:01", "slower than 5:00.0 is hard", "Check it"),
        (f"{HEADER}\nI,2031-05-24,20,9:99\n", 2, "9:99", "no split (m:ss or m:ss.t", "2:05.5"),
        (f"{HEADER}\nI,2031-05-24,20,125\n", 2, "125", "no split (m:ss or m:ss.t", "2:05.5"),
        (
            f"{HEADER}\nI,2031-05-24,20,2:05,5\n",
            2,
            "I,2031-05-24,20,2:05,5",
            "5 cells under 4 columns",
            "full stop (2:05.5)",
        ),
        (f"{HEADER},watts\nI,2031-05-24,20,2:05,many\n", 2, "many", "column watts", "mean power"),
        (f"{HEADER},metres\nI,2031-05-24,20,2:05,0\n", 2, "0", "column metres", "Check it"),
        (
            f"{HEADER},watts\nI,2031-05-24,20,2:05,210\n",
            2,
            "210",
            "the split 2:05.0 is 179 W",
            "Check it",
        ),
        (f"{HEADER},kind\nI,2031-05-24,20,2:05,sprint\n", 2, "sprint", "kind: there is", "one of"),
        (f"{HEADER},felt\nI,2031-05-24,20,2:05,101\n", 2, "101", "felt effort lies", "Check"),
        (f"{HEADER},felt\nI,2031-05-24,20,2:05,hard\n", 2, "hard", "of per cent", "such as 70"),
        (f"{HEADER},heart_rate\nI,2031-05-24,20,2:05,19\n", 2, "19", "between 20 and", "Check"),
        (f"{HEADER},heart_rate\nI,2031-05-24,20,2:05,251\n", 2, "251", "and 250", "Check"),
        (f"{HEADER},duration\nI,2031-05-24,20,2:05,4\n", 2, "4", "no length of time", "0:04:00"),
        (f"{HEADER},duration\nI,2031-05-24,20,2:05,1:60:00\n", 2, "1:60:00", "up to 59", "0:04"),
        (f"{HEADER},duration\nI,2031-05-24,20,2:05,0:00\n", 2, "0:00", "of that size", "Check"),
        (f"{HEADER}\nI,2031-05-24,20,1:02:05\n", 2, "1:02:05", "no split", "2:05.5"),
        (f"{HEADER}\nI,2031-05-24,٢٠,2:05\n", 2, "٢٠", "no whole", "as 20"),
        (f'{HEADER}\nI,2031-05-24,20,"2:05\n', 2, None, "row 2 is no CSV", "quotation mark"),
        (
            f"{HEADER}\n{GOOD}\n{GOOD.upper()}\n",
            None,
            "ILKA BRANDT, 2031-05-24, rate 20",
            "row 3 says the same as row 2",
            "segment column",
        ),
    ],
)
def test_one_broken_rule_one_error(
    text: str, line: int | None, offending: str | None, problem: str, remedy: str
) -> None:
    error = refused(text)
    assert error.where.file == "held.csv"
    assert (error.where.line, error.where.text) == (line, offending)
    assert problem in error.problem
    assert remedy in error.remedy


@pytest.mark.parametrize(
    ("column", "value"),
    [("rate", "10"), ("rate", "60"), ("split", "1:10"), ("split", "5:00.0")],
)
def test_the_bounds_themselves_are_allowed(column: str, value: str) -> None:
    row = {"rower": "I", "date": "2031-05-24", "rate": "20", "split": "2:05"} | {column: value}
    assert len(read_results(f"{','.join(row)}\n{','.join(row.values())}\n").rows) == 1


@pytest.mark.parametrize(("watts", "kept"), [(162, True), (161, False), (197, True), (198, False)])
def test_watts_may_lie_a_tenth_from_those_of_the_split(watts: int, kept: bool) -> None:
    """2:05 is 179.2 W exactly: 161.28 to 197.12."""
    text = f"{HEADER},watts\nI,2031-05-24,20,2:05,{watts}\n"
    if kept:
        assert read_results(text).rows[0].watts == watts
    else:
        assert "column watts" in refused(text).problem


LOG = read_results(
    f"{HEADER},segment\n"
    "Ilka,2031-05-24,20,2:05,1\n"
    "Jonas,2031-05-24,20,1:58,1\n"
    "Ilka,2031-05-31,20,2:04,1\n"
    "ilka,2031-05-31,20,2:04.5,2\n"
    "Ilka,2031-05-17,20,2:09,1\n"
    "Ilka,2031-05-31,18,2:08,3\n",
    file="held.csv",
)


def test_the_most_recent_day_counts_and_on_it_the_later_row() -> None:
    held = LOG.last_held("Ilka", 20)
    assert held is not None
    assert (held.date, held.split_ms, held.row) == (date(2031, 5, 31), 124_500, 5)


def test_names_are_one_whatever_their_capitals_and_spaces() -> None:
    assert LOG.last_held("  ILKA ", 20) == LOG.last_held("Ilka", 20)
    assert LOG.rowers == ("Ilka", "Jonas")


def test_a_rate_never_rowed_gives_nothing() -> None:
    assert LOG.last_held("Ilka", 22) is None


def test_only_results_of_earlier_days_are_before_a_day() -> None:
    rows = "\n".join(f"I,{day},20,2:05" for day in ("2031-05-24", "2031-05-23", "2031-05-25"))
    held = read_results(f"{HEADER}\n{rows}\nJ,2031-05-01,20,2:05\n", file="held.csv")
    earlier = held.before(date(2031, 5, 24))
    assert [(row.rower, row.date.day) for row in earlier.rows] == [("I", 23), ("J", 1)]
    assert earlier.file == "held.csv"
    assert not earlier.before(date(2031, 5, 1)).knows("J")


def test_an_unknown_rower_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(ResultsError, match=r"(?s)held\.csv: 'Ilke'.*nearest is 'Ilka'.*Jonas"):
        LOG.last_held("Ilke", 20)


def test_a_name_like_no_other_is_refused_with_all_of_them() -> None:
    with pytest.raises(ResultsError, match=r"(?s)'Zsuzsanna': .*\n  It has Ilka, Jonas\.") as bad:
        LOG.last_held("Zsuzsanna", 20)
    assert "nearest" not in str(bad.value)


def test_a_file_on_disk_and_its_name_in_errors(tmp_path: Path) -> None:
    path = tmp_path / "held.csv"
    path.write_bytes(f"\ufeff{HEADER}\r\n{GOOD}\r\n".encode())
    assert load_results(path).rows[0].split_ms == 125_500
    path.write_text(f"{HEADER}\nI,2031-05-24,20,0:58\n")
    with pytest.raises(ResultsError, match=r"held\.csv, line 2: '0:58'"):
        load_results(path)


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(ResultsError, match="there is no such results file"):
        load_results(tmp_path / "held.csv")


def test_a_long_offending_text_is_shown_in_part() -> None:
    shown = refused("x" * 100_000).where.text
    assert shown == "x" * 80 + "..."


def attempt(text: str) -> Results | ResultsError:
    try:
        return read_results(text)
    except ResultsError as error:
        return error


@given(st.text(alphabet=st.sampled_from('rowe,;"\n\r:.0123456789-\x00 \ufeff'), max_size=60))
def test_any_text_gives_results_or_one_clear_error(text: str) -> None:
    for source in (text, f"{HEADER}\n{text}"):
        outcome = attempt(source)
        assert isinstance(outcome, Results) or (outcome.problem and outcome.remedy)
