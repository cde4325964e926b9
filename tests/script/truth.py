"""Is what a cue says true at the instant at which it is heard?

Conventions
    An ear of its own: texts are read by the grammar of tests/script/words.py and the
    patterns below, sharing nothing with cuegen.script, and compared with the segments
    of the sheet (tests/script/moment.py). `false_statements` gives a sentence for each
    claim that is false and for each number that no pattern understands; an empty list
    means that all was understood and true. Every kind is judged but the coach's own
    lines, which are the coach's to answer for.

    What is claimed of the silence after a cue can only be judged where the cues stand
    as they will be heard: `silence=False` leaves that out, for sheets on which every
    reading of every cue is laid at once.

Tolerances
    A time left: 1 s; "just over" 0 to 15 s above, "just under" 0 to 10 s below.
    Metres left: a tenth. Strokes: the round figure, and those of the second that a
    time left may be out. Splits: the tenth. Steps: the half second, "about" 0.55 s.
    The half of the session: 1 ms, of a segment 1 s. Quiet: 1 s.

Contents
    false_statements   a sheet
    words.py numbers, moment.py where a cue stands, claims.py and standing.py what it claims
"""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.kinds import CueKind
from tests.script.claims import CLAIMS, PLAIN
from tests.script.moment import Moment, moment_of
from tests.script.standing import standing_faults
from tests.script.words import BAND, NUMBERISH, VALUES, number, split_ms, step_ms, time_ms

__all__ = ["BAND", "false_statements", "number", "split_ms", "step_ms", "time_ms"]

_TAKEN = " | "
"""Stands where a claim was understood, so that what lies around it never meets."""


def false_statements(sheet: CueSheet, *, silence: bool = True) -> list[str]:
    """Return a sentence for every claim of a sheet's cues that is not true where it stands."""
    return [
        f"{cue.id} at {cue.at_ms} ms, {cue.text!r}: {fault}"
        for cue in sheet.cues
        for fault in _faults(moment_of(sheet, cue), silence)
    ]


def _faults(told: Moment, silence: bool) -> Iterator[str]:
    text = told.cue.text.lower()
    if told.kind is CueKind.OWN:
        return
    if told.kind is CueKind.BEAT:
        yield from _beat(told, text.strip(" .!"))
        return
    yield from standing_faults(told, text, silence)
    for claim in CLAIMS:
        if claim.kinds and told.kind not in claim.kinds:
            continue
        for found in claim.pattern.finditer(text):
            yield from claim.check(told, found)
        text = claim.pattern.sub(_TAKEN, text)
    for pattern, kinds in PLAIN:
        if told.kind in kinds:
            text = pattern.sub(_TAKEN, text)
    if left := NUMBERISH.findall(text):
        yield f"nobody understands {left}"


def _beat(told: Moment, word: str) -> Iterator[str]:
    at_ms = told.cue.at_ms
    starts = {s.start_ms for s in told.sheet.segments}
    if word not in VALUES:
        if at_ms not in starts:
            yield "no segment starts here"
    elif at_ms + VALUES[word] * 1000 not in starts | {told.sheet.row_end_ms}:
        yield "nothing changes that many seconds later"
