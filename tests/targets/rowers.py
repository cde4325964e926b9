"""Made-up rowers for the tests of the rate and power curve: results, and what comes next."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from cuegen.targets.curve import NOISE, PRIOR, CurvePoint, RateCurve, fit_curve
from cuegen.targets.posterior import Floats, Prior
from cuegen.targets.power import DRAG, watts_from_split

TWO_MINUTES = 120_000


def curve(points: Iterable[CurvePoint], prior: Prior = PRIOR) -> RateCurve:
    fitted = fit_curve(list(points), prior)
    assert fitted is not None
    return fitted


def held(rate: float, split_ms: int, days_ago: float = 0.0) -> CurvePoint:
    return CurvePoint(rate, watts_from_split(split_ms), days_ago)


def rowed(seed: int, count: int, slope: float = 0.9, days: float = 0.0) -> list[CurvePoint]:
    """Results about 2:00 at 22, rates 16 to 30, NOISE in log power, spread evenly over days."""
    rng = np.random.default_rng(seed)
    rates = rng.integers(16, 31, count)
    logs = math.log(watts_from_split(TWO_MINUTES)) + slope * np.log(rates / 22)
    watts = np.exp(logs + rng.normal(0, NOISE, count))
    ages = np.linspace(0, days, count)
    rows = zip(rates, watts, ages, strict=True)
    return [CurvePoint(float(r), float(w), float(d)) for r, w, d in rows]


def slowed(points: list[CurvePoint], index: int, seconds: float) -> list[CurvePoint]:
    """The same results, one of them slower by so many seconds per 500 m."""
    bad = points[index]
    split = 500 * math.cbrt(DRAG / bad.watts) + seconds
    watts = DRAG / (split / 500) ** 3
    return [*points[:index], CurvePoint(bad.rate, watts, bad.days_ago), *points[index + 1 :]]


def logs_of(points: list[CurvePoint]) -> tuple[Floats, Floats]:
    return np.log([p.rate for p in points]), np.log([p.watts for p in points])


def split_of(log_watts: float) -> float:
    """Milliseconds per 500 m of a log power, not rounded."""
    return 500_000 * math.cbrt(DRAG / math.exp(log_watts))


def hit(rng: np.random.Generator, count: int, outlier: bool, wander: float = 0.0) -> bool:
    """Say whether a simulated rower's next split lies in the 80 % interval.

    1:35 to 2:30 at 22, slope 0.8 to 1.2, rates 16 to 30, results spread over up to
    120 days, 0.5 s of scatter in each split, one result 8 s off if asked for;
    wander: form's random walk, in seconds per root of a day.
    """
    level, slope = rng.uniform(95, 150), rng.uniform(0.8, 1.2)
    days = np.sort(rng.uniform(0, rng.uniform(0, 120), count))
    rates = rng.integers(16, 31, count + 1)
    splits = level * (rates / 22) ** (-slope / 3) + rng.normal(0, 0.5, count + 1)
    steps = rng.normal(0, 1, count) * np.sqrt(np.diff(days, prepend=0.0))
    splits[:count] += wander * np.cumsum(steps)
    if outlier:
        splits[rng.integers(count)] += 8 * rng.choice([-1, 1])
    watts = DRAG / (splits[:count] / 500) ** 3
    rows = zip(rates[:count], watts, days, strict=True)
    ends = curve(CurvePoint(float(r), float(w), float(d)) for r, w, d in rows)
    predicted = ends.predict(float(rates[count]), level=0.8)
    return bool(predicted.fast_ms <= 1000 * splits[count] <= predicted.slow_ms)


def coverage(counts: range, outliers: tuple[bool, ...], seed: int, wander: float = 0.0) -> float:
    """Per cent of 1,000 simulated rowers whose next split lies in the interval; prints it."""
    rng = np.random.default_rng(seed)
    hits = [
        hit(rng, int(rng.choice(counts)), bool(rng.choice(outliers)), wander) for _ in range(1_000)
    ]
    share = 100 * float(np.mean(hits))
    print(f"{counts.start} to {counts.stop - 1} results, outlier {outliers}: {share:.1f} %")
    return share
