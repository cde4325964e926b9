"""Listening reports made by hand: one without a fault, one with most kinds of them."""

from __future__ import annotations

from cuegen.script.kinds import CueKind
from cuegen.verify.report import (
    Check,
    Counts,
    CueVerdict,
    Fault,
    HeardCue,
    ListeningReport,
    Skipped,
    Verdict,
    limits,
    worst_first,
)
from tests.sheet.samples import cues


def heard(
    cue_id: str, offset_ms: float | None, verdict: CueVerdict = CueVerdict.OK, why: str = ""
) -> HeardCue:
    """Return a line of the sample sheet as it was heard so much late."""
    cue = next(cue for cue in cues() if cue.id == cue_id)
    planned_words = None if cue.kind is CueKind.BEAT else len(cue.text.split())
    return HeardCue(
        id=cue.id,
        kind=cue.kind,
        firm=cue.firm,
        text=cue.text,
        planned_ms=cue.at_ms,
        heard_ms=None if offset_ms is None else cue.at_ms + offset_ms,
        offset_ms=offset_ms,
        limit_ms=10.0 if cue.firm else 50.0,
        match=0.02 if offset_ms is None else 0.98,
        planned_words=planned_words,
        heard_words=planned_words,
        verdict=verdict,
        why=why,
    )


def good_report(**changes: object) -> ListeningReport:
    """Return a report in which every line lies within 0.4 ms of its place."""
    lines = tuple(heard(cue.id, round(0.05 * (i % 9) - 0.2, 2)) for i, cue in enumerate(cues()))
    report = ListeningReport(
        verdict=Verdict.OK,
        title="Alder ladder",
        file="alder.mp3",
        planned_duration_ms=671_000,
        heard_duration_ms=670_958,
        target_lufs=-17.5,
        loudness_lufs=-17.43,
        loudness_range_lu=4.2,
        true_peak_dbtp=-1.31,
        speech_to_bed_db=23.4,
        worst_firm_ms=0.2,
        worst_floating_ms=0.15,
        counts=Counts(
            planned=17,
            found=17,
            on_time=17,
            firm=8,
            firm_on_time=8,
            planned_words=61,
            heard_words=61,
            numbers=3,
            faults=0,
        ),
        faults=(),
        skipped=(Skipped(check=Check.SILENCE, why="a bed sounds all through"),),
        tolerances=limits(22.5),
        cues=lines,
    )
    return report.model_copy(update=changes) if changes else report


FAULTS = [
    Fault(check=Check.LOUDNESS, problem="-14.2 LUFS, 3.3 LU above the target"),
    Fault(check=Check.PLACEMENT, problem="60.0 ms late", cue="change.2", at_ms=385_000),
    Fault(check=Check.PRESENCE, problem="the line is not there", cue="left.1.60", at_ms=325_125),
    Fault(check=Check.NUMBERS, problem="two sixteen heard", cue="goal.1", at_ms=80_007),
]


def bad_report(**changes: object) -> ListeningReport:
    """Return a report with a late, a missing and a wrong line, and too loud."""
    changed = {
        "change.2": heard("change.2", 60.0, CueVerdict.MOVED, "60.0 ms late"),
        "left.1.60": heard("left.1.60", None, CueVerdict.MISSING, "not there"),
        "goal.1": heard("goal.1", 0.1, CueVerdict.WRONG_WORDS, "two sixteen heard"),
        "results": heard("results", -740.0, CueVerdict.MOVED, "740.0 ms early"),
    }
    good = good_report()
    lines = tuple(changed.get(cue.id, cue) for cue in good.cues)
    counts = good.counts.model_copy(
        update={"found": 16, "on_time": 14, "firm_on_time": 7, "faults": 5}
    )
    late = Fault(check=Check.PLACEMENT, problem="740.0 ms early", cue="results", at_ms=664_000)
    report = good.model_copy(
        update={
            "verdict": Verdict.FAILED,
            "loudness_lufs": -14.2,
            "worst_firm_ms": 60.0,
            "worst_floating_ms": 740.0,
            "counts": counts,
            "faults": worst_first([*FAULTS, late]),
            "cues": lines,
        }
    )
    return report.model_copy(update=changes) if changes else report
