"""The arc of a segment: what is worth saying inside it, once it is under way.

Instruct early, remind in the middle, encourage late. Lines on technique come first,
a stride apart; between two of them stand shorter words, as many as the session's
talk share has room for. Nothing is written for a span of quiet.

Conventions
    Slots, where lines on technique stand, and the phases of a segment are those of
    cuegen.script.slots.

Sources
    Explain once, remind in fewer words, then leave them alone; one idea at a time;
    more words while it is easy: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from hashlib import blake2b
from itertools import pairwise

from cuegen.plan.model import SegmentKind
from cuegen.script.candidate import Candidate
from cuegen.script.desk import Desk, Offer, numbered
from cuegen.script.facts import is_work
from cuegen.script.kinds import CueKind
from cuegen.script.slots import phase_of, slots_of
from cuegen.script.technique import Lesson, check_theme, lesson_cues
from cuegen.targets.outline import PlannedSegment

NARROW_MS = 5_000
"""How far words between two lines on technique may move."""

PROGRESS_FROM_MS = 120_000
PROGRESS_CLEAR_MS = 6_000
"""No other word is written so near to where a piece is counted: two in one breath are one
too many."""

BARE_SHARE, WORD_SHARE, MOST_WORDS = 0.21, 0.018, 9
"""Without words between two lines on technique the voice speaks about 21 % of the time; each
adds about 1.8 points (measured on the examples). Placement drops what is too much."""

HOLD_EVERY_MS = 150_000
"""What to hold is said again this often, at most."""

MOST_EASY_WORDS = 3
"""Words between two lines on technique in a warm-up: there is time, but no need to fill it."""


def arc_cues(desk: Desk) -> Iterator[Candidate]:
    """Yield technique for work and warm-ups, and the words between its lines."""
    lesson = Lesson(desk)
    for planned in desk.outline.segments:
        check_theme(desk, planned)
        if not is_work(planned) and planned.kind is not SegmentKind.WARM_UP:
            continue
        slots = [slot for slot in slots_of(planned) if not desk.is_quiet(slot.best_ms)]
        yield from lesson_cues(lesson, planned, slots)
        yield from _progress(desk, planned)
        yield from _between(desk, planned)


def _between(desk: Desk, planned: PlannedSegment) -> Iterator[Candidate]:
    """Between two lines on technique: in work words by phase, in a warm-up easy ones."""
    held_ms, number = -HOLD_EVERY_MS, 0
    for left, right in pairwise(slots_of(planned)):
        for best_ms in _instants(desk, planned, left.best_ms, right.best_ms):
            if desk.is_quiet(best_ms) or _is_counted(desk, planned, best_ms):
                continue
            number += 1
            kind = _kind(planned, number, best_ms - held_ms)
            held_ms = best_ms if kind is CueKind.HOLD else held_ms
            yield from _word(desk, planned, kind, number, best_ms)


def _kind(planned: PlannedSegment, number: int, since_hold_ms: int) -> CueKind:
    """Return what stands at a place: the number to hold now and then, else heart and head in turn.

    since_hold_ms: how long ago the number to hold was said.
    """
    if not is_work(planned):
        return CueKind.SETTLE
    if since_hold_ms >= HOLD_EVERY_MS:
        return CueKind.HOLD
    return CueKind.EFFORT_CHECK if number % 3 == 0 else CueKind.ENCOURAGE


def _instants(desk: Desk, planned: PlannedSegment, left_ms: int, right_ms: int) -> list[int]:
    """Return the instants of the words between two lines, as many as the share has room for.

    They stand a little off an even grid, since a voice that comes like clockwork tires.
    """
    share = desk.outline.session.talk_share
    wanted = math.ceil((share - BARE_SHARE) / WORD_SHARE)
    count = min(max(wanted, 0), MOST_WORDS if is_work(planned) else MOST_EASY_WORDS)
    step = (right_ms - left_ms) // (count + 1)
    offs = (_off(desk, left_ms, part, step // 5) for part in range(1, count + 1))
    return [left_ms + step * part + off for part, off in enumerate(offs, start=1)]


def _off(desk: Desk, left_ms: int, part: int, most_ms: int) -> int:
    """Return how far a word stands off its even place, the same for the same plan."""
    seed = f"{desk.outline.session.title}|{left_ms}|{part}".encode()
    drawn = int.from_bytes(blake2b(seed, digest_size=4).digest())
    return drawn % (2 * most_ms + 1) - most_ms


def _word(
    desk: Desk, planned: PlannedSegment, kind: CueKind, number: int, best_ms: int
) -> Iterator[Candidate]:
    """Yield a word; where its kind has none that is fresh, one of another kind."""
    fields = desk.facts.segment(planned.index)
    reading = desk.reading(planned.index, best_ms - NARROW_MS, best_ms + NARROW_MS, fields)
    phase = phase_of(planned, best_ms)
    kinds = [kind] if kind is CueKind.SETTLE else [kind, CueKind.ENCOURAGE, CueKind.EFFORT_CHECK]
    cue_id = f"{numbered(planned)}.word.{number}"
    yield from desk.first_of(
        Offer(cue_id, each, planned.index, (reading,), _cases(desk, planned, each, phase), best_ms)
        for each in kinds
    )


def _progress(desk: Desk, planned: PlannedSegment) -> Iterator[Candidate]:
    """Where the piece stands among the others, once it is well under way."""
    best_ms = _progress_ms(desk, planned)
    if best_ms is None:
        return
    fields = desk.facts.segment(planned.index)
    yield from desk.floating(
        f"{numbered(planned)}.progress",
        CueKind.PROGRESS,
        planned.index,
        (desk.reading(planned.index, best_ms - 20_000, best_ms + 20_000, fields),),
        cases=("work",),
        prefer_ms=best_ms,
    )


def _progress_ms(desk: Desk, planned: PlannedSegment) -> int | None:
    """Return where a piece is counted among the others, None where it is not."""
    best_ms = planned.start_ms + planned.length_ms * 2 // 5
    if not is_work(planned) or planned.length_ms < PROGRESS_FROM_MS or desk.is_quiet(best_ms):
        return None
    return best_ms if {"done", "ahead"} <= desk.facts.segment(planned.index).keys() else None


def _is_counted(desk: Desk, planned: PlannedSegment, at_ms: int) -> bool:
    counted_ms = _progress_ms(desk, planned)
    return counted_ms is not None and abs(counted_ms - at_ms) < PROGRESS_CLEAR_MS


def _cases(
    desk: Desk, planned: PlannedSegment, kind: CueKind, phase: str
) -> tuple[str | None, ...]:
    if kind is CueKind.SETTLE:
        return ("warm-up",)
    if kind is CueKind.HOLD:
        return (desk.facts.target_case(planned.index),)
    if kind is CueKind.ENCOURAGE:
        return ("late",) if phase == "late" else ("middle",)
    return (None,)
