"""What is worth saying: candidate cues with their wordings and windows.

Conventions
    All instants are milliseconds of the finished track and mean the onset of a
    line's first word. A candidate offers wordings in order of preference, best
    first; each has the span of onsets in which it is true and welcome. Every
    wording of a firm candidate has that very instant as its window.
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.errors import Where
from cuegen.script.kinds import CueKind


@dataclass(frozen=True, slots=True)
class Line:
    """Words to be spoken and how fast: 1.0 is the voice's own pace, 1.12 the limit."""

    text: str
    speed: float = 1.0


@dataclass(frozen=True, slots=True)
class Wording:
    """One way to say a cue: its onset may lie from earliest_ms to latest_ms, both included.

    part: what saying it so is worth, in per cent of the cue's value.
    """

    text: str
    earliest_ms: int
    latest_ms: int
    part: int = 100


@dataclass(frozen=True, slots=True)
class Candidate:
    """A cue that may be said. `id` depends only on what it is about, never on its neighbours.

    value: what saying it is worth, larger is better; unused for firm cues.
    prefer_ms: the onset that suits it best, for floating cues.
    ends_window: it is placed as late as its window allows, so that nothing follows in it.
    """

    id: str
    kind: CueKind
    segment: int
    wordings: tuple[Wording, ...]
    firm: bool = False
    value: int = 0
    prefer_ms: int = 0
    theme: str | None = None
    where: Where | None = None
    ends_window: bool = False


@dataclass(frozen=True, slots=True)
class Script:
    """All that is worth saying, in order of the instants that suit it.

    notes: what a coach might miss, and why it is not among them. quiet: spans of the
    track in which only firm cues speak. unsaid: cues for which no fresh words are left.
    """

    candidates: tuple[Candidate, ...]
    notes: tuple[str, ...] = ()
    quiet: tuple[tuple[int, int], ...] = ()
    unsaid: int = 0
