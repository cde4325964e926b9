"""The desk at which candidates are written: facts, boundaries, words and notes in one place.

Conventions
    A cue's id names what it is about: `s03.goal` is the goal of the third segment,
    whenever it is said. A candidate's `segment` is the one in which it is heard;
    the opening belongs to the first, the closing words to the last.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from cuegen.errors import PhraseError
from cuegen.script.book import Occasion, PhraseBook
from cuegen.script.boundaries import Boundary
from cuegen.script.candidate import Candidate, Wording
from cuegen.script.facts import Facts
from cuegen.script.fields import Fields
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.picker import Picker, Reading
from cuegen.targets.outline import Outline, PlannedSegment

AFTER_LINE_MS = 1_000
"""No floating cue is wanted sooner after a boundary."""

BEFORE_COUNT_MS = 1_500
"""Even a short line needs this long before a count or a boundary."""

OPENING_MS = 500
"""Silence before the first word of a track."""


@dataclass(frozen=True, slots=True)
class Offer:
    """One way to fill a slot: a kind of cue with its readings, and the cases to be tried."""

    cue_id: str
    kind: CueKind
    about: int
    readings: tuple[Reading | None, ...]
    cases: tuple[str | None, ...]
    prefer_ms: int


@dataclass(slots=True)
class Desk:
    """State while a script is written.

    notes and unsaid gather what found no words. halfway_ms: the instant of the
    session's halfway call once the firm cues are written, None without one.
    """

    outline: Outline
    book: PhraseBook
    facts: Facts
    picker: Picker
    boundaries: tuple[Boundary, ...]
    notes: list[str] = field(default_factory=list)
    unsaid: Counter[CueKind] = field(default_factory=Counter)
    halfway_ms: int | None = None
    quiet: tuple[tuple[int, int], ...] = ()

    def is_quiet(self, at_ms: int) -> bool:
        """Return whether an instant lies in a span of quiet."""
        return any(start <= at_ms < end for start, end in self.quiet)

    def first_of(self, offers: Iterable[Offer]) -> Iterator[Candidate]:
        """Yield the candidate of the first offer that has fresh words; only one goes unsaid."""
        before = self.unsaid.copy()
        after = before
        for number, offer in enumerate(offers):
            for candidate in self.floating(
                offer.cue_id,
                offer.kind,
                offer.about,
                offer.readings,
                cases=offer.cases,
                prefer_ms=offer.prefer_ms,
            ):
                self.unsaid = before
                yield candidate
                return
            if number == 0:
                after = self.unsaid.copy()
        self.unsaid = after

    def floating(
        self,
        cue_id: str,
        kind: CueKind,
        about: int,
        readings: tuple[Reading | None, ...],
        *,
        heard_in: int | None = None,
        cases: tuple[str | None, ...] = (None,),
        theme: str | None = None,
        prefer_ms: int | None = None,
        worth: int = 0,
        ends_window: bool = False,
    ) -> Iterator[Candidate]:
        """Yield the candidate, or nothing where no reading stands or no fresh words are left.

        cases: tried in order. worth: added to the value of the kind.
        """
        standing = tuple(reading for reading in readings if reading is not None)
        if not standing:
            return
        found: tuple[Wording, ...] = ()
        for case in cases:
            occasion = self._occasion(kind, about, case, theme)
            found = found or self.picker.wordings(cue_id, occasion, standing)
        if not found:
            self.unsaid[kind] += 1
            return
        yield Candidate(
            id=cue_id,
            kind=kind,
            segment=about if heard_in is None else heard_in,
            wordings=found,
            value=CUE_KINDS[kind].value + worth,
            prefer_ms=found[0].earliest_ms if prefer_ms is None else prefer_ms,
            theme=theme,
            where=self.outline.segments[about].segment.where,
            ends_window=ends_window,
        )

    def firm(
        self,
        cue_id: str,
        kind: CueKind,
        about: int,
        at_ms: int,
        *,
        case: str | None = None,
        fields: Fields | None = None,
        ending: str = "",
    ) -> Candidate:
        """Return a firm candidate. ending: a sentence to follow. Raises PhraseError."""
        occasion = self._occasion(kind, about, case, None)
        texts = self.picker.firm_texts(cue_id, occasion, fields or {})
        if not texts:
            named = f"{kind} (when: {case})" if case else str(kind)
            raise PhraseError(
                f"the phrase book {self.book.name!r} has no line for {named} that can be said here",
                where=self.outline.segments[about].segment.where,
                remedy="Give it one without rates, if or audience.",
            )
        return Candidate(
            id=cue_id,
            kind=kind,
            segment=self.segment_at(at_ms),
            wordings=tuple(Wording(f"{text} {ending}".strip(), at_ms, at_ms) for text in texts),
            firm=True,
            prefer_ms=at_ms,
            where=self.outline.segments[about].segment.where,
        )

    def segment_at(self, at_ms: int) -> int:
        """Return the index of the segment that an instant belongs to."""
        for planned in self.outline.segments:
            if at_ms < planned.end_ms:
                return planned.index
        return len(self.outline.segments) - 1

    def room(self, index: int) -> tuple[int, int]:
        """Return the first and last onset for floating cues in a segment."""
        planned = self.outline.segments[index]
        end = self.boundaries[index + 1]
        return planned.start_ms + AFTER_LINE_MS, planned.end_ms - end.count_ms - BEFORE_COUNT_MS

    def opening_room(self) -> tuple[int, int]:
        """Return the first and last onset for floating cues before the first stroke."""
        return OPENING_MS, self.outline.lead_in_ms - self.boundaries[0].count_ms - BEFORE_COUNT_MS

    def reading(
        self,
        index: int,
        earliest_ms: int,
        latest_ms: int,
        fields: Fields,
        *,
        must: frozenset[str] = frozenset(),
        brief: bool = False,
    ) -> Reading | None:
        """Return a reading kept inside a segment's room, None where nothing of it is left."""
        return within(self.room(index), earliest_ms, latest_ms, fields, must=must, brief=brief)

    def note_unsaid(self) -> None:
        """Turn what found no fresh words into notes."""
        for kind, count in self.unsaid.items():
            if not count:
                continue
            cues = "one cue" if count == 1 else f"{count} cues"
            self.notes.append(
                f"{cues} of the kind {kind} left out: the phrase book {self.book.name!r} "
                "has no further wording for it"
            )

    def _occasion(self, kind: CueKind, about: int, case: str | None, theme: str | None) -> Occasion:
        planned = self.outline.segments[about]
        return Occasion(
            kind,
            self.facts.audience,
            case,
            theme,
            planned.segment.rate,
            planned.kind,
            self.facts.positions(planned),
        )


def within(
    room: tuple[int, int],
    earliest_ms: int,
    latest_ms: int,
    fields: Fields,
    *,
    must: frozenset[str] = frozenset(),
    brief: bool = False,
) -> Reading | None:
    """Return a reading cut to a room of onsets, None where nothing of it is left."""
    earliest, latest = max(earliest_ms, room[0]), min(latest_ms, room[1])
    if earliest > latest:
        return None
    return Reading(fields, earliest, latest, must, brief)


def numbered(planned: PlannedSegment) -> str:
    """Return how ids name a segment: `s03` for the third."""
    return f"s{planned.index + 1:02d}"
