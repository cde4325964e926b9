"""Small sheets in which the values that a phrase mentions are known, to hear one line in.

Conventions
    A world is eight pieces of 4:00 with breaks of 2:00, or as many that run on, between
    a warm-up and a cool-down. What is asked in the segment that a cue speaks of is
    asked nowhere else, so that a line on the wrong segment is false. `fields` are the
    values of that segment as the script stage would give them, written down here by
    hand; `OTHERWISE` are others, none of them true of anything in the world.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product

from cuegen.plan.model import Rate, SegmentKind
from cuegen.schedule.cuesheet import Cue, CueSheet, SheetSegment, Sound, Span
from cuegen.script.book import BookLine
from cuegen.script.fields import Fields
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.spoken import MetreValue, Precision, TimeValue

WARM_UP, ROW, PADDLE, REST, COOL_DOWN = SegmentKind
LEAD_MS, PIECE_MS, BREAK_MS, EASY_MS = 30_000, 240_000, 120_000, 180_000
PIECES = 8
QUIET_MS = 30_000
LEFT_MS, OPENING_LEFT_MS = 60_000, 15_000
METRES, METRES_LEFT = 750, 250

OTHERWISE: Fields = {
    "rate": Rate(33, 33),
    "previous_rate": Rate(15, 15),
    "last_rate": Rate(35, 35),
    "split": 133_300,
    "watts": 333,
    "effort": 88,
    "seconds": -7_000,
    "length": TimeValue(77_000),
    "left": TimeValue(44_000),
    "strokes": 133.0,
    "strokes_left": 33.0,
    "piece": 4,
    "pieces": 9,
    "done": 4,
    "ahead": 4,
}


@dataclass(frozen=True)
class World:
    """A sheet without cues, where a cue is heard in it, and what is true there."""

    sheet: CueSheet
    at_ms: int
    fields: Fields

    def hearing(self, line: BookLine, text: str, *later: Cue) -> CueSheet:
        """Return the sheet with a line said in it, and what comes later."""
        spec = CUE_KINDS[line.kind]
        cue = Cue(
            id="heard", kind=line.kind, firm=spec.firm, at_ms=self.at_ms,
            start_ms=self.at_ms - 10, end_ms=self.at_ms + 990, text=text, segment=0,
        )  # fmt: skip
        return self.sheet.model_copy(update={"cues": (cue, *later)})


def worlds(line: BookLine) -> tuple[World, ...]:
    """Return the worlds in which a line may be said: by step, by rates, by place of the piece."""
    return _worlds(replace(line, phrases=(), theme=None))


@lru_cache(maxsize=512)
def _worlds(line: BookLine) -> tuple[World, ...]:
    return tuple(_made(line))


def _made(line: BookLine) -> Iterator[World]:
    numbers = {"first": (1,), "middle": (3,), "last": (PIECES,), None: (3, 1, PIECES)}
    if line.kind in (CueKind.LAST_PIECE, CueKind.OFFER):
        numbers[None] = (PIECES,)
    for number, step, same_rate, same_last in product(
        numbers[line.position], ("up", "down", "same"), (False, True), (False, True)
    ):
        yield _World(line, number, step, same_rate, same_last).made()


@dataclass(frozen=True)
class _World:
    line: BookLine
    number: int
    step: str
    same_rate: bool
    same_last: bool

    def made(self) -> World:
        segments = self._segments()
        about = self._about(segments)
        before = [n for n in range(about) if segments[n].kind not in (PADDLE, REST)]
        segments[about] = self._asked(segments[about])
        if before:
            segments[before[-1]] = self._before(segments[before[-1]])
        sheet = _sheet(segments)
        at_ms = self._at_ms(sheet, about)
        quiet = Span(start_ms=at_ms + 990, end_ms=at_ms + 990 + QUIET_MS)
        if self.line.kind is CueKind.QUIET:
            sheet = sheet.model_copy(update={"quiet": (quiet,)})
        return World(sheet, at_ms, self._fields(sheet, about, at_ms))

    def _segments(self) -> list[SheetSegment]:
        between = REST if self.line.when == "rest" else PADDLE
        kinds = [WARM_UP]
        for number in range(PIECES):
            kinds += [ROW] if number == 0 or self._runs_on else [between, ROW]
        lengths = {WARM_UP: EASY_MS, ROW: PIECE_MS, COOL_DOWN: EASY_MS}
        found: list[SheetSegment] = []
        at_ms = LEAD_MS
        for kind in [*kinds, COOL_DOWN]:
            end_ms = at_ms + lengths.get(kind, BREAK_MS)
            found.append(_segment(kind, at_ms, end_ms))
            at_ms = end_ms
        return found

    @property
    def _runs_on(self) -> bool:
        kind, case = self.line.kind, self.line.when
        return kind is CueKind.RATE_CHANGE or case in ("next-piece", "change", "row")

    def _about(self, segments: list[SheetSegment]) -> int:
        kind, case, last = self.line.kind, self.line.when, len(segments) - 1
        if COOL_DOWN in (kind, case, self.line.phase) or case == "easy":
            return last
        if kind is CueKind.HALFWAY:
            return next(n for n, s in enumerate(segments) if s.end_ms > _half(segments))
        if kind in (CueKind.WELCOME, CueKind.CAUTION) or case == "warm-up":
            return 0
        if kind in (CueKind.RESULTS, CueKind.FINISH):
            return last
        piece = [n for n, s in enumerate(segments) if s.kind is ROW][self.number - 1]
        if case in ("paddle", "rest", "break") and kind is not CueKind.EXPECTED_END:
            return piece - 1 if self.number > 1 else piece + 1
        return piece

    def _at_ms(self, sheet: CueSheet, about: int) -> int:
        kind, segment = self.line.kind, sheet.segments[about]
        at_ms = {
            CueKind.WELCOME: 500,
            CueKind.CAUTION: 7_000,
            CueKind.HALFWAY: _half(list(sheet.segments)),
            CueKind.BEAT: segment.start_ms - (3_000 if self.line.when == "count" else 0),
            CueKind.START: segment.start_ms,
            CueKind.RATE_CHANGE: segment.start_ms,
            CueKind.SEGMENT_END: segment.start_ms,
            CueKind.EXPECTED_END: segment.end_ms,
            CueKind.FINISH: sheet.row_end_ms,
            CueKind.RESULTS: sheet.row_end_ms + 2_000,
        }
        if kind in (CueKind.GOAL, CueKind.GET_READY) or self.line.when == "to-start":
            return segment.start_ms - (LEFT_MS if about else OPENING_LEFT_MS)
        return at_ms[kind] if kind in at_ms else self._inside(segment)

    def _inside(self, segment: SheetSegment) -> int:
        length = segment.end_ms - segment.start_ms
        if self.line.kind is CueKind.SEGMENT_HALFWAY:
            return segment.start_ms + length // 2
        if self.line.kind is CueKind.DISTANCE_LEFT:
            return segment.end_ms - length * METRES_LEFT // METRES
        if self.line.kind is CueKind.TIME_LEFT:
            return segment.end_ms - LEFT_MS
        return segment.start_ms + length * 3 // 5

    def _asked(self, segment: SheetSegment) -> SheetSegment:
        """Return the segment that the line speaks of, with what only it asks for."""
        return segment.model_copy(
            update={
                "rate": str(self._rate),
                "split_ms": 124_500,
                "effort_pct": 75,
                "metres": float(METRES),
                "strokes": 96.0,
                "watts": 210.0,
                "reason": f"{self._off}each rower's own split at rate {self._last_rate} last time",
            }
        )

    def _before(self, segment: SheetSegment) -> SheetSegment:
        changes = {"up": 127_500, "down": 121_500, "same": 124_500}
        rate = str(self._previous_rate)
        return segment.model_copy(update={"split_ms": changes[self.step], "rate": rate})

    @property
    def _rate(self) -> int:
        band = self.line.rates
        return 24 if band is None else (band.low + band.high) // 2

    @property
    def _previous_rate(self) -> int:
        falls = self.line.kind is CueKind.RATE_CHANGE and self.line.when == "down"
        return self._rate if self.same_rate else self._rate + (5 if falls else -5)

    @property
    def _off(self) -> str:
        return "1.5 s faster than " if self.line.when == "last-step" else ""

    @property
    def _last_rate(self) -> int:
        return self._rate if self.same_last else 22

    def _fields(self, sheet: CueSheet, about: int, at_ms: int) -> Fields:
        pieces = [s for s in sheet.segments if s.kind is ROW]
        segment = sheet.segments[about]
        left_ms = 120_000 if self.line.kind is CueKind.SEGMENT_HALFWAY else LEFT_MS
        if self.line.kind is CueKind.GET_READY and not about:
            left_ms = OPENING_LEFT_MS
        fields: Fields = {
            "audience": str(self.line.audience or "group"),
            "rower": "Robin",
            "count": 3,
            "rate": Rate(self._rate, self._rate),
            "previous_rate": Rate(self._previous_rate, self._previous_rate),
            "last_rate": Rate(self._last_rate, self._last_rate),
            "last_change": -1_500,
            "split": 124_500,
            "watts": 210,
            "effort": 75,
            "step": self.step,
            "length": TimeValue(segment.end_ms - segment.start_ms),
            "left": TimeValue(left_ms),
            "metres": MetreValue(METRES),
            "strokes": 96.0,
            "strokes_left": float(self._rate),
            "piece": self.number,
            "pieces": PIECES,
            "done": sum(s.end_ms <= at_ms for s in pieces),
            "ahead": sum(s.start_ms > at_ms for s in pieces),
        }
        if self.step != "same":
            fields["seconds"] = -3_000 if self.step == "up" else 3_000
        if self.line.kind in (CueKind.WELCOME, CueKind.RESULTS):
            fields["length"] = TimeValue(sheet.row_end_ms - sheet.lead_in_ms)
        if self.line.kind is CueKind.DISTANCE_LEFT:
            fields["metres"] = MetreValue(METRES_LEFT, Precision.ABOUT)
        if self.line.kind is CueKind.QUIET:
            fields["length"] = TimeValue(QUIET_MS)
        return fields


def mutated(line: BookLine, name: str) -> Fields:
    """Return a value of a field that is true nowhere in the worlds."""
    if name == "metres":
        about = Precision.ABOUT if line.kind is CueKind.DISTANCE_LEFT else Precision.EXACT
        return {name: MetreValue(333, about)}
    return {name: OTHERWISE[name]}


def _half(segments: list[SheetSegment]) -> int:
    return (segments[0].start_ms + segments[-1].end_ms) // 2


def _segment(kind: SegmentKind, start_ms: int, end_ms: int) -> SheetSegment:
    return SheetSegment(
        start_ms=start_ms, end_ms=end_ms, kind=kind, rate="17", split_ms=141_100, label=kind,
        effort_pct=61, metres=987.0, strokes=44.0, watts=99.0,
    )  # fmt: skip


def _sheet(segments: list[SheetSegment]) -> CueSheet:
    end_ms = segments[-1].end_ms
    return CueSheet(
        title="World", duration_ms=end_ms + 12_000, lead_in_ms=LEAD_MS, row_end_ms=end_ms,
        audience="group", talk_share=0.3, sound=Sound(voice="natural", language="en"),
        segments=tuple(segments), cues=(),
    )  # fmt: skip
