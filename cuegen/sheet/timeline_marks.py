"""The strip of a segment on paper, as rectangles: ground, voice, firm lines, quiet.

Conventions
    x and width are tenths of a second from the segment's start, y and height go
    from 0 (top) to 10 (ground line). Every strip of a page is drawn to one scale,
    the longest segment filling the width, so that lengths can be compared.
    The heights mean what they mean in the terminal: full for the instant of a
    firm line, half for the voice, a ground line for none, dots for planned quiet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cuegen.schedule.cuesheet import CueSheet, SheetSegment

MS_PER_UNIT = 100
FIRM_PART = 1 / 220
"""Width of a firm line's mark, as a part of the page's width: a good 0.8 mm."""

DOT_PART = 1 / 400


@dataclass(frozen=True, slots=True)
class Mark:
    x: int
    y: int
    width: int
    height: int


def scale(sheet: CueSheet) -> int:
    """Return how many units the width of the page stands for."""
    longest = max((s.end_ms - s.start_ms for s in sheet.segments), default=MS_PER_UNIT)
    return max(1, longest // MS_PER_UNIT)


def marks(sheet: CueSheet, segment: SheetSegment) -> tuple[Mark, ...]:
    """Return the rectangles of a segment's strip, from the ground up."""
    return (*_ground(sheet, segment), *_voice(sheet, segment), *_firm(sheet, segment))


def _ground(sheet: CueSheet, segment: SheetSegment) -> Iterator[Mark]:
    """Give the ground line, and dots in its place where quiet is planned."""
    dot = max(1, round(scale(sheet) * DOT_PART))
    at = segment.start_ms
    spans = sorted((max(q.start_ms, at), min(q.end_ms, segment.end_ms)) for q in sheet.quiet)
    for start, end in spans:
        if end <= start:
            continue
        if at < start:
            yield _mark(segment, at, start, 8, 2)
        first, last = (_units(segment, ms) for ms in (start, end))
        yield from (Mark(x, 8, dot, 2) for x in range(first + 2 * dot, last - dot, 4 * dot))
        at = max(at, end)
    if at < segment.end_ms:
        yield _mark(segment, at, segment.end_ms, 8, 2)


def _voice(sheet: CueSheet, segment: SheetSegment) -> Iterator[Mark]:
    for cue in sheet.cues:
        start, end = max(cue.at_ms, segment.start_ms), min(cue.end_ms, segment.end_ms)
        if start < end:
            yield _mark(segment, start, end, 5, 5)


def _firm(sheet: CueSheet, segment: SheetSegment) -> Iterator[Mark]:
    width = max(1, round(scale(sheet) * FIRM_PART))
    for cue in sheet.cues:
        if cue.firm and segment.start_ms <= cue.at_ms < segment.end_ms:
            yield Mark(_units(segment, cue.at_ms), 0, width, 10)


def _mark(segment: SheetSegment, start_ms: int, end_ms: int, y: int, height: int) -> Mark:
    x = _units(segment, start_ms)
    return Mark(x, y, max(1, _units(segment, end_ms) - x), height)


def _units(segment: SheetSegment, ms: int) -> int:
    return (ms - segment.start_ms + MS_PER_UNIT // 2) // MS_PER_UNIT
