"""Plans and what was rowed of them, for the tests of reviews."""

from __future__ import annotations

from datetime import date
from typing import Any

from cuegen.plan.reading import read_plan
from cuegen.targets.resolve import outline
from cuegen.targets.review import RowedSegment, review
from cuegen.targets.reviewed import Review

DAY = date(2031, 5, 24)
STEPS = "warm-up 5:00 r18; 4 x 4:00 r17/19/21/23 @2:14/-3/-3/-3 70/75/80/85% (a/b/c/d)"
"""Segments 2 to 5 are the pieces; they ask 2:14, 2:11, 2:08 and 2:05."""


def held(
    segment: int | None, rate: int, split_ms: int, *parts_ms: int, **more: Any
) -> RowedSegment:
    return RowedSegment(segment, rate, split_ms, parts_ms, **more)


def reviewed(session: str, *rowed: RowedSegment, **more: Any) -> Review:
    """Return the review of a session in whiteboard notation, its lines joined by semicolons."""
    lines = "".join(f"  {line.strip()}\n" for line in session.split(";"))
    plan = read_plan(f"title: By the weir\naudience: solo\nsession: |\n{lines}")
    facts: dict[str, Any] = {"rower": "Maren Holt", "day": DAY} | more
    return review(outline(plan), rowed, **facts)


def good(**more: Any) -> Review:
    """Return a session of four steps, all held, the second in three parts."""
    return reviewed(
        STEPS,
        held(2, 17, 134_200, felt_pct=70, heart_rate=140),
        held(3, 19, 130_800, 131_000, 130_600, 130_800, felt_pct=75),
        held(4, 21, 128_100, felt_pct=85),
        held(5, 23, 124_900, 125_400, 124_800, 124_500, felt_pct=85),
        **more,
    )
