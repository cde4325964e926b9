"""The note to the rower: short, theirs, and true of every history.

What it may say is worked out here from the pieces alone: power is
2.80 / (split / 500)^3, the relation of air-braked ergometers (common practice, no
source), work per stroke 60 P / rate.
"""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import permutations
from math import floor
from statistics import mean

import pytest
from hypothesis import given
from rich.cells import cell_len

from cuegen.pages.progress_note import COLUMNS, first_name, progress_note
from cuegen.targets.history import History, NextPiece, RowedPiece
from tests.targets.histories import histories, history, ms, piece

LINE = re.compile(
    r"rate (\d+): ([\d:.]+) in week (\d+), ([\d:.]+) in week (\d+), "
    r"(?:(\d+\.\d) s (faster|slower)|the same)"
)
NUMBER = re.compile(r"\d+:\d\d\.\d|\d+\.\d|\d+")


def flat(made: History) -> str:
    return " ".join(progress_note(made).split())


def tenths(split_ms: int) -> int:
    return floor(split_ms / 100 + 0.5)


def shown(split_ms: int) -> str:
    return f"{tenths(split_ms) // 600}:{tenths(split_ms) % 600 / 10:04.1f}"


def joules(one: RowedPiece) -> float:
    return 60 * 2.80 / (one.split_ms / 500_000) ** 3 / one.rate


def over(one: RowedPiece) -> int:
    assert one.target_ms is not None
    return tenths(one.split_ms) - tenths(one.target_ms)


# --------------------------------------------------------- what it says


def test_the_whole_note() -> None:
    assert progress_note(history()) == (
        "Maren, a look back on Tern autumn: 16 pieces on 8 days, and every one of\n"
        "them counts. Week 3 was planned easy, so it is not compared.\n"
        "\n"
        "Your best split at each rate, first week and last:\n"
        "  rate 18: 2:16.0 in week 1, 2:11.0 in week 4, 5.0 s faster\n"
        "  rate 20: 2:12.4 in week 1, 2:08.1 in week 4, 4.3 s faster\n"
        "  rate 22: 2:08.9 in week 1, 2:05.2 in week 4, 3.7 s faster\n"
        "  rate 24: 2:05.6 in week 1, 2:03.9 in week 4, 1.7 s faster\n"
        "\n"
        "What stands out: 12 % more work per stroke at rate 18, 519 J in week 4\n"
        "after 464 J in week 1.\n"
        "\n"
        "You met 15 of 16 targets, within half a second; rate 24 in week 4 was\n"
        "1.4 s over, 2:03.9 for 2:02.5. A miss tells as much of the target as of\n"
        "the day.\n"
        "\n"
        "What comes next: rate 16 at 2:11.0, rate 18 at 2:08.1 and rate 20 at\n"
        "2:05.2 (same splits as week 4, two strokes lower); rate 24 by effort,\n"
        "about 90 % (the target at 24 was missed: effort leads).\n"
        "\n"
        "Targets are offers: ease off when the day asks for it, stop on chest\n"
        "pain, dizziness or back pain, and a qualified coach's word goes before\n"
        "this note.\n"
    )


def test_nothing_rowed_is_said() -> None:
    assert flat(history(pieces=(), next_week=())).startswith(
        "Maren, a look back on Tern autumn: nothing rowed yet, so there is nothing to tell so far. "
        "Targets are offers"
    )


def test_one_piece_is_a_start_and_compared_with_nothing() -> None:
    words = flat(history(pieces=(piece(20, "2:10.0"),)))
    assert "1 piece on 1 day, a start." in words
    assert "No rate has come up in two weeks yet, so there is nothing to compare." in words
    assert "Your fastest piece was 2:10.0 at rate 20 in week 1." in words
    assert "No piece had a target: effort led." in words


def test_a_slower_split_is_said_and_nothing_is_made_of_it() -> None:
    words = flat(history(pieces=(piece(18, "2:10.0"), piece(18, "2:12.0", week=2, day=8))))
    assert "rate 18: 2:10.0 in week 1, 2:12.0 in week 2, 2.0 s slower" in words
    assert "stands out" not in words


def test_the_same_split_is_the_same() -> None:
    words = flat(history(pieces=(piece(18, "2:10.0"), piece(18, "2:10.04", week=2, day=8))))
    assert "rate 18: 2:10.0 in week 1, 2:10.0 in week 2, the same" in words
    assert "stands out" not in words


@pytest.mark.parametrize(
    ("held", "words"),
    [
        (("2:10.0",), "You met the one target there was, within half a second."),
        (("2:10.0", "2:09.0"), "You met all 2 targets, within half a second."),
        (
            ("2:12.0",),
            "The one target there was did not come off this time; rate 20 in week 1 was 2.0 s "
            "over, 2:12.0 for 2:10.0.",
        ),
        (
            ("2:12.0", "2:13.0"),
            "None of 2 targets came off this time. The 2 missed were 2.5 s over on average, the "
            "furthest rate 20 in week 1: 3.0 s over, 2:13.0 for 2:10.0.",
        ),
        (
            ("2:12.0", "2:13.0", "2:10.5"),
            "You met 1 of 3 targets, within half a second. The 2 missed were 2.5 s over on "
            "average, the furthest",
        ),
    ],
)
def test_targets_are_told_plainly(held: tuple[str, ...], words: str) -> None:
    rowed = tuple(piece(20, one, "2:10.0", day=day) for day, one in enumerate(held, start=1))
    assert words in flat(history(pieces=rowed))


def test_many_rates_are_cut_to_those_that_moved_most() -> None:
    rates = range(16, 28, 2)
    rowed = tuple(piece(rate, "2:10.0") for rate in rates) + tuple(
        piece(rate, f"2:0{9 - i}.5", week=2, day=8) for i, rate in enumerate(rates)
    )
    found = LINE.findall(flat(history(pieces=rowed)))
    assert [one[0] for one in found] == ["20", "22", "24", "26"]
    assert "at the rates that moved most, first" in flat(history(pieces=rowed))


def test_reasons_that_take_many_words_are_left_out_of_what_comes_next() -> None:
    then = (NextPiece(20, ms("2:08.0"), 80, "because " * 60), NextPiece(None, None, 70, ""))
    words = flat(history(next_week=then))
    assert "What comes next: rate 20 at 2:08.0 and any rate by effort, about 70 %. " in words
    assert "because" not in words


def test_more_than_six_pieces_to_come_are_counted() -> None:
    then = tuple(NextPiece(rate, None, 70, "") for rate in range(16, 24))
    assert "rate 21 by effort, about 70 %; and 2 more." in flat(history(next_week=then))


@pytest.mark.parametrize(
    ("rower", "name"),
    [
        ("Maren Holt", "Maren"),
        ("Maren", "Maren"),
        ("Holt, Maren", "Maren"),
        ("Holt,", "Holt"),
        ("  \u738b\u82b3 \t", "\u738b\u82b3"),
        ("", ""),
    ],
)
def test_the_first_name_is_used_as_it_is_given(rower: str, name: str) -> None:
    assert first_name(rower) == name


def test_a_rower_without_a_name_is_not_called_anything() -> None:
    assert progress_note(history(rower="")).startswith("A look back on Tern autumn: 16 pieces")


def test_the_note_is_eight_to_some_fifteen_lines_of_a_block() -> None:
    for made in (history(), history(pieces=history().pieces[:4]), history(next_week=())):
        lines = [line for line in progress_note(made).splitlines() if line]
        assert 8 <= len(lines) <= 18


# ------------------------------------------------- true of every history


def allowed(made: History) -> set[str]:
    """Return every number that can be had from the history."""
    pieces = made.pieces
    found = {str(n) for n in range(len(pieces) + len(made.next_week) + 1)}  # counts
    for one in pieces:
        found |= {str(one.week), str(one.rate), shown(one.split_ms), str(floor(joules(one) + 0.5))}
        found |= {shown(one.target_ms)} if one.target_ms is not None else set()
    for one, other in permutations(pieces, 2):
        if one.rate == other.rate:
            found.add(f"{abs(tenths(one.split_ms) - tenths(other.split_ms)) / 10:.1f}")
            found.add(str(floor(100 * (joules(other) / joules(one) - 1) + 0.5)))
    misses = [over(one) for one in pieces if one.target_ms is not None and over(one) > 5]
    found |= {f"{miss / 10:.1f}" for miss in misses}
    found |= {f"{floor(100 * mean(misses) + 0.5) / 1000:.1f}"} if misses else set()
    for then in made.next_week:
        found |= {str(then.rate), str(then.effort_pct), shown(then.split_ms or 0)}
    return found


@given(histories())
def test_every_number_in_it_is_one_of_the_history_s(made: History) -> None:
    assert set(NUMBER.findall(progress_note(made))) <= allowed(made)


@given(histories())
def test_faster_and_slower_are_what_the_pieces_say(made: History) -> None:
    easy = {week.number for week in made.weeks if week.easy}
    for rate, first, week, last, then, seconds, how in LINE.findall(flat(made)):
        held = {
            number: min(one.split_ms for one in made.pieces if here(one, number, rate))
            for number in {one.week for one in made.pieces if str(one.rate) == rate} - easy
        }
        assert (int(week), int(then)) == (min(held), max(held))
        assert (first, last) == (shown(held[int(week)]), shown(held[int(then)]))
        change = tenths(held[int(then)]) - tenths(held[int(week)])
        assert how == ("faster" if change < 0 else "slower" if change > 0 else "")
        assert seconds == (f"{abs(change) / 10:.1f}" if change else "")


def here(one: RowedPiece, week: int, rate: str) -> bool:
    return one.week == week and str(one.rate) == rate


@given(histories())
def test_more_work_stands_out_only_where_there_is_more(made: History) -> None:
    match = re.search(
        r"stands out: (\d+) % more work per stroke at rate (\d+), (\d+) J in week (\d+) "
        r"after (\d+) J in week (\d+)",
        flat(made),
    )
    if match is None:
        return
    assert int(match[3]) > int(match[5])
    assert int(match[4]) > int(match[6])
    for at, told in ((4, 3), (6, 5)):
        best = max(joules(one) for one in made.pieces if here(one, int(match[at]), match[2]))
        assert int(match[told]) == floor(best + 0.5)


@given(histories())
def test_the_count_of_targets_met_is_right(made: History) -> None:
    asked = [one for one in made.pieces if one.target_ms is not None]
    met = sum(over(one) <= 5 for one in asked)
    words = flat(made)
    if asked and met == len(asked) > 1:
        assert f"You met all {met} targets" in words
    if 0 < met < len(asked):
        assert f"You met {met} of {len(asked)} targets" in words
    if asked and not met:
        assert "came off this time" in words or "did not come off this time" in words


@given(histories())
def test_no_line_is_wider_than_72_columns_and_the_caution_ends_it(made: History) -> None:
    note = progress_note(made)
    assert max(cell_len(line) for line in note.splitlines()) <= COLUMNS == 72
    assert note.endswith("before\nthis note.\n")
    assert not any(line != line.rstrip() for line in note.splitlines())


@given(histories())
def test_neither_blame_nor_body_is_in_it(made: History) -> None:
    ours = replace(made, rower="Kit", block="Tern", next_week=())  # no words but the note's own
    words = set(re.findall(r"[a-z]+", progress_note(ours).lower()))
    assert not words & {
        *("fail", "failed", "failure", "poor", "bad", "weak", "lazy", "should", "must", "only"),
        *("weight", "body", "fat", "fit", "unfit", "heavy", "light", "disappointing", "sorry"),
    }
