"""What is known of each segment, as the values that phrases may mention.

Conventions
    A field is absent where the plan does not say it. `step` and `seconds` compare
    with what a rower remembers: the piece before, and the last rowing that was
    given a target (paddles and rests are passed over).
"""

from __future__ import annotations

from dataclasses import dataclass

from cuegen.clock import MS_PER_MIN
from cuegen.plan.model import (
    SEGMENT_KINDS,
    Audience,
    Distance,
    Duration,
    Rate,
    SegmentKind,
    StepTarget,
    WattsTarget,
)
from cuegen.script.fields import Fields
from cuegen.script.phrase import unspeakable
from cuegen.script.spoken import MetreValue, Precision, TimeValue
from cuegen.targets.outline import Basis, Outline, PlannedSegment

_PASSED_OVER = (SegmentKind.PADDLE, SegmentKind.REST)
LEAST_STEP_MS = 500
"""A smaller change of split is not worth a number."""


@dataclass(frozen=True, slots=True)
class Facts:
    """The outline, with what has to be looked up in it."""

    outline: Outline

    @property
    def pieces(self) -> list[PlannedSegment]:
        """The pieces of work, in order."""
        return [s for s in self.outline.segments if is_work(s)]

    @property
    def audience(self) -> Audience:
        """A named rower hears solo wordings, whatever the plan was written for."""
        named = self.outline.rower is not None
        return Audience.SOLO if named else self.outline.session.audience

    def who(self) -> Fields:
        fields: Fields = {"audience": self.audience.value}
        rower = self._rower_spoken()
        if rower and self.audience is Audience.SOLO and not unspeakable(rower):
            fields["rower"] = rower
        return fields

    def _rower_spoken(self) -> str | None:
        """Return the rower's name, as the plan says it is spoken if the plan's rower rows."""
        session, rower = self.outline.session, self.outline.rower
        if rower in (None, session.rower):
            return session.rower_say or session.rower
        return rower

    def session(self) -> Fields:
        """Return what is known of the session as a whole."""
        fields = self.who()
        if len(self.pieces) > 1:
            fields["pieces"] = len(self.pieces)
        fields["length"] = self._session_length()
        return fields

    def _session_length(self) -> TimeValue:
        """Return the time of rowing, a round figure where distance pieces make it a prediction."""
        length_ms = self.outline.row_end_ms - self.outline.lead_in_ms
        if not any(planned.predicted for planned in self.outline.segments):
            return TimeValue(length_ms)
        grain_ms = MS_PER_MIN if length_ms >= 2 * MS_PER_MIN else 10_000
        rounds = max(1, (length_ms + grain_ms // 2) // grain_ms)
        return TimeValue(rounds * grain_ms, Precision.ABOUT)

    def segment(self, index: int) -> Fields:
        """Return what is known of one segment."""
        planned = self.outline.segments[index]
        fields = self.who() | _length(planned) | self._aim(planned) | self._change(planned)
        if len(self.pieces) > 1:
            fields["pieces"] = len(self.pieces)
            if is_work(planned):
                fields["piece"] = self.pieces.index(planned) + 1
        done = sum(piece.end_ms <= planned.start_ms for piece in self.pieces)
        ahead = sum(piece.start_ms >= planned.end_ms for piece in self.pieces)
        counts = {"done": done, "ahead": ahead}
        return fields | {name: number for name, number in counts.items() if number}

    def positions(self, planned: PlannedSegment) -> tuple[str, ...]:
        """Return where a piece stands among the pieces: first, middle, last; none for a break."""
        if not is_work(planned):
            return ()
        found = [name for name, at in (("first", 0), ("last", -1)) if self.pieces[at] is planned]
        return tuple(found) or ("middle",)

    def _aim(self, planned: PlannedSegment) -> Fields:
        fields: Fields = {}
        if planned.segment.rate is not None:
            fields["rate"] = planned.segment.rate
        if planned.strokes:
            fields["strokes"] = planned.strokes
        if planned.split_ms is not None:
            fields["split"] = planned.split_ms
        if isinstance(planned.segment.target, WattsTarget):
            fields["watts"] = planned.segment.target.watts
        if planned.effort_pct:
            fields["effort"] = planned.effort_pct
        return fields

    def _change(self, planned: PlannedSegment) -> Fields:
        fields: Fields = {}
        before = self._rowing_before(planned.index)
        if planned.last_rate is not None:
            fields["last_rate"] = Rate(planned.last_rate, planned.last_rate)
            if abs(planned.last_change_ms) >= LEAST_STEP_MS:
                fields["last_change"] = planned.last_change_ms
        if before is None:
            return fields
        if before.segment.rate is not None:
            fields["previous_rate"] = before.segment.rate
        change_ms = _split_change(before, planned)
        if change_ms is not None and abs(change_ms) >= LEAST_STEP_MS:
            fields["seconds"] = change_ms
        if is_work(before):
            fields["step"] = _step(before, planned, change_ms)
        return fields

    def _rowing_before(self, index: int) -> PlannedSegment | None:
        rowed = (s for s in self.outline.segments[:index] if s.kind not in _PASSED_OVER)
        return max(rowed, key=lambda s: s.index, default=None)

    def target_case(self, index: int) -> str:
        """Return what leads a segment, one of the cases of `goal` and `target`."""
        planned, group = self.outline.segments[index], self.audience is Audience.GROUP
        fields = self._change(planned)
        if planned.kind is SegmentKind.WARM_UP:
            return "warm-up"
        if isinstance(planned.segment.target, WattsTarget):
            return "watts"
        if planned.last_rate is not None and (group or planned.basis is Basis.LAST):
            return self._last_case(planned)
        if planned.split_ms is not None:
            return "split"
        if planned.basis is Basis.STEP and "step" in fields:
            return "step"
        return "effort"

    def _last_case(self, planned: PlannedSegment) -> str:
        if planned.last_change_ms:
            return "last-step" if planned.split_ms is None else "split"
        group = self.audience is Audience.GROUP
        return "last" if group or planned.split_ms is None else "held"


def is_work(planned: PlannedSegment) -> bool:
    return SEGMENT_KINDS[planned.kind].is_work


def is_rowing(planned: PlannedSegment) -> bool:
    return SEGMENT_KINDS[planned.kind].is_rowing


def is_distance(planned: PlannedSegment) -> bool:
    """Return whether the segment ends where its metres do, so that its end is a prediction."""
    return isinstance(planned.segment.length, Distance)


def _length(planned: PlannedSegment) -> Fields:
    match planned.segment.length:
        case Duration(ms=ms):
            return {"length": TimeValue(ms)}
        case Distance(metres=metres):
            return {"metres": MetreValue(metres)}


def _split_change(before: PlannedSegment, planned: PlannedSegment) -> int | None:
    """Return by how much the split changes, None where that is not known."""
    target = planned.segment.target
    if isinstance(target, StepTarget) and before.segment.target is not None:
        return target.change_ms
    if before.split_ms is None or planned.split_ms is None:
        return None
    return planned.split_ms - before.split_ms


def _step(before: PlannedSegment, planned: PlannedSegment, change_ms: int | None) -> str:
    """Return "up", "same" or "down" against the piece before: by split, else by effort."""
    change = before.effort_pct - planned.effort_pct if change_ms is None else change_ms
    return "same" if change == 0 else "up" if change < 0 else "down"
