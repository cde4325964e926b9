"""Entries of invented rowers."""

from __future__ import annotations

from datetime import date
from typing import Any

from hypothesis import strategies as st

from cuegen.log import LogEntry
from cuegen.log.entry import FIELDS
from cuegen.plan.model import SegmentKind

DAY = date(2031, 5, 24)


def entry(rower: str = "Maren Holt", **fields: Any) -> LogEntry:
    """Return a plain entry: 2:05.5 at rate 20, unless told otherwise."""
    plain: dict[str, Any] = {"rower": rower, "day": DAY, "rate": 20, "split_ms": 125_500}
    return LogEntry(**plain | fields)


FULL = LogEntry(
    rower="Maren Holt",
    day=DAY,
    rate=19,
    split_ms=125_567,
    session="Thursday by the slip",
    segment=3,
    label="2 of 4, length",
    kind=SegmentKind.PADDLE,
    watts=177.5,
    metres=896.0,
    duration_ms=240_100,
    heart_rate=151,
    felt_pct=80,
    note="windy; a headwind, mostly",
    parts_ms=(126_034, 125_100, 125_600),
)
"""Every field with a value of its own, so that two taken for each other would show."""

NAMES = st.sampled_from(["Maren Holt", "Idris Vale", "Åsa Öberg", "李 明", "O'Dowd, Pat"])
TEXTS = st.text(
    st.characters(exclude_categories=("Cc", "Cs", "Cf", "Zl", "Zp", "Zs"), include_characters=" "),
    max_size=30,
)


def _whole(name: str) -> st.SearchStrategy[int]:
    low, high = FIELDS[name].bounds or (0, 0)
    return st.integers(int(low), int(high))


def _number(name: str) -> st.SearchStrategy[float]:
    _, high = FIELDS[name].bounds or (0, 0)
    return st.floats(0.001, high) | st.integers(1, int(high)).map(float)


ENTRIES = st.builds(
    LogEntry,
    rower=NAMES,
    day=st.dates(date(1950, 1, 1), date(2200, 12, 31)),
    rate=_whole("rate"),
    split_ms=_whole("split_ms"),
    session=st.none() | TEXTS,
    segment=st.none() | _whole("segment"),
    label=st.none() | TEXTS,
    kind=st.sampled_from(SegmentKind),
    watts=st.none() | _number("watts"),
    metres=st.none() | _number("metres"),
    duration_ms=st.none() | _whole("duration_ms"),
    heart_rate=st.none() | _whole("heart_rate"),
    felt_pct=st.none() | _whole("felt_pct"),
    note=st.none() | TEXTS,
    parts_ms=st.just(()) | st.lists(_whole("split_ms"), min_size=2, max_size=6).map(tuple),
)
"""Entries that the log takes, in any order of their texts."""
