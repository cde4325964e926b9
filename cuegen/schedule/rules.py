"""The rules of placement, as numbers, and the spans they are counted in.

Conventions
    Instants are milliseconds of the track. A cue occupies [start, end): from
    LEAD_MS before its first word to the end of its clip.

Sources
    GAP_MS is the contract of this project. SPEEDS: up to 12 % faster than the
    voice's own pace is the contract too; that faster is tried in steps is ours.
    THEME_GAP_MS, CAP_FACTOR, CAP_LEAST: common practice, no source; a point made
    twice in a minute is heard as nagging, and no stretch of rowing should be
    talked through from end to end.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cuegen.targets.outline import Outline

SPEEDS = (1.0, 1.06, 1.12)
"""Paces a line may be spoken at, tried in this order."""

THEME_GAP_MS = 60_000
"""Least time between the onsets of two lines on one technique theme."""

EASY_EFFORT, HARD_EFFORT = 55, 90
EASY_WEIGHT, HARD_WEIGHT = 130, 75
"""Talk in easy rowing and in hard, in per cent of an even part: more words where there is
breath to hear them (our own judgement)."""

CAP_FACTOR = 1.6
CAP_LEAST = 0.25
CAP_MOST = 0.8
CAP_OPENING = 0.95


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of the track with a limit to its talk.

    share_cap: part of it, 0 to 1, never passed. weight: how much of the session's
    talk falls to it, in per cent of an even part; 0 where nothing is taken away.
    """

    start_ms: int
    end_ms: int
    share_cap: float
    weight: int = 100

    @property
    def budget_ms(self) -> int:
        return int((self.end_ms - self.start_ms) * self.share_cap)


@dataclass(frozen=True, slots=True)
class Frame:
    """Where cues may go: the track's length, its stretches, spans of quiet, talk in all.

    Stretch 0 is the opening, stretch i+1 segment i; the last one is the tail.
    quiet: (start, end) spans in which only firm cues speak.
    """

    duration_ms: int
    stretches: tuple[Stretch, ...]
    quiet: tuple[tuple[int, int], ...]
    budget_ms: int

    def stretch_at(self, at_ms: int) -> int:
        """Return the number of the stretch that holds an instant."""
        for number, stretch in enumerate(self.stretches):
            if at_ms < stretch.end_ms:
                return number
        return len(self.stretches) - 1

    def cut(self, first_ms: int, last_ms: int) -> Iterator[tuple[int, int, int]]:
        """Yield a span of onsets cut at the bounds of stretches: first, last, stretch."""
        for number in range(self.stretch_at(first_ms), self.stretch_at(last_ms) + 1):
            stretch = self.stretches[number]
            first = max(first_ms, stretch.start_ms) if number else first_ms
            last = min(last_ms, stretch.end_ms - 1)
            if number == len(self.stretches) - 1:
                last = last_ms
            if first <= last:
                yield first, last, number


def frame_of(outline: Outline, quiet: tuple[tuple[int, int], ...] = ()) -> Frame:
    """Return the frame of a session: caps follow its talk share. quiet: spans of the track."""
    share = outline.session.talk_share
    cap = min(CAP_MOST, max(CAP_LEAST, share * CAP_FACTOR))
    opening = Stretch(0, outline.lead_in_ms, CAP_OPENING, weight=0)
    rowing = tuple(
        Stretch(s.start_ms, s.end_ms, cap, _weight(s.effort_pct)) for s in outline.segments
    )
    tail = Stretch(outline.row_end_ms, outline.duration_ms, CAP_OPENING, weight=0)
    return Frame(
        duration_ms=outline.duration_ms,
        stretches=(opening, *rowing, tail),
        quiet=quiet,
        budget_ms=int(outline.duration_ms * share),
    )


def _weight(effort_pct: int) -> int:
    """Return how much talk suits an effort: more while it is easy, less while it is hard."""
    easy, hard = EASY_EFFORT, HARD_EFFORT
    effort = min(max(effort_pct, easy), hard)
    return EASY_WEIGHT - (EASY_WEIGHT - HARD_WEIGHT) * (effort - easy) // (hard - easy)
