"""The cue sheet: every line of a track with its instant. The contract between planning and sound.

Conventions
    All `_ms` fields are milliseconds from the first sample of the track, splits
    milliseconds per 500 m. `at_ms` is the instant at which a line's first word
    begins; `start_ms` and `end_ms` bound its clip, which starts LEAD_MS earlier.
    Segments are in order and touch; cues are in order of `start_ms` and do not
    overlap. A cue's `segment` is the index of its segment, from 0; what is said
    before rowing starts belongs to segment 0.

Source of the field names: this project's design; the JSON Schema published with
the package derives from these classes.
"""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict, Field

from cuegen.plan.model import SegmentKind, ToneSpan
from cuegen.script.kinds import CueKind

SHEET_VERSION = 1
LEAD_MS = 10
"""A finished clip's first word begins this long after its first sample, always."""

GAP_MS = 400
"""Least silence between two lines; beats of one count are exempt."""


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class SheetSegment(_Frozen):
    """One segment. predicted: its end is worked out from a pace, not given.

    distance_m: its length where the plan gives one in metres.
    """

    start_ms: int = Field(ge=0)
    end_ms: int = Field(ge=0)
    kind: SegmentKind
    rate: str | None = Field(description='strokes per minute, "20" or a band "18-20"')
    split_ms: int | None
    label: str
    effort_pct: int
    metres: float
    strokes: float | None
    watts: float | None
    predicted: bool = False
    reason: str = ""
    distance_m: int | None = None


class Cue(_Frozen):
    """One line to be spoken."""

    id: str
    kind: CueKind
    firm: bool
    at_ms: int = Field(ge=0)
    start_ms: int = Field(ge=0)
    end_ms: int = Field(ge=0)
    text: str = Field(min_length=1)
    segment: int = Field(ge=0)
    theme: str | None = None
    speed: float = Field(default=1.0, ge=0.5, le=2.0)


class LeftOut(_Frozen):
    """A cue that was left out, and why. lost_to: ids of the cues that stand in its place.

    at_ms: the instant that would have suited it best.
    """

    id: str
    kind: CueKind
    text: str
    why: str
    lost_to: tuple[str, ...] = ()
    at_ms: int = 0


class Span(_Frozen):
    start_ms: int
    end_ms: int


class SheetBlock(_Frozen):
    """The run of weeks that a session belongs to; weeks count from 1."""

    name: str
    week: int = Field(ge=1)


class SheetBed(_Frozen):
    """Music under the voice. file: a file, a folder, or the name of a bed of our own."""

    file: str
    below_db: float
    more: tuple[str, ...] = Field(default=(), description="files and folders that play after it")

    @property
    def files(self) -> tuple[str, ...]:
        """All that plays, in order."""
        return (self.file, *self.more)


class SheetTake(_Frozen):
    """A line in the coach's own voice. clip: the key of its finished clip, which names its content.

    follows: whether the aligner follows its words; otherwise it is known by its sound alone.
    """

    text: str = Field(min_length=1)
    clip: str = Field(pattern="^[0-9a-f]{64}$")
    follows: bool = True


class SheetTakes(_Frozen):
    """Lines that were recorded. folder: where the recordings lie, seen from the sheet's folder."""

    folder: str
    lines: tuple[SheetTake, ...]


class Sound(_Frozen):
    """How the sheet is to sound. loudness_lufs None: the default of the channel count."""

    voice: str = "natural"
    language: str = "en"
    loudness_lufs: float | None = None
    bed: SheetBed | None = None
    alert: bool = Field(
        default=False, description="whether a soft sound comes before lines that break a quiet"
    )
    stroke_tones: ToneSpan = ToneSpan.NONE
    recovery_tone: bool = Field(
        default=False, description="whether a soft rising sound fills each recovery"
    )
    takes: SheetTakes | None = Field(
        default=None, description="lines in the coach's own voice; all others are the voice's"
    )


class CueSheet(_Frozen):
    """A whole track on paper. duration_ms counts the lead-in and the closing words too."""

    version: int = SHEET_VERSION
    title: str
    duration_ms: int = Field(gt=0)
    lead_in_ms: int = Field(ge=0)
    row_end_ms: int = Field(ge=0)
    early_ms: int = 0
    late_ms: int = 0
    audience: str
    talk_share: float
    sound: Sound = Sound()
    segments: tuple[SheetSegment, ...]
    cues: tuple[Cue, ...]
    quiet: tuple[Span, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    notes: tuple[str, ...] = ()
    block: SheetBlock | None = None
    rower: str | None = Field(default=None, description="whose own track this is, if one rower's")
    rower_say: str | None = Field(
        default=None, description="how the rower's name is spoken, where its spelling misleads"
    )
    talk_limit: str = Field(
        default="", description="why the talk share was not met, where it was not"
    )

    @property
    def talk_ms(self) -> int:
        """Milliseconds in which the voice speaks."""
        return sum(cue.end_ms - cue.start_ms for cue in self.cues)
