"""The track while it is being filled: what stands where, and where there is still room.

Conventions
    Cues never overlap; between two of them lie at least GAP_MS, except inside a
    count (a beat and the firm cue next to it), where touching is enough.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from dataclasses import dataclass, field

from cuegen.schedule.cuesheet import GAP_MS, LEAD_MS
from cuegen.schedule.rules import Frame
from cuegen.script.candidate import Candidate, Line


@dataclass(frozen=True, slots=True)
class Placed:
    """A candidate with its wording, pace and place."""

    candidate: Candidate
    line: Line
    at_ms: int
    length_ms: int

    @property
    def start_ms(self) -> int:
        return self.at_ms - LEAD_MS

    @property
    def end_ms(self) -> int:
        return self.start_ms + self.length_ms


@dataclass(slots=True)
class Board:
    """Cues in order of start, and the talk spent per stretch and in all."""

    frame: Frame
    placed: list[Placed] = field(default_factory=list)
    spent_ms: list[int] = field(default_factory=list)
    total_ms: int = 0

    def __post_init__(self) -> None:
        self.spent_ms = [0] * len(self.frame.stretches)

    def put(self, cue: Placed) -> None:
        """Add a cue, whatever stands there already; the caller has looked."""
        insort(self.placed, cue, key=lambda other: other.start_ms)
        self.spent_ms[self.frame.stretch_at(cue.at_ms)] += cue.length_ms
        self.total_ms += cue.length_ms

    def free_spans(self, earliest: int, latest: int, length_ms: int) -> list[tuple[int, int]]:
        """Return the spans of onsets, within [earliest, latest], at which a clip has room."""
        low, high = earliest - LEAD_MS, latest - LEAD_MS  # from here on: clip starts
        low, high = max(low, 0), min(high, self.frame.duration_ms - length_ms)
        spans: list[tuple[int, int]] = []
        for hole_start, hole_end in self._holes(low, high + length_ms):
            start, last = max(low, hole_start), min(high, hole_end - length_ms)
            if start <= last:
                spans.append((start + LEAD_MS, last + LEAD_MS))
        return spans

    def theme_onsets(self, theme: str) -> list[int]:
        """Return the onsets of the lines already placed on a theme."""
        return [cue.at_ms for cue in self.placed if cue.candidate.theme == theme]

    def _holes(self, low: int, high: int) -> list[tuple[int, int]]:
        """Return the spans free for whole clips that touch [low, high]."""
        blocks = [(c.start_ms - GAP_MS, c.end_ms + GAP_MS) for c in self._near(low, high)]
        blocks += [span for span in self.frame.quiet if span[0] < high and span[1] > low]
        holes: list[tuple[int, int]] = []
        cursor = 0
        for start, end in sorted(blocks):
            if start > cursor:
                holes.append((cursor, start))
            cursor = max(cursor, end)
        holes.append((cursor, self.frame.duration_ms))
        return holes

    def _near(self, low: int, high: int) -> list[Placed]:
        """Return the cues that could stand in the way between low and high.

        Cues do not overlap, so only one that starts before `low` can reach it.
        """
        first = bisect_left(self.placed, low, key=lambda cue: cue.start_ms)
        last = bisect_left(self.placed, high + GAP_MS + 1, key=lambda cue: cue.start_ms)
        return self.placed[max(first - 1, 0) : last]
