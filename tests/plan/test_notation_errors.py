"""Every slip in the notation is refused at its line, column and text, with a remedy."""

from __future__ import annotations

import re

import pytest

from cuegen.errors import PlanError
from cuegen.plan.notation import parse_notation

# what stands in the plan, the column and text that the error points at, its words, its remedy
CASES = [
    ("5m", 1, "5m", "5 m is too short", "Did you mean 5:00 or 5min"),
    ("4:00 r20\n99m", 1, "99m", "99 m is too short", "99:00 or 99min"),
    ("row 0:00", 5, "0:00", "length is zero", "leave the line out"),
    ("0m", 1, "0m", "length is zero", "leave the line out"),
    ("0min", 1, "0min", "length is zero", "leave the line out"),
    ("4:75", 1, "4:75", "seconds go up to 59, not 75", "Did you mean 5:15"),
    ("1:75:00", 1, "1:75:00", "minutes go up to 59, not 75", "h:mm:ss"),
    ("4:5", 1, "4:5", "two digits for the seconds", "Write 4:05"),
    ("1:2:3:4", 1, "1:2:3:4", "too many colons", "h:mm:ss"),
    ("4:00.5", 1, "4:00.5", "whole seconds", "decimals"),
    ("4.01min", 1, "4.01min", "no whole number of seconds", "m:ss"),
    ("750.5m", 1, "750.5m", "metres are whole", "750m"),
    ("12:00:01", 1, "12:00:01", "over 12 hours", "digits"),
    ("1000:00", 1, "1000:00", "over 12 hours", "digits"),
    ("144001m", 1, "144001m", "over 12 hours", "digits"),
    ("99999999m", 1, "99999999m", "too many digits", "Check"),
    ("7:00:00\n  5:00:01 r18", 3, "5:00:01 r18", "session is over 12 hours", "Shorten"),
    ("2 x 1:00, rest 11:59:00", 1, "2 x 1:00, rest 11:59:00", "over 12 hours", "Shorten"),
    ("200 x 0:30\n" * 5 + "0:30", 1, "0:30", "over 1000 segments", "Shorten"),
    ("90s", 1, "90s", "'s' is no unit of length", "Did you mean 1:30"),
    ("4'", 1, "4'", "no unit of length", "Did you mean 4:00"),
    ("2k", 1, "2k", "'k' is no unit of length", "Did you mean 2000m"),
    ("5furlongs", 1, "5furlongs", "'furlongs' is no unit", "4:00, 4min or 750m"),
    ("5 r20", 1, "5", "number has no unit", "Did you mean 5:00"),
    ("750", 1, "750", "number has no unit", "750:00 or 750m"),
    ("0 x 4:00", 1, "0 x", "nobody rows this many repeats", "1 to 200"),
    ("201 x 4:00", 1, "201 x", "nobody rows this many repeats", "1 to 200"),
    ("2.5 x 4:00", 1, "2.5", "a number of repeats is a whole number", "Write 2"),
    ("4 x 4:00 r17/18/19", 10, "r17/18/19", "3 rates given, 4 needed", "Give 4 with /"),
    ("3 x 1:00/2:00", 5, "1:00/2:00", "2 lengths given, 3 needed", "Give 3 with /"),
    ("3 x 1:00 @2:05/2:04", 10, "@2:05/2:04", "2 targets given, 3 needed", "Give 3"),
    ("3 x 1:00 70/75%", 10, "70/75%", "2 efforts given, 3 needed", "Give 3"),
    ("3 x 1:00 (a/b/c/d)", 10, "(a/b/c/d)", "4 themes given, 3 needed", "Give 3"),
    ("4:00 r17/18", 6, "r17/18", "2 rates given, 1 needed", "Write `2 x` before"),
    ("4:00 r0", 7, "0", "nobody rows at this rate", "from 1 to 60"),
    ("4:00 r18-61", 10, "61", "nobody rows at this rate", "from 1 to 60"),
    ("4:00 r18.5", 7, "18.5", "a rate is a whole number", "Write 18"),
    ("4:00 r20-18", 7, "20-18", "runs downwards", "18-20"),
    ("4:00 @last r99", 13, "99", "nobody rows at this rate", "from 1 to 60"),
    ("4:00 r18 r20", 10, "r20", "a second rate", "r18/20"),
    ("4:00 @2:05 @2:04", 12, "@2:04", "a second target", "@2:10/2:08"),
    ("4:00 70% 80%", 10, "80%", "a second effort", "70/75%"),
    ("4:00 (catch) (legs)", 14, "(legs)", "a second theme", "(recovery/catch)"),
    ("4:00 @2:60", 7, "2:60", "seconds go up to 59, not 60", "3:00"),
    ("4:00 @2:5", 7, "2:5", "a split is minutes and seconds", "2:05"),
    ("4:00 @0:49", 7, "0:49", "nobody holds this split", "0:50 to 10:00"),
    ("4:00 @1:02:05", 7, "1:02:05", "this is no split", "@2:05.5"),
    ("4:00 @2:05.1234", 7, "2:05.1234", "this is no split", "@2:05.5"),
    ("4:00 @0W", 7, "0W", "within what a rower can do", "1 to 2000"),
    ("4:00 @2001W", 7, "2001W", "within what a rower can do", "1 to 2000"),
    ("4:00 @210kg", 7, "210kg", "'kg' is no unit of a target", "@210W"),
    ("4:00 @210", 7, "210", "no target on its own", "@210W"),
    ("4:00 @3", 7, "3", "no target on its own", "@-3, @last+3 or @last r3"),
    ("4:00 @2:05\n4:00 @-61", 7, "-61", "no plausible step", "at most 60 s"),
    ("4:00 @last+2.5", 7, "last+2.5", "small whole number", "at most 20"),
    ("4:00 @last-21", 7, "last-21", "small whole number", "at most 20"),
    ("4:00 @fast", 6, "@fast", "no place here", "@last+2, @last, @last-1s or @free"),
    ("4:00 @-3", 7, "-3", "no segment before this one has a target", "@2:14/-3"),
    ("4:00 @free\n2 x 4:00 @free/-3", 16, "-3", "no segment before this one", "@2:14/-3"),
    ("2 x 4:00 @-3/2:05", 11, "-3", "no segment before this one", "@2:14/-3"),
    ("4:00 101%", 6, "101", "a share of the most", "1% to 100%"),
    ("4:00 0%", 6, "0", "a share of the most", "1% to 100%"),
    ("4:00 70.5%", 6, "70.5", "an effort is a whole number", "Write 70"),
    ("4:00 70", 6, "70", "number has no unit", "70%"),
    ("rest 2:00 @2:05", 11, "@2:05", "so it has no target", "`paddle`"),
    ("rest 2:00 r18", 11, "r18", "so it has no rate", "`paddle`"),
    ("rest 2:00 50%", 11, "50%", "so it has no effort", "`paddle`"),
    ("rest 2:00 (catch)", 11, "(catch)", "so it has no theme", "`paddle`"),
    ("rest 500m", 6, "500m", "a rest covers no distance", "`paddle`"),
    ("2 x 4:00, rest 500m", 16, "500m", "a rest covers no distance", "`paddle`"),
    ("padle 4:00", 1, "padle", "label is not known", "Did you mean 'paddle'"),
    ("zzzz 4:00", 1, "zzzz", "label is not known", "warm-up, row, paddle, rest, cool-down"),
    ("2 x 4:00, pause 1:00", 11, "pause", "only a paddle or a rest", "paddle, rest"),
    ("2 x 4:00, row 1:00", 11, "row", "only a paddle or a rest", "paddle, rest"),
    ("2 x 4:00, 1:00", 9, ", 1:00", "break has no label", "`, paddle` or `, rest`"),
    ("2 x 4:00, rest 1:00/2:00", 16, "1:00/2:00", "a break has one length", "Keep one"),
    ("2 x 4:00, paddle 1:00 r18", 23, "r18", "a break has only a length", "before the comma"),
    ("2 x 4:00, paddle 5m", 18, "5m", "5 m is too short", "5:00 or 5min"),
    ("2 x 4:00 paddle 1:00", 10, "paddle", "no place here", "`, paddle 1:30`"),
    ("warm-up", 1, "warm-up", "ends too early", "4:00, 4min or 750m"),
    ("4:00 @  # later", 1, "4:00 @", "ends too early", "@2:05"),
    ("4:00 r18/\n2:00", 1, "4:00 r18/", "ends too early", "a number"),
    ("4:00 (", 1, "4:00 (", "ends too early", "(catch)"),
    ("4:00 (a!)", 6, "(a!)", "no place here", "all stand in ( )"),
    ("4:00 !!", 6, "!!", "no place here", "a rate (r20), a target (@2:05)"),
    ("r18 4:00", 1, "r18", "no place here", "The length comes first: 4:00 r18"),
    ("4 x row 4:00", 5, "row", "no place here", "The label comes first: row 4 x"),
    ("warm-up: 4:00", 1, "warm-up:", "no place here", "Leave out the colon"),
    ("4:00 @last r20-22", 12, "r20-22", "no place here", "carry their s: @last r20-1s"),
    ("4:00 r20 @last-2m", 15, "-2m", "no unit of a change", "@last+2-1s"),
    ("4:00 r20 @last-90s", 15, "-90s", "no plausible step", "at most 60 s"),
    ("", 1, None, "no entries", "20:00 r18-20"),
    ("# nothing", 1, "# nothing", "no entries", "20:00 r18-20"),
]  # fmt: skip


@pytest.mark.parametrize(("plan", "column", "text", "problem", "remedy"), CASES)
def test_a_slip_is_refused_at_its_place_with_a_remedy(
    plan: str, column: int, text: str | None, problem: str, remedy: str
) -> None:
    with pytest.raises(PlanError, match=re.escape(problem)) as caught:
        parse_notation(plan, file="p.yaml")
    where = caught.value.where
    assert (where.file, where.column, where.text) == ("p.yaml", column, text)
    assert remedy in caught.value.remedy


def test_the_line_is_that_of_the_file() -> None:
    with pytest.raises(PlanError, match="seconds go up to 59") as caught:
        parse_notation("4:00\n\n# x\n  4:75", first_line=10, first_column=3)
    where = caught.value.where
    assert (where.line, where.column, where.text) == (13, 5, "4:75")


def test_a_line_of_endless_length_is_refused_before_it_is_read() -> None:
    with pytest.raises(PlanError, match="over 4000 characters") as caught:
        parse_notation("4:00\n200 x 1:00" + "/1:00" * 1_000)
    assert caught.value.where.line == 2


def test_a_session_text_of_endless_length_is_refused_before_it_is_read() -> None:
    with pytest.raises(PlanError, match="session text is over 200000 characters"):
        parse_notation("4:00" + " " * 200_000)
    with pytest.raises(PlanError, match="session has over 2000 lines"):
        parse_notation("4:00\n" * 2_001)


def test_errors_are_in_a_coachs_words() -> None:
    """Nothing of the parser library's own wording or of the grammar's names comes through."""
    for plan, *_ in CASES:
        with pytest.raises(PlanError) as caught:
            parse_notation(plan)
        assert not re.search(r"token|terminal|expected one of|_[A-Z]|CLOCK|\^", str(caught.value))
