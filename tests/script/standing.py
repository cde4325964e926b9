"""What the very place of a cue must bear out: halves, first and last, instants, silence.

The ear's other half (claims.py) reads numbers; here are the claims that lie in words
such as "halfway" and "last piece", in the kind of a cue, and in an announced quiet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from cuegen.schedule.cuesheet import Cue
from cuegen.script.kinds import CueKind
from tests.script.moment import Moment
from tests.script.words import CARDINAL, TIME, time_ms

_HALF = re.compile(
    r"\b(?:halfway|midway|midpoint|(?:first|second|other|next) half"
    r"|half (?:of |the )*(?:this |the )?(?:session|piece|time|work)|(?:in )?half (?:done|over|gone)"
    r"|middle of (?:the|this) piece|mid piece)\b(?! of the (?:drive|push|stroke|slide))"
)
_OF_ITSELF = re.compile(r"\b(?:half\w*|halves|middle|mid\w+)\b")
_LAST = re.compile(
    r"\b(?:last|final) (?:piece|round|act)\b|\blast of (?:the (?:pieces|set|work)|them|yours)\b"
    r"|\blast one\b|\bno (?:more|further) pieces?\b"
)
_FIRST = re.compile(
    rf"\bfirst piece\b|\bfirst of (?:them|the pieces|{CARDINAL} pieces)\b|\bopen the pieces\b"
)
_UP = re.compile(r"\b(?:up|upwards|ris(?:e|ing)|rais(?:e|ing)|lift|higher|quicker|climb|build)\b")
_DOWN = re.compile(r"\b(?:down|downwards|sink|lower|slower|eas(?:e|ing)|drop|calm it)\b")
_CALLS = re.compile(
    r"\b(?:calls?|called|calling|counts?|changes?|clock|told|headlines|timetable|punctuation"
    r"|essentials|minimum|brief|few words|less|turns|i (?:say so|say when)|voice away"
    r"|voice steps back)\b"
)
"""Words by which an announced quiet says that something may still be called in it."""

_BACK = re.compile(r"\bback (?:in|after)\b|\bthen i am back\b")

LATE_MS = 15_000
AHEAD_MS = 9_000
"""An announcement and its span of quiet lie no further apart, whatever stands between."""


def standing_faults(told: Moment, text: str, silence: bool) -> Iterator[str]:
    """Yield what the place of a cue does not bear out. text: in small letters."""
    yield from _instant(told)
    yield from _half(told, text)
    if _LAST.search(text) and told.piece_meant not in (None, told.pieces[-1]):
        yield "this is not the last piece, nor right before it"
    if _LAST.search(text) and told.piece_meant is None and told.kind is not CueKind.FINISH:
        yield "no piece is on or ahead that could be the last"
    if _FIRST.search(text) and told.piece_meant not in told.pieces[:1]:
        yield "this is not the first piece, nor right before it"
    if told.kind in (CueKind.LAST_PIECE, CueKind.OFFER) and told.heard not in told.pieces[-1:]:
        yield "this is not the last piece"
    if told.kind is CueKind.RATE_CHANGE:
        yield from _direction(told, text)
    if told.kind is CueKind.QUIET:
        yield from _quiet(told, text, silence)


def _instant(told: Moment) -> Iterator[str]:
    """Firm calls stand on a segment's start, the finish on the end of rowing."""
    sheet, at_ms = told.sheet, told.at_ms
    if told.kind in (CueKind.START, CueKind.RATE_CHANGE, CueKind.SEGMENT_END):
        if at_ms not in {s.start_ms for s in sheet.segments}:
            yield "no segment starts here"
    elif told.kind is CueKind.FINISH and at_ms != sheet.row_end_ms:
        yield f"the session ends at {sheet.row_end_ms} ms"
    elif told.kind is CueKind.EXPECTED_END:
        late = at_ms - told.segment.end_ms
        if not 0 <= late <= 6_000:
            yield f"the piece is expected to end {late} ms before"


def _half(told: Moment, text: str) -> Iterator[str]:
    firm_call = told.kind in (CueKind.START, CueKind.RATE_CHANGE, CueKind.SEGMENT_END)
    if told.kind is CueKind.HALFWAY or (firm_call and _OF_ITSELF.search(text)):
        middle = (told.sheet.lead_in_ms + told.sheet.row_end_ms) / 2
        if abs(told.at_ms - middle) > 1:
            yield f"the session's half is at {middle} ms"
        if any(segment.predicted for segment in told.sheet.segments):
            yield "the session's half is not known"
    elif told.kind is CueKind.SEGMENT_HALFWAY or _HALF.search(text):
        segment = told.sheet.segments[told.heard]
        middle = (segment.start_ms + segment.end_ms) / 2
        if abs(told.at_ms - middle) > 1_001:
            yield f"the segment's half is at {middle} ms"


def _direction(told: Moment, text: str) -> Iterator[str]:
    before = told.sheet.segments[told.about - 1].rate if told.about else None
    after = told.segment.rate
    if before is None or after is None:
        return
    change = _middle(after) - _middle(before)
    if _UP.search(text) and change <= 0:
        yield f"the rate goes from {before} to {after}"
    if _DOWN.search(text) and change >= 0:
        yield f"the rate goes from {before} to {after}"


def _middle(rate: str) -> float:
    low, _, high = rate.partition("-")
    return (int(low) + int(high or low)) / 2


def _quiet(told: Moment, text: str, silence: bool) -> Iterator[str]:
    """A span of quiet follows, as long as is said; where silence is judged, it is kept."""
    cue = told.cue
    spans = [s for s in told.sheet.quiet if 0 <= s.start_ms - cue.at_ms <= AHEAD_MS]
    if not spans:
        yield "no span of quiet follows"
        return
    said = [time_ms(found[0])[1] for found in re.finditer(TIME, text)]
    lasts = spans[0].end_ms - spans[0].start_ms
    for length in said:
        if abs(length - lasts) > 1_000:
            yield f"{length} ms of quiet are said, {lasts} ms are true"
    if silence:
        end_ms = max([spans[0].end_ms, *(cue.end_ms + length - 1_000 for length in said)])
        yield from _broken(told, end_ms, calls=bool(_CALLS.search(text)))
        if _BACK.search(text):
            yield from _away(told, end_ms)


def _broken(told: Moment, end_ms: int, *, calls: bool) -> Iterator[str]:
    """Yield each cue that speaks from the end of an announcement to the end of its quiet."""
    for before, after in pairwise(_from(told)):
        if after.at_ms >= end_ms:
            return
        allowed = calls and after.firm
        if not allowed:
            yield f"{after.id} speaks {after.start_ms - before.end_ms} ms after {before.id}"


def _away(told: Moment, end_ms: int) -> Iterator[str]:
    """A voice that says when it will be back is back by then, or soon after."""
    late_ms = min((c.start_ms for c in _from(told)[1:]), default=end_ms) - end_ms
    if late_ms > LATE_MS:
        yield f"the voice is back {late_ms} ms later than it says"


def _from(told: Moment) -> list[Cue]:
    """Return the cue and those that follow it."""
    return [told.cue, *(c for c in told.sheet.cues if c.start_ms >= told.cue.end_ms)]
