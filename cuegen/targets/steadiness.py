"""How evenly a piece was rowed, by the splits of its equally long parts.

Conventions
    Splits are whole milliseconds per 500 m; a drift is last less first, so that a
    positive one is slower. The coefficient of variation is that of the parts' speeds
    (500 m by the split), each part counted once: their standard deviation, as of a
    whole population since the parts are the whole piece, in per cent of their mean.
    From which drift on a piece is called faded or built is our own judgement.

Contents
    Steadiness, steadiness      the figures of one piece
    Course                      faded, built or even
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

EVEN_MS = 500
"""First and last part so close are the same (our own judgement: a monitor shows tenths)."""


class Course(StrEnum):
    """How a piece went from its first part to its last."""

    FADED = "faded"
    BUILT = "built"
    EVEN = "even"


@dataclass(frozen=True, slots=True)
class Steadiness:
    """spread_ms: slowest less fastest part. variation_pct: of speed. drift_ms: last less first."""

    spread_ms: int
    variation_pct: float
    drift_ms: int
    course: Course


def steadiness(parts_ms: Sequence[int]) -> Steadiness | None:
    """Return how evenly a piece was rowed, None where fewer than two parts are known."""
    if len(parts_ms) < 2:
        return None
    speeds = [1 / part for part in parts_ms]
    drift_ms = parts_ms[-1] - parts_ms[0]
    return Steadiness(
        spread_ms=max(parts_ms) - min(parts_ms),
        variation_pct=100 * statistics.pstdev(speeds) / statistics.fmean(speeds),
        drift_ms=drift_ms,
        course=_course(drift_ms),
    )


def _course(drift_ms: int) -> Course:
    if abs(drift_ms) <= EVEN_MS:
        return Course.EVEN
    return Course.FADED if drift_ms > 0 else Course.BUILT
