"""A difference of two sheets as rows for a terminal: few where little changed.

Lines that moved by the same time become one row, and so do the beats of one count;
everything else has a row of its own. Cells hold no control characters.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from cuegen.clock import MS_PER_MIN
from cuegen.plan.values import instant_text
from cuegen.script.kinds import CueKind
from cuegen.sheet.difference import Change, CueChange, Difference, FactChange, SegmentChange

GATHERED = 3
"""From so many lines on that moved alike, they are one row."""


@dataclass(frozen=True, slots=True)
class Row:
    """time: on the rowing clock. what: which line or segment. how: what became of it."""

    time: str
    what: str
    how: str


def difference_rows(found: Difference) -> tuple[Row, ...]:
    """Return the whole sheet's facts first, then segments and lines in order of time."""
    rows = [Row("", fact.name, _turned(fact)) for fact in found.sheet]
    timed = [(change.clock_ms, 0, _segment_row(change)) for change in found.segments]
    timed += [(clock_ms, 1, row) for clock_ms, row in _cue_rows(found.cues)]
    return (*rows, *(row for _, _, row in sorted(timed, key=lambda item: item[:2])))


def summary(found: Difference) -> str:
    """Return the difference in one line."""
    if found.is_none:
        return f"The sheets are the same: {_lines(found.same)}."
    counts = (
        (len(found.sheet), "setting differs", "settings differ"),
        (len(found.segments), "segment differs", "segments differ"),
        (len(found.cues), "line differs", "lines differ"),
        (found.relengthened, "line is only longer or shorter", "lines are only longer or shorter"),
    )
    parts = [f"{count} {one if count == 1 else many}" for count, one, many in counts if count]
    return f"{', '.join(parts)}; {_lines(found.same)} the same."


def _lines(count: int) -> str:
    return "1 line" if count == 1 else f"{count} lines"


def _segment_row(change: SegmentChange) -> Row:
    what = f"segment {change.number}"
    if change.change is not Change.CHANGED:
        return Row(clock(change.clock_ms), what, f"{change.change.value}: {change.label}")
    facts = "; ".join(f"{fact.name} {_turned(fact)}" for fact in change.facts)
    return Row(clock(change.clock_ms), what, f"{change.label}: {facts}")


def _cue_rows(changes: tuple[CueChange, ...]) -> Iterator[tuple[int, Row]]:
    moved: dict[int, list[CueChange]] = defaultdict(list)
    beats: dict[tuple[Change, str], list[CueChange]] = defaultdict(list)
    for change in changes:
        if _only_moved(change):
            moved[change.moved_ms].append(change)
        elif change.kind is CueKind.BEAT and change.change is not Change.CHANGED:
            beats[change.change, change.id.rpartition(".")[0]].append(change)
        else:
            yield change.clock_ms, _row(change)
    for alike in moved.values():
        if len(alike) < GATHERED:
            yield from ((change.clock_ms, _row(change)) for change in alike)
        else:
            yield alike[0].clock_ms, _moved_row(alike)
    for (_, stem), count in beats.items():
        yield count[0].clock_ms, _count_row(stem, count)


def _only_moved(change: CueChange) -> bool:
    same = change.was is None and not change.facts
    return change.change is Change.CHANGED and same


def _moved_row(alike: list[CueChange]) -> Row:
    span = f"{clock(alike[0].clock_ms)} to {clock(alike[-1].clock_ms)}"
    return Row(clock(alike[0].clock_ms), _lines(len(alike)), f"{span}: {_shift(alike[0])}")


def _count_row(stem: str, count: list[CueChange]) -> Row:
    words = " ".join(change.text for change in count)
    return Row(clock(count[0].clock_ms), stem or count[0].id, f"{count[0].change.value}: {words}")


def _row(change: CueChange) -> Row:
    return Row(clock(change.clock_ms), change.id, "\n".join(_told(change)))


def _told(change: CueChange) -> Iterable[str]:
    if change.change is not Change.CHANGED:
        yield f"{change.change.value}: {change.text}"
        if change.why:
            yield f"({change.why})"
        return
    said = [_shift(change)] if change.moved_ms else []
    said += [f"{fact.name} {_turned(fact)}" for fact in change.facts]
    if change.was is None:
        yield f"{'; '.join(said)}: {change.text}"
        return
    yield "; ".join(["reworded", *said])
    yield f"  was: {change.was}"
    yield f"  now: {change.text}"


def _turned(fact: FactChange) -> str:
    return f"{fact.was or 'none'} -> {fact.now or 'none'}"


def _shift(change: CueChange) -> str:
    ms = abs(change.moved_ms)
    length = instant_text(ms) if ms >= MS_PER_MIN else f"{ms / 1000:g} s"
    return f"{length} {'later' if change.moved_ms > 0 else 'earlier'}"


def clock(ms: int) -> str:
    """Return an instant of the rowing clock, with a minus before the first stroke."""
    whole = (abs(ms) + 500) // 1000 * 1000
    return ("-" if ms < 0 and whole else "") + instant_text(whole)
