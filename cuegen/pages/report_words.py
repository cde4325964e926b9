"""What a listening report comes to, in one sentence, for a reader who knows no check's name."""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.sheet.wording import one_line
from cuegen.verify.report import Check, ListeningReport, Verdict

_ONE_OR_MORE = {
    Check.PRESENCE: ("1 line is missing", "{n} lines are missing"),
    Check.PLACEMENT: ("1 line begins off its instant", "{n} lines begin off their instants"),
    Check.NUMBERS: ("1 line has a wrong number", "{n} lines have a wrong number"),
    Check.WORDS: ("1 line lacks words", "{n} lines lack words"),
    Check.SAMENESS: ("1 line differs from its clip", "{n} lines differ from their clips"),
    Check.BED: ("1 line has too much under it", "{n} lines have too much under them"),
    Check.EVENNESS: (
        "1 line is louder or softer than the rest",
        "{n} lines are louder or softer than the rest",
    ),
}
"""Checks that are made of each line."""

_WHOLE = {
    Check.SHIFT: "the whole track lies early or late",
    Check.DURATION: "it is not as long as planned",
    Check.SILENCE: "something sounds where silence was planned",
    Check.TRUE_PEAK: "its peaks are too high",
    Check.LOUDNESS: "it misses its loudness",
}
"""Checks that are made of the whole file."""


def verdict_words(report: ListeningReport) -> str:
    """Return what is wrong, worst first, or that nothing is, as one sentence."""
    if report.verdict is Verdict.FAILED:
        return f"This track is not what its sheet asks: {_listed(list(_failing(report)))}."
    if report.skipped:
        return "In all that was checked, this track is what its sheet asks."
    return "This track is what its sheet asks."


def detail_words(report: ListeningReport) -> str:
    """Return the figures behind the verdict: how many faults, or what was heard."""
    if report.verdict is Verdict.FAILED:
        faults = report.counts.faults
        return f"{faults} fault{'' if faults == 1 else 's'}, below with line and time."
    return one_line(report.summary()).partition(": ")[2]


def _failing(report: ListeningReport) -> Iterator[str]:
    for check in Check:
        count = sum(fault.check is check for fault in report.faults)
        if count and check in _WHOLE:
            yield _WHOLE[check]
        elif count:
            one, more = _ONE_OR_MORE[check]
            yield one if count == 1 else more.format(n=count)


def _listed(parts: list[str]) -> str:
    *before, last = parts
    return f"{', '.join(before)} and {last}" if before else last
