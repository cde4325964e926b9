"""Where a cue stands among the segments of its sheet: what the ear compares words with.

Conventions
    `heard` is the index of the segment in which a cue begins (the first one in the
    opening, the last one after the finish), `about` that of the segment it speaks of:
    a goal and a ready call speak of the next one, a wait for a start too, the expected
    end of a distance piece of the one that should be over.

Everything is looked up in the sheet alone.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from cuegen.plan.model import SegmentKind
from cuegen.schedule.cuesheet import Cue, CueSheet, SheetSegment
from cuegen.script.kinds import CueKind

EASY = (SegmentKind.PADDLE, SegmentKind.REST)
_LAST_RATE = re.compile(r"\bat rate (\d+)\b")
_CHANGE = re.compile(r"\b([\d.]+) s (faster|slower) than each rower's own split at rate")
_STEP = re.compile(r"\b([\d.]+) s (faster|slower)\b")


@dataclass(frozen=True)
class Moment:
    """A cue with the segment it is heard in and the one it speaks of."""

    sheet: CueSheet
    cue: Cue
    heard: int
    about: int

    @property
    def kind(self) -> CueKind:
        return self.cue.kind

    @property
    def at_ms(self) -> int:
        return self.cue.at_ms

    @property
    def segment(self) -> SheetSegment:
        """The segment that it speaks of."""
        return self.sheet.segments[self.about]

    @property
    def pieces(self) -> list[int]:
        """The segments that are pieces of work, as indices."""
        rows = enumerate(self.sheet.segments)
        return [number for number, s in rows if s.kind is SegmentKind.ROW]

    @property
    def piece(self) -> int | None:
        """The number of the piece that it speaks of, from 1, None where that is no piece."""
        return self.pieces.index(self.about) + 1 if self.about in self.pieces else None

    @property
    def ended(self) -> list[int]:
        """The pieces that are over by now."""
        return [n for n in self.pieces if self.sheet.segments[n].end_ms <= self.at_ms]

    @property
    def coming(self) -> list[int]:
        """The pieces that begin later than now."""
        return [n for n in self.pieces if self.sheet.segments[n].start_ms > self.at_ms]

    @property
    def piece_meant(self) -> int | None:
        """The piece that "this piece" or "the coming one" must mean here: its index."""
        if self.about in self.pieces:
            return self.about
        return self.coming[0] if self.coming else None

    @property
    def rowed_before(self) -> SheetSegment | None:
        """What was rowed before the segment it speaks of; paddles and rests are passed over."""
        rowed = [s for s in self.sheet.segments[: self.about] if s.kind not in EASY]
        return rowed[-1] if rowed else None

    @property
    def last_rate(self) -> int | None:
        """The rate at which a split was held last time, where the target's reason tells it."""
        found = _LAST_RATE.search(self.segment.reason)
        return int(found[1]) if found else None

    @property
    def last_change_ms(self) -> int | None:
        """By how much the target lies off what each rower held last time, in the same place."""
        found = _CHANGE.search(self.segment.reason)
        if not found:
            return None
        return round(float(found[1]) * (-1_000 if found[2] == "faster" else 1_000))

    @property
    def step_ms(self) -> int | None:
        """By how much the split changes, negative for quicker, None where nothing tells it."""
        before = self.rowed_before
        if before and before.split_ms is not None and self.segment.split_ms is not None:
            return self.segment.split_ms - before.split_ms
        found = _STEP.search(self.segment.reason)
        if not found:
            return None
        return round(float(found[1]) * (-1_000 if found[2] == "faster" else 1_000))


def moment_of(sheet: CueSheet, cue: Cue) -> Moment:
    """Return where a cue stands."""
    inside = (n for n, s in enumerate(sheet.segments) if cue.at_ms < s.end_ms)
    heard = next(inside, len(sheet.segments) - 1)
    about = heard
    if cue.at_ms >= sheet.lead_in_ms and (
        cue.kind in (CueKind.GOAL, CueKind.GET_READY)
        or (cue.kind is CueKind.TIME_LEFT and _waits(sheet, heard))
    ):
        about += 1
    elif cue.kind is CueKind.EXPECTED_END:
        ended = [n for n, s in enumerate(sheet.segments) if s.end_ms <= cue.at_ms]
        about = ended[-1] if ended else heard
    return Moment(sheet, cue, heard, min(about, len(sheet.segments) - 1))


def _waits(sheet: CueSheet, heard: int) -> bool:
    """Return whether a segment is a wait for the start of the next one."""
    if heard + 1 >= len(sheet.segments):
        return False
    this, following = sheet.segments[heard].kind, sheet.segments[heard + 1].kind
    if this is SegmentKind.REST:
        return following is not SegmentKind.REST
    return this is not SegmentKind.ROW and following is SegmentKind.ROW
