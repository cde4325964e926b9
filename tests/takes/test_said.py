"""What is made of what the aligner hears: right, doubtful, or another line."""

from __future__ import annotations

import pytest

from cuegen.hearing.words import HeardWord, Hearing
from cuegen.takes.faults import FaultKind
from cuegen.takes.said import OtherLine, Said, said_of

OWN = ("rate", "up", "twenty")
OTHERS = (OtherLine(OWN, "line 1"), OtherLine(("easy", "now"), "line 2, 'Easy now.'"))


def heard(words: str, score: float = -1.5) -> Hearing:
    spoken = words.split()
    timed = (HeardWord(w, 300 + 200 * n, 480 + 200 * n) for n, w in enumerate(spoken))
    return Hearing(tuple(timed), score)


def said(first: Hearing, picked: Hearing | None = None) -> Said:
    def pick() -> Hearing:
        assert picked is not None, "nobody had to ask again"
        return picked

    return said_of(OWN, first, OTHERS, pick)


def test_what_is_heard_word_by_word_is_right_and_placed() -> None:
    assert said(heard("rate up twenty")) == Said(True, None, "", 300, 880, -1.5)


def test_another_line_is_named() -> None:
    result = said(heard("rate up garden", -3.9), heard("easy now", -1.8))
    assert result.fault is not None
    assert result.fault.kind is FaultKind.OTHER_LINE
    assert result.fault.problem == "says line 2, 'Easy now.' (fit -1.8)"
    assert not result.follows


def test_another_number_is_a_fault_though_it_is_no_line() -> None:
    result = said(heard("rate up twenty two"), heard("rate up twenty", -2.5))
    assert result.fault is not None
    assert result.fault.problem == 'says "up twenty two" where "up twenty" was planned'


@pytest.mark.parametrize(("score", "is_doubt"), [(-2.9, True), (-3.4, True), (-3.5, False)])
def test_its_words_that_fit_badly_are_a_doubt_down_to_what_wrong_lines_reach(
    score: float, is_doubt: bool
) -> None:
    result = said(heard("rate up twenty", score), heard("rate up twenty", score))
    if is_doubt:
        assert result.fault is None
        assert result.doubt == f"its words are hard to follow (fit {score}, -2.8 is plain)"
        assert (result.first_ms, result.follows) == (300, False)
    else:
        assert result.fault is not None
        assert "says something else (fit -3.5, at least -3.4 is wanted" in result.fault.problem


def test_one_word_said_otherwise_is_a_doubt() -> None:
    result = said(heard("garden up twenty", -2.0), Hearing())
    assert result.fault is None
    assert result.doubt == '"rate" is not heard'


def test_most_words_said_otherwise_are_a_fault() -> None:
    result = said(heard("garden copper twenty", -2.0), Hearing())
    assert result.fault is not None
    assert "1 of 3 words are heard" in result.fault.problem


def test_nothing_heard_at_all_is_a_fault_without_a_figure() -> None:
    result = said(Hearing(), Hearing())
    assert result.fault is not None
    assert result.fault.problem == "says something else (none; 0 of 3 words are heard)"


def test_a_line_that_nobody_can_pronounce_is_used_and_said_to_be_unchecked() -> None:
    result = said(Hearing(unknown=("xqzt",)))
    assert result.fault is None
    assert result.doubt == "its words were not checked: no pronunciation is known of xqzt"
    assert not result.follows
