"""The verdict in one sentence: every check has its words, worst first."""

from __future__ import annotations

import pytest

from cuegen.pages.report_words import detail_words, verdict_words
from cuegen.verify.report import Check, Fault, worst_first
from tests.pages.samples import bad_report, good_report

WORDS = {
    Check.SHIFT: "the whole track lies early or late",
    Check.DURATION: "it is not as long as planned",
    Check.PRESENCE: "2 lines are missing",
    Check.PLACEMENT: "2 lines begin off their instants",
    Check.NUMBERS: "2 lines have a wrong number",
    Check.WORDS: "2 lines lack words",
    Check.SAMENESS: "2 lines differ from their clips",
    Check.SILENCE: "something sounds where silence was planned",
    Check.BED: "2 lines have too much under them",
    Check.TRUE_PEAK: "its peaks are too high",
    Check.LOUDNESS: "it misses its loudness",
    Check.EVENNESS: "2 lines are louder or softer than the rest",
}


def test_a_failed_track_says_what_fails_worst_first() -> None:
    assert verdict_words(bad_report()) == (
        "This track is not what its sheet asks: 1 line is missing, 2 lines begin off their "
        "instants, 1 line has a wrong number and it misses its loudness."
    )
    assert detail_words(bad_report()) == "5 faults, below with line and time."


@pytest.mark.parametrize("check", Check)
def test_each_check_alone_has_its_words(check: Check) -> None:
    faults = (Fault(check=check, problem="one"), Fault(check=check, problem="two"))
    report = bad_report(faults=worst_first(list(faults)))
    assert verdict_words(report) == f"This track is not what its sheet asks: {WORDS[check]}."


def test_a_good_track_says_so_and_where_something_was_left_out_that_too() -> None:
    whole = good_report(skipped=())
    assert verdict_words(whole) == "This track is what its sheet asks."
    assert (
        verdict_words(good_report())
        == "In all that was checked, this track is what its sheet asks."
    )
    assert detail_words(good_report()).endswith("-1.3 dBTP, silence not checked")


def test_a_check_that_was_left_out_of_many_lines_is_named_once() -> None:
    skipped = good_report().skipped * 3
    assert good_report(skipped=skipped).summary().count("silence not checked") == 1
