"""The session cut into stretches, and stretches into rows of equal time.

Conventions
    Instants are milliseconds of the track. Stretches touch: what is said before
    the first stroke, each segment, what is said after the last stroke. Every row
    of a stretch stands for the same time, the last one for what is left of it,
    so that time runs down the page to one scale.
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.schedule.cuesheet import CueSheet, SheetSegment
from cuegen.sheet.wording import one_line

ROW_LENGTHS_MS = (15_000, 30_000, 60_000, 120_000, 180_000, 300_000, 600_000)
"""What a row may stand for, in milliseconds."""

MOST_LINES = 100
"""So many lines and no more, heads counted, where a longer row can help (our own judgement:
half an hour in rows of half a minute, an hour in minutes, an hour and a half in two minutes)."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the track. index: of its segment, None before and after rowing."""

    start_ms: int
    end_ms: int
    name: str
    index: int | None = None

    @property
    def length_ms(self) -> int:
        return self.end_ms - self.start_ms


def stretches(sheet: CueSheet) -> tuple[Stretch, ...]:
    """Return the opening, if there is one, each segment, and what follows the finish."""
    opening = Stretch(0, sheet.lead_in_ms, "Opening")
    rowed = tuple(
        Stretch(segment.start_ms, segment.end_ms, segment_name(segment), index)
        for index, segment in enumerate(sheet.segments)
    )
    close = Stretch(sheet.row_end_ms, sheet.duration_ms, "Finish")
    return (*((opening,) if opening.length_ms > 0 else ()), *rowed, close)


def segment_name(segment: SheetSegment) -> str:
    """Return "Row 2 of 4", "Warm-up": the label without its figures, else the kind."""
    return one_line(segment.label).partition(",")[0] or segment.kind.value.capitalize()


def row_length_ms(parts: tuple[Stretch, ...], heads: int) -> int:
    """Return the shortest row with which `heads` lines and all rows are MOST_LINES or fewer."""
    for length_ms in ROW_LENGTHS_MS:
        if heads + sum(len(row_starts(part, length_ms)) for part in parts) <= MOST_LINES:
            return length_ms
    return ROW_LENGTHS_MS[-1]


def row_starts(part: Stretch, length_ms: int) -> range:
    """Return the instants at which the rows of a stretch begin, none where it takes no time."""
    return range(part.start_ms, part.end_ms, length_ms)
