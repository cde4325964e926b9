"""A whole session as one line: what a rower held over each piece of work, in order.

Conventions
    Words stand for pieces in their order: a split, the splits of the piece's equally
    long parts with commas, watts, metres, or `-` for a piece not rowed
    (cuegen.log.readings). Lists with slashes give each piece its own value; one value
    serves all. Segments count from 1 as in a plan, breaks included.

Contents
    Piece, pieces_of    the pieces of work of a plan
    Given               what was typed
    session_entries     both together as entries
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from cuegen.errors import LogError, Where
from cuegen.log.entry import FIELDS, LogEntry
from cuegen.log.readings import NOT_ROWED, read_held
from cuegen.plan.model import Duration, Length, Segment, Session
from cuegen.targets.power import whole
from cuegen.targets.result_cells import RefusedError


@dataclass(frozen=True, slots=True)
class Piece:
    """What is known of a piece before it is rowed. segment: its number in the session."""

    segment: int
    rate: int | None = None
    length: Length | None = None
    label: str | None = None


@dataclass(frozen=True, slots=True)
class Given:
    """held: a word for each piece. The lists are as typed, with slashes, None if not given."""

    rower: str
    day: date
    held: Sequence[str]
    rates: str | None = None
    lengths: str | None = None
    heart_rates: str | None = None
    felt: str | None = None
    session: str | None = None
    note: str | None = None


def pieces_of(session: Session) -> tuple[Piece, ...]:
    """Return the pieces of work of a plan."""
    return tuple(map(_piece, session.pieces))


def _piece(segment: Segment) -> Piece:
    rate = None if segment.rate is None else whole(segment.rate.middle)
    number = f"{segment.repeat + 1} of {segment.repeats}" if segment.repeats > 1 else None
    label = ", ".join(part for part in (number, segment.theme) if part)
    return Piece(segment.index + 1, rate, segment.length, label or None)


def session_entries(given: Given, pieces: Sequence[Piece] | None = None) -> list[LogEntry]:
    """Return an entry for each piece that was rowed. pieces: the plan's. Raises LogError."""
    rowed = _as_rowed(given, pieces)
    heart_rates = _listed("heart_rate", given.heart_rates, len(rowed))
    felt = _listed("felt_pct", given.felt, len(rowed))
    entries = [
        _entry(given, piece, word, heart_rate, felt_pct)
        for piece, word, heart_rate, felt_pct in zip(
            rowed, given.held, heart_rates, felt, strict=True
        )
        if word != NOT_ROWED
    ]
    if not entries:
        raise LogError("no piece was rowed", remedy="Then there is nothing to log.")
    return entries


def _as_rowed(given: Given, pieces: Sequence[Piece] | None) -> list[Piece]:
    """Return the pieces with the rates and lengths that were given, which go before the plan's."""
    if pieces is None:
        pieces = [Piece(number) for number in range(1, len(given.held) + 1)]
    if len(given.held) != len(pieces):
        raise LogError(
            f"for {_count(len(pieces), 'piece')} of work in the plan there "
            f"{'is' if len(given.held) == 1 else 'are'} {_count(len(given.held), 'result')}",
            where=Where(text=" ".join(given.held)),
            remedy=f"Give one for each, in their order, and {NOT_ROWED} for a piece not rowed.",
        )
    rates = _listed("rate", given.rates, len(pieces))
    lengths = map(_duration, _listed("duration_ms", given.lengths, len(pieces)))
    return [
        replace(piece, rate=rate or piece.rate, length=length or piece.length)
        for piece, rate, length in zip(pieces, rates, lengths, strict=True)
    ]


def _entry(
    given: Given, piece: Piece, word: str, heart_rate: int | None, felt_pct: int | None
) -> LogEntry:
    if piece.rate is None:
        raise LogError(
            f"the rate of segment {piece.segment} is not known",
            remedy="Give the rates that were rowed, such as --rates 17/19/21/23.",
        )
    held = read_held(word, piece.length)
    return LogEntry(
        rower=given.rower,
        day=given.day,
        rate=piece.rate,
        split_ms=held.split_ms,
        session=given.session,
        segment=piece.segment,
        label=piece.label,
        watts=held.watts,
        metres=held.metres,
        duration_ms=held.duration_ms,
        heart_rate=heart_rate,
        felt_pct=felt_pct,
        note=given.note,
        parts_ms=held.parts_ms,
    )


def _duration(duration_ms: int | None) -> Length | None:
    return None if duration_ms is None else Duration(duration_ms)


def _listed(name: str, text: str | None, count: int) -> list[Any]:
    """Return a value of that field for each piece, None where none is given."""
    if text is None:
        return [None] * count
    spec = FIELDS[name]
    words = [word.strip() for word in text.split("/")]
    if len(words) not in (1, count):
        raise LogError(
            f"{spec.column}: there are {len(words)} values for {_count(count, 'piece')}",
            where=Where(text=text),
            remedy=f"Give one for each piece, or one for all; {NOT_ROWED} where there is none.",
        )
    try:
        values = [None if word == NOT_ROWED else spec.read(word) for word in words]
    except RefusedError as bad:
        remedy = bad.remedy or f"Give {spec.what}."
        raise LogError(
            f"{spec.column}: {bad.problem}", where=Where(text=text), remedy=remedy
        ) from None
    return values * count if len(values) == 1 else values


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
