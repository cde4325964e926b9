"""Faults of one check stand in the order in which they are worth mending."""

from __future__ import annotations

import numpy as np

from cuegen.verify.judging import report_of
from cuegen.verify.levels import Measured
from cuegen.verify.lines import LineHeard
from cuegen.verify.report import Check, CueVerdict, Fault
from tests.pages.samples import heard
from tests.sheet.samples import cues, sample_sheet


def line(
    name: str, *, off_ms: float = 0.0, under_db: float = 60.0, level_db: float = 0.0,
    length_ms: int = 3_000,
) -> LineHeard:  # fmt: skip
    """Return a line of the sample sheet; powers are those of a rest so far under it."""
    cue = heard(name, off_ms).model_copy(update={"level_db": level_db})
    late = abs(off_ms) > cue.limit_ms
    fault = Fault(check=Check.PLACEMENT, problem="off", cue=name, at_ms=cue.planned_ms)
    return LineHeard(
        cue=cue.model_copy(update={"verdict": CueVerdict.MOVED if late else CueVerdict.OK}),
        fault=fault if late else None,
        words=None,
        rest_power=10 ** (-under_db / 10),
        spoken_power=1.0,
        coding=0.0,
        speech_power=1.0,
        length_ms=length_ms,
    )


def faults_of(check: Check, **lines: LineHeard) -> list[str | None]:
    """Return the cues at fault, in the report's order, all other lines being as they should."""
    sheet = sample_sheet()
    heard_lines = tuple(lines.get(cue.id.replace(".", "_"), line(cue.id)) for cue in cues())
    measured = Measured(sheet.duration_ms, -17.5, 4.0, -2.0, np.zeros(0), ())
    report = report_of("track.wav", sheet, heard_lines, measured, ())
    assert {fault.check for fault in report.faults} <= {check}
    return [fault.cue for fault in report.faults]


def test_the_line_furthest_off_for_what_it_was_allowed_comes_first() -> None:
    """60 ms of a firm line's 10 are worse than 200 of a floating one's 50."""
    found = faults_of(
        Check.PLACEMENT,
        goal_1=line("goal.1", off_ms=-55.0),
        change_2=line("change.2", off_ms=60.0),
        results=line("results", off_ms=200.0),
    )
    assert found == ["change.2", "results", "goal.1"]


def test_the_line_with_most_under_it_for_its_length_comes_first() -> None:
    """Asked are 22.5 dB less 1; 300 ms are allowed 10 dB less: 8 dB are 3.5 short, 17 are 4.5."""
    found = faults_of(
        Check.BED,
        goal_1=line("goal.1", under_db=20.0),
        change_2=line("change.2", under_db=8.0, length_ms=300),
        results=line("results", under_db=17.0),
    )
    assert found == ["results", "change.2", "goal.1"]


def test_the_line_that_leaps_out_most_comes_first() -> None:
    found = faults_of(
        Check.EVENNESS,
        goal_1=line("goal.1", level_db=4.0),
        change_2=line("change.2", level_db=-6.0),
        results=line("results", level_db=5.0),
    )
    assert found == ["change.2", "results", "goal.1"]


def test_a_track_without_a_fault_has_none_to_sort() -> None:
    assert faults_of(Check.BED) == []
