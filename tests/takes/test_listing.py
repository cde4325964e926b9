"""The list of lines: what is written comes back, and nothing in it runs in a spreadsheet."""

from __future__ import annotations

import csv
import io

import pytest

from cuegen.errors import TakeError
from cuegen.takes.lines import TakeLine
from cuegen.takes.listing import (
    Listed,
    Standing,
    State,
    from_csv,
    numbers_of,
    seconds,
    to_csv,
    to_markdown,
    to_text,
)
from cuegen.takes.names import take_name


def line(number: int, text: str, *cues: str) -> TakeLine:
    return TakeLine(number, take_name(text), text, 2_470, None, 910, cues or ("a",), ("0:10",))


def standing(number: int, text: str, state: State = State.MISSING) -> Standing:
    return Standing(line(number, text), state)


def test_rows_come_back() -> None:
    text = to_csv([Standing(line(4, 'Say "now", twice.', "s01.own", "s02.own"), State.RECORDED)])
    assert from_csv(text) == (Listed(4, 'Say "now", twice.', ("s01.own", "s02.own")),)


def test_each_column_says_what_its_head_says() -> None:
    (row,) = csv.DictReader(io.StringIO(to_csv([standing(4, "Sit tall.")])))
    assert row == {
        "number": "4",
        "take": take_name("Sit tall."),
        "words": "Sit tall.",
        "longest_s": "2.4",
        "about_s": "0.9",
        "times": "1",
        "at": "'0:10",
        "cues": "a",
        "state": "missing",
    }


@pytest.mark.parametrize("words", ["=1+1 strokes", "-3", "@here", "2:04"])
def test_words_that_a_spreadsheet_would_run_are_guarded_and_come_back(words: str) -> None:
    text = to_csv([standing(1, words)])
    (row,) = csv.DictReader(io.StringIO(text))
    assert row["words"] == f"'{words}"
    assert from_csv(text)[0].text == words


def test_a_line_that_is_said_no_more_keeps_its_number() -> None:
    before = (Listed(1, "Old."), Listed(2, "Kept."))
    text = to_csv([standing(2, "Kept."), standing(3, "New.")], before)
    assert numbers_of(from_csv(text)) == {"kept": 2, "new": 3, "old": 1}
    assert "no longer said" in text.splitlines()[-1]


def test_lengths_are_rounded_down() -> None:
    assert [seconds(ms) for ms in (2_999, 2_900, 99, 10_000)] == ["2.9", "2.9", "0.0", "10.0"]


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("take,words\r\nx,y\r\n", "has no columns `number` and `words`"),
        ("", "has no columns `number` and `words`"),
        ("number,words\r\nx,Sit tall.\r\n", "line 2, column 1: 'x': a line's number"),
        ("number,words\r\n0,Sit tall.\r\n", "a line's number is a whole number from 1"),
        ("number,words\r\n10000,Sit tall.\r\n", "a line's number is a whole number from 1"),
        ("number,words\r\n1,...\r\n", "line 2, column 3: '...': this row has no words"),
        ("number,words\r\n1\r\n", "this row has no words"),
    ],
)
def test_what_is_no_list_is_refused_with_its_place(text: str, problem: str) -> None:
    with pytest.raises(TakeError, match=problem):
        from_csv(text, "lines.csv")


def test_the_text_says_every_line_with_its_room() -> None:
    text = to_text([standing(1, "Sit tall."), standing(2, "Go.", State.RECORDED)], "Thursday")
    assert "Thursday: lines to record" in text
    assert "   1  Sit tall." in text
    assert f"{take_name('Sit tall.')}; at most 2.4 s, about 0.9 s; at 0:10; missing" in text
    assert "at 0:10; recorded" in text


def test_markdown_breaks_on_no_sign_in_the_words() -> None:
    text = to_markdown([standing(1, "Push | pull <now>.")], "A|B")
    row = next(line for line in text.splitlines() if "Push" in line)
    assert "Push \\| pull \\<now>." in row
    assert row.replace("\\|", "").count("|") == 8
    assert text.startswith("# A\\|B: lines to record")


def test_an_edit_names_what_it_was() -> None:
    changed = Standing(line(1, "Sit up tall."), State.CHANGED, "Sit tall.")
    assert changed.state_words == "changed, was: Sit tall."
