"""Spans of quiet: announced in so many words, and kept.

The plan's own spans are taken as they are, in order of time. Where it gives none, each
long piece of work gets some: about a minute in which the rower is left alone with the
machine, clear of the calls and checks that must be heard. Only firm cues speak in a span.

Sources
    Leave them to row after a point was made: common practice, no source. How long
    and how often is our own judgement.
"""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.clock import MS_PER_MIN, MS_PER_S
from cuegen.script.candidate import Candidate
from cuegen.script.checks import check_instants
from cuegen.script.desk import Desk, numbered
from cuegen.script.facts import is_work
from cuegen.script.kinds import CueKind
from cuegen.script.spoken import TimeValue
from cuegen.targets.outline import PlannedSegment

LEAST_PIECE_MS = 210_000
LONG_PIECE_MS = 300_000
EVERY_MS = 6 * MS_PER_MIN
SHORT_MS, LONG_MS = 30_000, MS_PER_MIN
TALKATIVE_SHARE = 0.4
"""From this talk share on every span is short."""

BEFORE_MS, AFTER_MS = 8_000, 1_000
"""Kept clear of what must be heard: the announcement before a span, a breath after it."""

STEP_MS, REACH_MS = 5_000, 60_000
AHEAD_MS = 9_000


def plan_quiet(desk: Desk, firm_ms: list[int]) -> None:
    """Settle the spans of quiet and leave them on the desk. firm_ms: instants of firm cues."""
    lead_in = desk.outline.lead_in_ms
    given = desk.outline.session.quiet
    if given:
        desk.quiet = tuple(sorted((s.start_ms + lead_in, s.end_ms + lead_in) for s in given))
        return
    pieces = [s for s in desk.outline.segments if is_work(s) and s.length_ms >= LEAST_PIECE_MS]
    desk.quiet = tuple(span for planned in pieces for span in _spans(desk, planned, firm_ms))


def quiet_cues(desk: Desk, firm_ms: list[int]) -> Iterator[Candidate]:
    """Yield the announcement of each span."""
    for start, end in desk.quiet:
        index = desk.segment_at(start)
        planned = desk.outline.segments[index]
        has_calls = any(start <= at_ms < end for at_ms in firm_ms)
        fields = desk.facts.who() | {"length": TimeValue(end - start)}
        called_ms = max((at_ms for at_ms in firm_ms if at_ms < start), default=0)
        first_ms = max(start - AHEAD_MS, called_ms + 1)  # no call between it and the quiet
        reading = desk.reading(index, first_ms, start, fields)
        yield from desk.floating(
            f"{numbered(planned)}.quiet.{start - planned.start_ms}",
            CueKind.QUIET,
            index,
            (reading,),
            cases=("calls" if has_calls else "whole",),
            prefer_ms=start,
            ends_window=True,
        )


def _spans(desk: Desk, planned: PlannedSegment, firm_ms: list[int]) -> Iterator[tuple[int, int]]:
    """Yield the spans of a piece, each in its own part of it."""
    count = max(1, planned.length_ms // EVERY_MS)
    short = planned.length_ms < LONG_PIECE_MS
    length = SHORT_MS if short or desk.outline.session.talk_share >= TALKATIVE_SHARE else LONG_MS
    avoid = [*firm_ms, *check_instants(desk, planned)]
    part_ms = planned.length_ms // count
    for number in range(count):
        best = planned.start_ms + number * part_ms + part_ms * 58 // 100 - length // 2
        starts = [best + step for step in range(-REACH_MS, REACH_MS + 1, STEP_MS)]
        clear = [start for start in starts if _is_clear(start, start + length, planned, avoid)]
        if clear:
            start = min(clear, key=lambda at: (abs(at - best), at))
            yield start, start + length


def _is_clear(start: int, end: int, planned: PlannedSegment, avoid: list[int]) -> bool:
    if start - BEFORE_MS < planned.start_ms + 40 * MS_PER_S:
        return False
    if end > planned.end_ms - 20 * MS_PER_S:
        return False
    return not any(start - BEFORE_MS < at_ms < end + AFTER_MS for at_ms in avoid)
