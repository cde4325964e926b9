"""What differs between two cue sheets: lines, segments, and what holds for the whole sheet.

Pure: two sheets in, a Difference out, in order of time.

Conventions
    Cues are the same cue where their ids are equal. Segments have no ids: they are
    paired in order, the like ones first, so that one that is put in between counts
    as new and those behind it as unchanged. Instants are milliseconds of the rowing
    clock (0 at the first stroke): a longer opening moves no line of the rowing. An
    instant is that of the new sheet, for what is gone that of the old one. Notes,
    and lines that found no room in either sheet, are not compared.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from enum import StrEnum
from typing import TypeVar

from cuegen.clock import clock_text
from cuegen.schedule.cuesheet import Cue, CueSheet, SheetSegment
from cuegen.script.kinds import CueKind
from cuegen.sheet.wording import (
    audience_words,
    length_words,
    one_line,
    rate_words,
    rowing_clock,
    target_words,
)

T = TypeVar("T")


class Change(StrEnum):
    NEW = "new"
    GONE = "gone"
    CHANGED = "changed"


@dataclass(frozen=True, slots=True)
class FactChange:
    """One fact, in words; "" where there is nothing to say of it."""

    name: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class SegmentChange:
    """number: from 1, in the new sheet, of one that is gone in the old."""

    change: Change
    number: int
    clock_ms: int
    label: str
    facts: tuple[FactChange, ...] = ()


@dataclass(frozen=True, slots=True)
class CueChange:
    """moved_ms: later where positive. was: the old words where they differ, else None.

    why: for a line that is gone, why it found no room, where the new sheet says so.
    """

    change: Change
    id: str
    kind: CueKind
    clock_ms: int
    text: str
    moved_ms: int = 0
    was: str | None = None
    facts: tuple[FactChange, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class Difference:
    """same: lines that are equal in all. relengthened: lines that last longer or shorter only."""

    sheet: tuple[FactChange, ...]
    segments: tuple[SegmentChange, ...]
    cues: tuple[CueChange, ...]
    same: int
    relengthened: int

    @property
    def is_none(self) -> bool:
        return not (self.sheet or self.segments or self.cues or self.relengthened)


def difference(old: CueSheet, new: CueSheet) -> Difference:
    """Return what differs in `new` from `old`."""
    pairs = _paired(old.segments, new.segments)
    cues = sorted(_cue_changes(old, new, dict(pairs)), key=lambda c: (c.clock_ms, c.id))
    lengths = {cue.id: cue.end_ms - cue.start_ms for cue in old.cues}
    changed = {change.id for change in cues}
    kept = [cue for cue in new.cues if cue.id not in changed]
    same = sum(cue.end_ms - cue.start_ms == lengths[cue.id] for cue in kept)
    return Difference(
        sheet=tuple(_facts(_SHEET_FACTS, old, new)),
        segments=tuple(_segment_changes(old, new, pairs)),
        cues=tuple(cues),
        same=same,
        relengthened=len(kept) - same,
    )


# The sheet as a whole


def _bed(sheet: CueSheet) -> str:
    bed = sheet.sound.bed
    if bed is None:
        return ""
    return ", ".join((*(one_line(name) for name in bed.files), f"{bed.below_db:g} dB below"))


def _block(sheet: CueSheet) -> str:
    block = sheet.block
    return "" if block is None else f"{one_line(block.name)}, week {block.week}"


def _loudness(sheet: CueSheet) -> str:
    lufs = sheet.sound.loudness_lufs
    return "" if lufs is None else f"{lufs:g} LUFS"


def _quiet(sheet: CueSheet) -> str:
    spans = (
        f"{rowing_clock(sheet, span.start_ms)}-{rowing_clock(sheet, span.end_ms)}"
        for span in sheet.quiet
    )
    return ", ".join(spans)


_SHEET_FACTS: dict[str, Callable[[CueSheet], str]] = {
    "title": lambda sheet: one_line(sheet.title),
    "audience": audience_words,
    "opening": lambda sheet: _seconds(sheet.lead_in_ms),
    "closing": lambda sheet: _seconds(sheet.duration_ms - sheet.row_end_ms),
    "rowing": lambda sheet: clock_text(sheet.row_end_ms - sheet.lead_in_ms),
    "voice": lambda sheet: one_line(sheet.sound.voice),
    "language": lambda sheet: one_line(sheet.sound.language),
    "loudness": _loudness,
    "bed": _bed,
    "alert": lambda sheet: "on" if sheet.sound.alert else "off",
    "stroke tones": lambda sheet: sheet.sound.stroke_tones.value,
    "block": _block,
    "rower": lambda sheet: one_line(sheet.rower or ""),
    "talk share": lambda sheet: f"{100 * sheet.talk_share:g} %",
    "quiet": _quiet,
}


# Segments


def _length(segment: SheetSegment) -> str:
    """Return metres, or the time to the millisecond where it is not whole seconds."""
    ms = segment.end_ms - segment.start_ms
    return length_words(segment) if segment.distance_m or ms % 1000 == 0 else _seconds(ms)


_SEGMENT_FACTS: dict[str, Callable[[SheetSegment], str]] = {
    "kind": lambda segment: segment.kind.value,
    "length": _length,
    "rate": rate_words,
    "target": target_words,
    "effort": lambda segment: f"{segment.effort_pct} %" if segment.split_ms is not None else "",
}


def _key(segment: SheetSegment) -> tuple[str, ...]:
    return tuple(words(segment) for words in _SEGMENT_FACTS.values())


def _paired(
    old: tuple[SheetSegment, ...], new: tuple[SheetSegment, ...]
) -> tuple[tuple[int, int], ...]:
    """Return the indices of segments that answer to each other, in order."""
    matcher = SequenceMatcher(
        None, [_key(segment) for segment in old], [_key(segment) for segment in new], autojunk=False
    )
    pairs: list[tuple[int, int]] = []
    for _, old_from, old_to, new_from, new_to in matcher.get_opcodes():
        pairs += zip(range(old_from, old_to), range(new_from, new_to), strict=False)
    return tuple(pairs)


def _segment_changes(
    old: CueSheet, new: CueSheet, pairs: tuple[tuple[int, int], ...]
) -> list[SegmentChange]:
    old_left = set(range(len(old.segments))) - {before for before, _ in pairs}
    new_left = set(range(len(new.segments))) - {after for _, after in pairs}
    found = [_whole(Change.GONE, old, index) for index in sorted(old_left)]
    found += [_whole(Change.NEW, new, index) for index in sorted(new_left)]
    for before, after in pairs:
        facts = tuple(_facts(_SEGMENT_FACTS, old.segments[before], new.segments[after]))
        if facts:
            found.append(_whole(Change.CHANGED, new, after, facts))
    return sorted(found, key=lambda change: (change.clock_ms, change.number))


def _whole(
    change: Change, sheet: CueSheet, index: int, facts: tuple[FactChange, ...] = ()
) -> SegmentChange:
    segment = sheet.segments[index]
    clock_ms = segment.start_ms - sheet.lead_in_ms
    return SegmentChange(change, index + 1, clock_ms, _described(segment), facts)


def _described(segment: SheetSegment) -> str:
    """Return a segment on one line: "row 4:00 r20 2:14.0"."""
    rate = f"r{segment.rate}" if segment.rate else ""
    words = (segment.kind.value, _length(segment), rate, target_words(segment))
    return " ".join(part for part in words if part)


# Cues


def _cue_changes(old: CueSheet, new: CueSheet, pairs: dict[int, int]) -> Iterator[CueChange]:
    before, after = ({cue.id: cue for cue in sheet.cues} for sheet in (old, new))
    no_room = {cue.id: cue.why for cue in new.left_out}
    for cue in old.cues:
        if cue.id not in after:
            clock_ms, why = cue.at_ms - old.lead_in_ms, no_room.get(cue.id, "")
            yield CueChange(Change.GONE, cue.id, cue.kind, clock_ms, one_line(cue.text), why=why)
    for cue in new.cues:
        clock_ms = cue.at_ms - new.lead_in_ms
        was = before.get(cue.id)
        if was is None:
            yield CueChange(Change.NEW, cue.id, cue.kind, clock_ms, one_line(cue.text))
            continue
        moved_ms = clock_ms - (was.at_ms - old.lead_in_ms)
        words = one_line(was.text) if was.text != cue.text else None
        facts = tuple(_cue_facts(was, cue, pairs))
        if moved_ms or words is not None or facts:
            text = one_line(cue.text)
            yield CueChange(
                Change.CHANGED, cue.id, cue.kind, clock_ms, text, moved_ms, words, facts
            )


_CUE_FACTS: dict[str, Callable[[Cue], str]] = {
    "kind": lambda cue: cue.kind.value,
    "held": lambda cue: "firm" if cue.firm else "floating",
    "pace": lambda cue: f"{cue.speed:g}",
    "theme": lambda cue: one_line(cue.theme or ""),
}


def _cue_facts(old: Cue, new: Cue, pairs: dict[int, int]) -> Iterator[FactChange]:
    yield from _facts(_CUE_FACTS, old, new)
    expected = pairs.get(old.segment, new.segment)  # its segment may be gone: said already
    if new.segment != expected:
        yield FactChange("segment", str(expected + 1), str(new.segment + 1))


# Both


def _facts(table: dict[str, Callable[[T], str]], old: T, new: T) -> Iterator[FactChange]:
    for name, words in table.items():
        was, now = words(old), words(new)
        if was != now:
            yield FactChange(name, was, now)


def _seconds(ms: int) -> str:
    return f"{ms / 1000:g} s"
