"""A session as its plan says it, before any target is worked out.

Conventions
    Everything is frozen. Lengths are whole milliseconds or whole metres, splits
    whole milliseconds per 500 m, rates strokes per minute, efforts whole per
    cent. Where something stood in the plan (`where`) is left out of equality,
    so a session that was written out and read back equals the first.

Contents
    SEGMENT_KINDS   the one table of segment kinds
    Entry           one line of the whiteboard notation
    Segment         one stretch of rowing; an entry gives one or more
    Session         the whole plan
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import TypeVar

from cuegen.errors import Where

T = TypeVar("T")


class Audience(StrEnum):
    GROUP = "group"
    SOLO = "solo"


class SegmentKind(StrEnum):
    WARM_UP = "warm-up"
    ROW = "row"
    PADDLE = "paddle"
    REST = "rest"
    COOL_DOWN = "cool-down"


@dataclass(frozen=True, slots=True)
class SegmentKindSpec:
    """What is taken for granted of a kind of segment.

    is_work: a work bout, for which targets and technique are said.
    effort_pct: effort where the plan names none (common practice, no source).
    """

    is_work: bool
    is_rowing: bool
    effort_pct: int
    can_break: bool
    summary: str


SEGMENT_KINDS: dict[SegmentKind, SegmentKindSpec] = {
    SegmentKind.WARM_UP: SegmentKindSpec(False, True, 55, False, "easy rowing before the work"),
    SegmentKind.ROW: SegmentKindSpec(True, True, 75, False, "a piece of work (the default)"),
    SegmentKind.PADDLE: SegmentKindSpec(False, True, 50, True, "light rowing between pieces"),
    SegmentKind.REST: SegmentKindSpec(False, False, 0, True, "handle down, no rowing"),
    SegmentKind.COOL_DOWN: SegmentKindSpec(False, True, 50, False, "easy rowing after the work"),
}


@dataclass(frozen=True, slots=True)
class Duration:
    ms: int


@dataclass(frozen=True, slots=True)
class Distance:
    metres: int


Length = Duration | Distance


@dataclass(frozen=True, slots=True)
class Rate:
    """Strokes per minute, a single rate or a band; `low == high` for a single one."""

    low: int
    high: int

    @property
    def is_band(self) -> bool:
        return self.low != self.high

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2


@dataclass(frozen=True, slots=True)
class SplitTarget:
    """`@2:05` or `@2:05.5`."""

    split_ms: int


@dataclass(frozen=True, slots=True)
class WattsTarget:
    """`@210W`."""

    watts: int


@dataclass(frozen=True, slots=True)
class StepTarget:
    """`@-3`: change_ms per 500 m against the segment before; negative is faster."""

    change_ms: int


@dataclass(frozen=True, slots=True)
class LastAtRate:
    """`@last r18`: what this rower last held at that rate; `@last r18-1s`: a second faster.

    change_ms: per 500 m, negative is faster.
    """

    rate: int
    change_ms: int = 0


@dataclass(frozen=True, slots=True)
class LastAtOffset:
    """`@last+2`: what they last held that many strokes higher; `@last` is offset 0.

    change_ms: per 500 m, negative is faster: `@last-1s`, `@last+2-1s`.
    """

    offset: int
    change_ms: int = 0


@dataclass(frozen=True, slots=True)
class FreeTarget:
    """`@free`: effort only."""


Target = SplitTarget | WattsTarget | StepTarget | LastAtRate | LastAtOffset | FreeTarget


@dataclass(frozen=True, slots=True)
class Break:
    """`, paddle 1:30` or `, rest 2:00`: what falls between the repeats of an entry."""

    kind: SegmentKind
    length: Length


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the notation. A tuple has one value, or one per repeat.

    `kind_written` says whether the label stood there, so that it is written again.
    """

    kind: SegmentKind
    repeats: int
    lengths: tuple[Length, ...]
    rates: tuple[Rate, ...] = ()
    targets: tuple[Target, ...] = ()
    efforts: tuple[int, ...] = ()
    themes: tuple[str, ...] = ()
    rest: Break | None = None
    kind_written: bool = True
    where: Where = field(default_factory=Where, compare=False)


@dataclass(frozen=True, slots=True)
class Segment:
    """One stretch of the session. `entry` and `repeat` count from 0."""

    index: int
    kind: SegmentKind
    length: Length
    rate: Rate | None = None
    target: Target | None = None
    effort_pct: int | None = None
    theme: str | None = None
    entry: int = 0
    repeat: int = 0
    repeats: int = 1
    where: Where = field(default_factory=Where, compare=False)

    @property
    def spec(self) -> SegmentKindSpec:
        return SEGMENT_KINDS[self.kind]


class ToneSpan(StrEnum):
    """When stroke tones sound: never, the first minute of each step, or always."""

    NONE = "none"
    FIRST_MINUTE = "first-minute"
    ALL = "all"


class Loudness(StrEnum):
    """Where a track is heard, for a loudness by name (cuegen.plan.loudness)."""

    GYM = "gym"
    HEADPHONES = "headphones"
    PODCAST = "podcast"
    BROADCAST = "broadcast"


class OwnBed(StrEnum):
    """Beds that cuegen makes itself: beats and chords, or chords that swell with each stroke."""

    PULSE = "pulse"
    SWELL = "swell"


@dataclass(frozen=True, slots=True)
class Bed:
    """Music under the voice. `below_db`: how far under speech it lies (WCAG 2.2, 1.4.7: 20).

    file: a file, a folder, or the name of a bed of our own. more: what plays after it.
    """

    file: str
    below_db: float = 20.0
    more: tuple[str, ...] = ()

    @property
    def files(self) -> tuple[str, ...]:
        return (self.file, *self.more)


@dataclass(frozen=True, slots=True)
class Block:
    """The run of weeks a session belongs to; weeks count from 1."""

    name: str
    week: int


@dataclass(frozen=True, slots=True)
class ChangeTo:
    """The instant at which a segment begins, or, where `piece` is true, a piece of work."""

    number: int
    piece: bool = False


@dataclass(frozen=True, slots=True)
class SayLine:
    """A line of the coach's own: at a session instant, or near a segment, piece or change.

    Exactly one of `at_ms` (from the start of rowing), `segment`, `piece` (both
    from 1; pieces are the segments of work) and `change` is set. `offset_ms`
    counts from the start of the segment or piece, or back from its end when
    negative; with `change` it counts from the change, back when negative.
    """

    text: str
    at_ms: int | None = None
    segment: int | None = None
    offset_ms: int = 0
    piece: int | None = None
    change: ChangeTo | None = None
    where: Where = field(default_factory=Where, compare=False)


@dataclass(frozen=True, slots=True)
class Drop:
    """A cue, by its id, or a kind of floating cue that is left out."""

    cue: str
    where: Where = field(default_factory=Where, compare=False)


@dataclass(frozen=True, slots=True)
class Pin:
    """A cue, by its id or kind, that is held at an instant, or given the coach's own words.

    at_ms: from the start of rowing, negative before the first stroke. One of
    `at_ms` and `text` is set at least.
    """

    cue: str
    at_ms: int | None = None
    text: str | None = None
    where: Where = field(default_factory=Where, compare=False)


@dataclass(frozen=True, slots=True)
class QuietSpan:
    """From and to, from the start of rowing: only firm cues speak."""

    start_ms: int
    end_ms: int
    where: Where = field(default_factory=Where, compare=False)


@dataclass(frozen=True)
class Session:
    """A plan, read and checked. Fields and defaults are those of the plan file.

    rower_say: how the rower's name is spoken, where its spelling misleads a voice.
    """

    title: str
    entries: tuple[Entry, ...]
    audience: Audience = Audience.GROUP
    rower: str | None = None
    rower_say: str | None = None
    talk_share: float = 0.30
    voice: str = "natural"
    phrase_book: str = "plain"
    language: str = "en"
    count_in: int = 3
    lead_in_ms: int | None = None
    caution: bool = True
    bed: Bed | None = None
    alert: bool = False
    stroke_tones: ToneSpan = ToneSpan.NONE
    recovery_tone: bool = False
    loudness: float | Loudness | None = None
    block: Block | None = None
    say: tuple[SayLine, ...] = ()
    quiet: tuple[QuietSpan, ...] = ()
    drop: tuple[Drop, ...] = ()
    pin: tuple[Pin, ...] = ()
    where: Where = field(default_factory=Where, compare=False)

    @cached_property
    def segments(self) -> tuple[Segment, ...]:
        """The entries laid out in order, breaks between repeats but not after the last."""
        laid: list[Segment] = []
        for number, entry in enumerate(self.entries):
            for repeat in range(entry.repeats):
                laid.append(_segment(entry, number, repeat, len(laid)))
                if entry.rest is not None and repeat < entry.repeats - 1:
                    laid.append(_break(entry, entry.rest, number, repeat, len(laid)))
        return tuple(laid)

    @property
    def pieces(self) -> tuple[Segment, ...]:
        """The segments of work, in order: what a coach counts as piece one, two, three."""
        return tuple(segment for segment in self.segments if segment.spec.is_work)


def pick(values: tuple[T, ...], repeat: int) -> T | None:
    """Return the value of one repeat: a lone value serves all, none is None."""
    if not values:
        return None
    return values[0] if len(values) == 1 else values[repeat]


def _segment(entry: Entry, number: int, repeat: int, index: int) -> Segment:
    length = pick(entry.lengths, repeat)
    assert length is not None, "an entry always has a length"
    return Segment(
        index=index,
        kind=entry.kind,
        length=length,
        rate=pick(entry.rates, repeat),
        target=pick(entry.targets, repeat),
        effort_pct=pick(entry.efforts, repeat),
        theme=pick(entry.themes, repeat),
        entry=number,
        repeat=repeat,
        repeats=entry.repeats,
        where=entry.where,
    )


def _break(entry: Entry, rest: Break, number: int, repeat: int, index: int) -> Segment:
    return Segment(
        index=index,
        kind=rest.kind,
        length=rest.length,
        entry=number,
        repeat=repeat,
        repeats=entry.repeats,
        where=entry.where,
    )
