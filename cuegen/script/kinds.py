"""The one table of cue kinds. Checks, phrase books, help and docs derive from it.

`value` ranks floating kinds against each other when not all of them find room
(our own judgement of what a rower would miss most; common practice, no source).
`fields` names what a phrase of that kind may mention (cuegen.script.fields says
what each is); a phrase book that uses another name is refused when it is loaded.
`cases` are the occasions a kind has wordings for: a line of a phrase book says
`when: <case>`, or serves all of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from cuegen.plan.model import Audience


class CueKind(StrEnum):
    BEAT = "beat"
    START = "start"
    RATE_CHANGE = "rate-change"
    SEGMENT_END = "segment-end"
    HALFWAY = "halfway"
    FINISH = "finish"
    WELCOME = "welcome"
    CAUTION = "caution"
    GOAL = "goal"
    GET_READY = "get-ready"
    TARGET = "target"
    HOLD = "hold"
    SETTLE = "settle"
    TECHNIQUE = "technique"
    ENCOURAGE = "encourage"
    EFFORT_CHECK = "effort-check"
    QUIET = "quiet"
    PROGRESS = "progress"
    TIME_LEFT = "time-left"
    DISTANCE_LEFT = "distance-left"
    SEGMENT_HALFWAY = "segment-halfway"
    LAST_PIECE = "last-piece"
    OFFER = "offer"
    EXPECTED_END = "expected-end"
    COOL_DOWN = "cool-down"
    RESULTS = "results"
    OWN = "own"


@dataclass(frozen=True, slots=True)
class CueKindSpec:
    """firm: lands on its instant. value: worth of a floating cue. summary: for docs and help.

    written: phrase books have lines for it (the coach's own lines are in the plan).
    """

    firm: bool
    value: int
    summary: str
    fields: frozenset[str] = frozenset()
    cases: tuple[str, ...] = ()
    written: bool = True


_WHO = frozenset({"audience", "rower"})
_SEGMENT = _WHO | {
    "rate",
    "split",
    "watts",
    "effort",
    "length",
    "metres",
    "strokes",
    "piece",
    "pieces",
}
_GOAL = _SEGMENT | {"last_rate", "last_change", "previous_rate", "step", "seconds"}
_LEFT = _SEGMENT | {"left", "strokes_left"}
_PIECE = frozenset({"piece", "pieces"})
TECHNIQUE_CASES = ("explain", "deepen", "remind", "encourage")
"""A theme is explained when it is first met, then deepened, recalled in few words, praised."""

_TARGETS = ("split", "held", "watts", "last", "last-step", "step", "effort", "warm-up")
"""What leads a segment: a split; one that was held before; watts; each rower's own last
split; so much more or less than that; a step from each rower's own split; effort; easy
rowing to begin with."""

GROUP_CASES = frozenset({"last", "last-step"})
"""Cases that only a group hears: of one rower the last split is known, or effort leads."""


def hearers(case: str | None) -> tuple[Audience, ...]:
    """Return who may hear a case."""
    return (Audience.GROUP,) if case in GROUP_CASES else tuple(Audience)


CUE_KINDS: dict[CueKind, CueKindSpec] = {
    CueKind.BEAT: CueKindSpec(
        True,
        0,
        "one count before a start, a change or an end",
        frozenset({"count"}),
        ("count", "go"),
    ),
    CueKind.START: CueKindSpec(
        True,
        0,
        "a segment starts from rest or lighter rowing",
        _PIECE,
        ("go", "next-piece"),
    ),
    CueKind.RATE_CHANGE: CueKindSpec(
        True,
        0,
        "the rate changes while rowing runs on",
        _PIECE | {"rate"},
        ("up", "down", "change"),
    ),
    CueKind.SEGMENT_END: CueKindSpec(
        True,
        0,
        "work ends and lighter rowing or rest begins",
        frozenset({"done"}),
        ("paddle", "rest", "cool-down"),
    ),
    CueKind.HALFWAY: CueKindSpec(True, 0, "half of the session's time is rowed"),
    CueKind.FINISH: CueKindSpec(True, 0, "the last stroke of the session"),
    CueKind.OWN: CueKindSpec(True, 0, "a line of the coach's own", written=False),
    CueKind.WELCOME: CueKindSpec(
        False, 80, "welcome and what is coming", _WHO | {"length", "pieces"}
    ),
    CueKind.CAUTION: CueKindSpec(False, 200, "the safety line"),
    CueKind.GOAL: CueKindSpec(
        False, 90, "the goal of the next segment, set ahead", _GOAL, _TARGETS
    ),
    CueKind.GET_READY: CueKindSpec(
        False, 70, "a change is close", _GOAL | {"left"}, ("start", "change")
    ),
    CueKind.TARGET: CueKindSpec(False, 95, "the target, just after a change", _GOAL, _TARGETS),
    CueKind.HOLD: CueKindSpec(
        False, 44, "what to hold, said again inside a piece", _GOAL, _TARGETS[:-1]
    ),
    CueKind.SETTLE: CueKindSpec(
        False, 40, "find the rhythm and settle", _SEGMENT, ("work", "warm-up", "paddle", "rest")
    ),
    CueKind.TECHNIQUE: CueKindSpec(
        False,
        50,
        "a technique theme that suits the rate",
        _SEGMENT | {"theme"},
        TECHNIQUE_CASES,
    ),
    CueKind.ENCOURAGE: CueKindSpec(
        False,
        42,
        "a word that lifts, in the middle or late in a piece",
        _SEGMENT,
        ("middle", "late"),
    ),
    CueKind.EFFORT_CHECK: CueKindSpec(
        False, 45, "compare the effort felt with the one asked", _SEGMENT
    ),
    CueKind.QUIET: CueKindSpec(
        False, 68, "a span without the voice begins", _WHO | {"length"}, ("whole", "calls")
    ),
    CueKind.PROGRESS: CueKindSpec(
        False,
        46,
        "how many pieces are done and how many are ahead",
        _SEGMENT | {"done", "ahead"},
        ("work", "break"),
    ),
    CueKind.TIME_LEFT: CueKindSpec(
        False, 75, "time left in the segment", _LEFT, ("work", "to-start", "easy")
    ),
    CueKind.DISTANCE_LEFT: CueKindSpec(
        False, 75, "metres left in a distance piece, as expected", _SEGMENT
    ),
    CueKind.SEGMENT_HALFWAY: CueKindSpec(False, 60, "halfway of a long segment", _LEFT),
    CueKind.LAST_PIECE: CueKindSpec(False, 65, "this is the last piece", _SEGMENT),
    CueKind.OFFER: CueKindSpec(
        False, 35, "room to take a little more off, for those who have it", _SEGMENT
    ),
    CueKind.EXPECTED_END: CueKindSpec(
        False, 85, "the expected end of a distance piece", _SEGMENT, ("break", "row", "finish")
    ),
    CueKind.COOL_DOWN: CueKindSpec(False, 55, "how to cool down", _SEGMENT),
    CueKind.RESULTS: CueKindSpec(False, 60, "write your splits down", _WHO | {"length", "pieces"}),
}
