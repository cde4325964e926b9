"""How much power a rower makes at each rate, from their own results, and how sure that is.

Conventions
    A rate is strokes per minute, power watts, age days, a split whole milliseconds
    per 500 m. Log power is fitted against log rate: a straight line, whose slope is
    1 if the work per stroke is the same at every rate (derived: power is work per
    stroke times strokes). cuegen.targets.posterior fits it, and says how.

What is believed beforehand
    The constants below, each with its reason. They decide what one or two results
    are taken to mean, and give way to more.

Limits
    Results of every length count alike: who logs sprints beside long rows gets a
    wider interval for it. Of two results that disagree neither can be called wrong:
    both count, and the interval is as wide as they lie apart. A leap in form looks
    like outliers for two or three results, then the interval widens over both forms
    until the old one has faded. An interval is that of one new result, its own
    scatter included, with nothing going wrong in it.

Contents
    CurvePoint, points_of       one result, those of a rower
    fit_curve                   results -> RateCurve
    RateCurve, Prediction       what a rower can hold at a rate
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.special import chdtri, stdtrit

from cuegen.targets.posterior import Floats, Posterior, Prior, fit_lines
from cuegen.targets.power import split_from_watts, watts_from_split
from cuegen.targets.rowed import Results

HALF_LIFE_DAYS = 42.0
"""Days after which a result counts half.

Six weeks, about a block of training (common practice, no source). Of 80 % intervals
for simulated rowers, 83 % hold if form stays, 80 % if it wanders by half a second
per 500 m in six weeks, 74 % if it gains that every month; with 28 days 85, 82, 77 %,
with 60 days 82, 79, 72 %.
"""

MOST_POINTS = 400
"""Of more results the newest count; the others have faded, or change nothing any more."""

OLDEST_DAYS = 6 * HALF_LIFE_DAYS
"""The newest result fades no further than this: after years away a curve is known to
some six seconds either way, not to nothing. Others go on fading against the newest."""

NOISE = 3 * 0.5 / 120
"""Scatter of a result in log power: 0.5 s in 2:00 (our judgement), three times that in
power, which goes with the cube of speed. Half of all rowers scatter more."""

NOISE_RESULTS = 3.0
"""How many results the belief in NOISE is worth. Few, since rowers differ; with two or
fewer, the slope below would have no standard deviation. Of 80 % intervals for simulated
rowers who scatter 1 s instead of 0.5 s, 66 to 72 % hold with up to 5 results, 76 % with
more; for 0.3 s, 90 to 94 %."""

SLOPE = 1.0
SLOPE_WITHIN = 0.15
"""Four rowers in five are believed to lie this close to constant work per stroke (our
judgement; were every slope from 0.8 to 1.2 as likely, it would be 0.16)."""

OUTLIERS = 0.02
"""Share of results in which something went wrong (our judgement)."""

OUTLIER_SPREAD = 20.0
"""How much wider those scatter: some 10 s, a piece cut short or a digit mistyped."""

_LOG_LIMIT = 40.0
"""Log watts are kept within this of 0, where exp() and splits still have a value."""


def _prior() -> Prior:
    """Return the prior whose scatter and slope are spread as the constants say."""
    noise_sum = NOISE**2 * float(chdtri(NOISE_RESULTS, 0.5))
    slope_scale = SLOPE_WITHIN / float(stdtrit(NOISE_RESULTS, 0.9))
    slope_worth = noise_sum / NOISE_RESULTS / slope_scale**2
    return Prior(SLOPE, slope_worth, NOISE_RESULTS, noise_sum, OUTLIERS, OUTLIER_SPREAD)


PRIOR = _prior()


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """A result: power (W) at a rate (strokes per minute), so many days ago.

    Raises ValueError unless rate and watts are more than 0 and days_ago is 0 or more.
    """

    rate: float
    watts: float
    days_ago: float = 0.0

    def __post_init__(self) -> None:
        if not 0 < self.rate < math.inf:
            raise ValueError(f"a rate is more than 0, not {self.rate}")
        if not 0 < self.watts < math.inf:
            raise ValueError(f"a power is more than 0, not {self.watts}")
        if not 0 <= self.days_ago < math.inf:
            raise ValueError(f"a result is 0 or more days old, not {self.days_ago}")


@dataclass(frozen=True, slots=True)
class Prediction:
    """One new result at a rate: median power (W), its split, and an interval.

    split_ms, fast_ms, slow_ms: whole ms per 500 m. It is as likely faster than
    fast_ms as slower than slow_ms.
    """

    watts: float
    split_ms: int
    fast_ms: int
    slow_ms: int


@dataclass(frozen=True, slots=True)
class RateCurve:
    """Power against rate, as known of one rower. lines: log W against log strokes per minute."""

    lines: Posterior

    @property
    def slope(self) -> float:
        """Per cent of power that a per cent of rate brings; 1 is constant work per stroke."""
        return self.lines.slope

    @property
    def slope_sd(self) -> float:
        """The standard deviation of the slope."""
        return self.lines.slope_sd

    @property
    def results(self) -> float:
        """How many sound results of today the curve rests on."""
        return self.lines.count

    def predict(self, rate: float, level: float = 0.8) -> Prediction:
        """Return what one new result at a rate (strokes per minute) will be.

        level: probability of the interval. ValueError unless the rate is more than
        0 and the level lies between 0 and 1.
        """
        if not 0 < rate < math.inf:
            raise ValueError(f"a rate is more than 0, not {rate}")
        if not 0 < level < 1:
            raise ValueError(f"a level lies between 0 and 1, not {level}")
        at, tail = math.log(rate), (1 - level) / 2
        middle, low, high = (self.lines.quantile(at, p) for p in (0.5, tail, 1 - tail))
        watts = _watts(middle)
        return Prediction(
            watts=watts,
            split_ms=split_from_watts(watts),
            fast_ms=split_from_watts(_watts(high)),
            slow_ms=split_from_watts(_watts(low)),
        )


def points_of(results: Results, rower: str, today: date) -> tuple[CurvePoint, ...]:
    """Return a rower's results up to a day, oldest first; none for an unknown rower.

    Power is that of the split, which every row has; watts beside it are a rounding. Of
    more than MOST_POINTS the newest.
    """
    if not results.knows(rower):
        return ()
    rows = [held for held in results.of(rower) if held.date <= today][-MOST_POINTS:]
    return tuple(
        CurvePoint(held.rate, watts_from_split(held.split_ms), (today - held.date).days)
        for held in rows
    )


def fit_curve(points: Sequence[CurvePoint], prior: Prior = PRIOR) -> RateCurve | None:
    """Return the curve of one rower's results, in whatever order; None without any."""
    if not points:
        return None
    # One order for all orders: sums of floats then agree to the last bit.
    rows = sorted((point.days_ago, point.rate, point.watts) for point in points)
    days, rates, watts = np.array(rows, dtype=np.float64).T
    return RateCurve(fit_lines(np.log(rates), np.log(watts), _recency(days), prior))


def _recency(days: Floats) -> Floats:
    """Return what results of these ages (days, the newest first) count for."""
    newest = days[0]
    counted = days - newest + min(newest, OLDEST_DAYS)
    return np.asarray(np.exp2(-counted / HALF_LIFE_DAYS))


def _watts(log_watts: float) -> float:
    return math.exp(min(max(log_watts, -_LOG_LIMIT), _LOG_LIMIT))
