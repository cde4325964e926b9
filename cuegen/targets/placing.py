"""Which result belongs to which piece of a plan.

Conventions
    Segments count from 1, breaks included, as a plan's do and as results logged with
    the plan are numbered. Results logged without it are numbered by the pieces alone,
    or not at all; that shows where a number is that of a break or warm-up.

Contents
    RowedSegment            what was rowed
    Numbering               by what results were given to pieces
    placed, Placed          results by segment, and those that belong nowhere
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class RowedSegment:
    """What was rowed. parts_ms: splits of its equally long parts, () where not read.

    segment: its number, None where it was logged without. duration_ms: how long it
    took, None where it was not logged.
    """

    segment: int | None
    rate: int
    split_ms: int
    parts_ms: tuple[int, ...] = ()
    metres: float | None = None
    heart_rate: int | None = None
    felt_pct: int | None = None
    duration_ms: int | None = None
    label: str | None = None


class Numbering(StrEnum):
    """What the numbers of the results were taken for."""

    SEGMENTS = "segments"  # as in the plan
    PIECES = "pieces"  # some of them are of no piece: they count pieces only
    ORDER = "order"  # there are none, and as many results as pieces


@dataclass(frozen=True, slots=True)
class Placed:
    """rowed: by segment, the last one logged. again: those logged before it."""

    rowed: dict[int, RowedSegment]
    unplanned: tuple[RowedSegment, ...]
    again: tuple[RowedSegment, ...]
    numbering: Numbering


def placed(segments: Sequence[int], rowed: Sequence[RowedSegment]) -> Placed:
    """Return results by the segments of work that are given, in their order."""
    numbering = _numbering(segments, rowed)
    found: dict[int, RowedSegment] = {}
    unplanned, again = [], []
    for place, one in enumerate(rowed):
        segment = _segment(one, place, segments, numbering)
        if segment is None or segment not in segments:
            unplanned.append(one)
            continue
        if segment in found:
            again.append(found[segment])
        found[segment] = one
    return Placed(found, tuple(unplanned), tuple(again), numbering)


def _numbering(segments: Sequence[int], rowed: Sequence[RowedSegment]) -> Numbering:
    numbers = {one.segment for one in rowed if one.segment is not None}
    if not numbers:
        return Numbering.ORDER if len(rowed) == len(segments) else Numbering.SEGMENTS
    if numbers <= set(segments) or max(numbers) > len(segments):
        return Numbering.SEGMENTS
    return Numbering.PIECES


def _segment(
    one: RowedSegment, place: int, segments: Sequence[int], numbering: Numbering
) -> int | None:
    if numbering is Numbering.ORDER:
        return segments[place]
    if numbering is Numbering.PIECES and one.segment is not None:
        return segments[one.segment - 1]
    return one.segment
