"""Short ways to build sessions and outlines for the tests of this folder."""

from __future__ import annotations

from cuegen.errors import Where
from cuegen.plan.model import (
    Audience,
    Break,
    Distance,
    Duration,
    Entry,
    Length,
    Rate,
    SegmentKind,
    Session,
    Target,
)

WARM_UP, ROW, PADDLE, REST, COOL_DOWN = SegmentKind


def minutes(value: float) -> Duration:
    return Duration(round(value * 60_000))


def entry(
    kind: SegmentKind = ROW,
    length: Length | float = 4,
    *rates: int | tuple[int, int],
    targets: tuple[Target, ...] = (),
    efforts: tuple[int, ...] = (),
    rest: Break | None = None,
    repeats: int | None = None,
    line: int = 0,
) -> Entry:
    """One entry; as many repeats as the longest list asks, unless they are given."""
    return Entry(
        kind=kind,
        repeats=repeats or max(len(rates), len(targets), len(efforts), 1),
        lengths=(length if isinstance(length, Duration | Distance) else minutes(length),),
        rates=tuple(Rate(*((rate, rate) if isinstance(rate, int) else rate)) for rate in rates),
        targets=targets,
        efforts=efforts,
        rest=rest,
        where=Where(file="plan.yaml", line=line or None),
    )


def session(
    *entries: Entry,
    audience: Audience = Audience.SOLO,
    rower: str | None = None,
    talk_share: float = 0.35,
    count_in: int = 3,
    lead_in_ms: int | None = None,
) -> Session:
    return Session(
        title="Weir evening",
        entries=entries,
        audience=audience,
        rower=rower,
        talk_share=talk_share,
        count_in=count_in,
        lead_in_ms=lead_in_ms,
        where=Where(file="plan.yaml", line=1),
    )
