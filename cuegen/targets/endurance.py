"""What a rower's tests say of other lengths: how much power for how long.

Conventions
    A split is milliseconds per 500 m, time milliseconds, power watts, distance metres.
    Tests: cuegen.targets.best_efforts. The fit: cuegen.targets.critical_power.

Two rules
    Critical power, inside the range of the fit, where the tests carry one.
    Doubling, everywhere else: 5 s per 500 m lost with each doubling of the distance
    (common practice, no source), from the nearest test. Between two tests both
    predictions count by their nearness, which comes to a straight line over the
    logarithm of the distance. For a time the distance is solved so that split, distance
    and time agree. With a fit the rule goes on from its two ends, so that nothing jumps.

Promise
    What is allowed never grows with the duration, and the work done in it never falls.
    Tests that would break this are left out, with a note.

Contents
    predicted_split, predicted_split_for    the doubling rule from some tests
    Endurance, endurance                    both rules together, and which one speaks when
    Doubling, Point                         the curve of the doubling rule
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from cuegen.clock import MS_PER_S, clock_text, split_text
from cuegen.targets.best_efforts import (
    KINDS,
    EnduranceTest,
    KindOfTest,
    endurance_test,
    latest,
    parse_test,
)
from cuegen.targets.critical_power import CriticalPower, fit_critical_power
from cuegen.targets.power import DOUBLING_MS, DRAG, SPLIT_METRES, whole

__all__ = [
    "KINDS",
    "CriticalPower",
    "Doubling",
    "Endurance",
    "EnduranceTest",
    "KindOfTest",
    "Point",
    "Rule",
    "endurance",
    "endurance_test",
    "fit_critical_power",
    "latest",
    "parse_test",
    "predicted_split",
    "predicted_split_for",
]

STEEPEST_MS = 20_000
"""Split lost per doubling beyond which the longer test was no full effort (our own
judgement: four times the rule of thumb). Up to it, longer always means more work."""

LEAST_METRES = 100.0
"""Below this the doubling rule says nothing more: a sprint is another matter."""

FAR_DOUBLINGS = 2.0
"""So many doublings from the nearest test a prediction is called rough (our own judgement)."""

APART_DAYS = 90
"""Tests further apart than this may show two states of training (our own judgement)."""


def predicted_split(tests: Sequence[EnduranceTest], metres: float) -> int:
    """Return the split (ms per 500 m) over a distance (m) by the doubling rule alone.

    ValueError without a test or for a distance of 0 or less.
    """
    return whole(_doubling(tests).split_over(metres))


def predicted_split_for(tests: Sequence[EnduranceTest], time_ms: int) -> int:
    """Return the split (ms per 500 m) over a time (ms) by the doubling rule alone.

    ValueError without a test or for a time of 0 or less.
    """
    return whole(_doubling(tests).split_for(time_ms))


# ----------------------------------------------------------- the doubling rule


@dataclass(frozen=True, slots=True)
class Point:
    """A split known over a distance. name: whence, in words."""

    metres: float
    split_ms: float
    name: str

    @property
    def time_ms(self) -> float:
        return self.metres * self.split_ms / SPLIT_METRES


@dataclass(frozen=True, slots=True)
class Doubling:
    """The curve through some points, shortest first, no two over one distance."""

    points: tuple[Point, ...]

    def split_over(self, metres: float) -> float:
        """Return the split (ms per 500 m) over a distance (m), LEAST_METRES at least."""
        if not metres > 0:
            raise ValueError(f"a distance is more than 0, not {metres}")
        far = max(metres, LEAST_METRES)
        at, slope_ms = self._from([point.metres for point in self.points], far)
        return at.split_ms + slope_ms * math.log2(far / at.metres)

    def split_for(self, time_ms: float) -> float:
        """Return the split (ms per 500 m) over a time (ms).

        It solves split = known + slope log2(distance / known distance), where the
        distance is 500 time / split. The left less the right grows with the split and
        bends downwards, so that Newton's steps close in from below.
        """
        if not time_ms > 0:
            raise ValueError(f"a time is more than 0, not {time_ms}")
        sprint_ms = self.split_over(LEAST_METRES)
        if time_ms <= sprint_ms * LEAST_METRES / SPLIT_METRES:
            return sprint_ms
        at, slope_ms = self._from([point.time_ms for point in self.points], time_ms)
        bend = slope_ms / math.log(2)
        goal = at.split_ms + bend * math.log(SPLIT_METRES * time_ms / at.metres)
        split_ms = at.split_ms
        for _ in range(30):
            step = (split_ms + bend * math.log(split_ms) - goal) / (1 + bend / split_ms)
            split_ms -= step
            if abs(step) < 1e-9 * split_ms:
                break
        return split_ms

    def far_off(self, time_ms: float) -> bool:
        """Say whether a time (ms) lies FAR_DOUBLINGS or more from every point."""
        return all(
            abs(math.log2(time_ms / point.time_ms)) >= FAR_DOUBLINGS for point in self.points
        )

    def source(self, time_ms: float) -> str:
        """Return what a prediction over a time (ms) rests on, in words."""
        place = bisect_right([point.time_ms for point in self.points], time_ms)
        if 0 < place < len(self.points):
            return f"between {self.points[place - 1].name} and {self.points[place].name}"
        return f"5 s per doubling from {self.points[max(place - 1, 0)].name}"

    def _from(self, scale: list[float], value: float) -> tuple[Point, float]:
        """Return the point to start from, and the split lost per doubling from there."""
        place = bisect_right(scale, value)
        if not 0 < place < len(scale):
            return self.points[max(place - 1, 0)], float(DOUBLING_MS)
        low, high = self.points[place - 1], self.points[place]
        slope_ms = (high.split_ms - low.split_ms) / math.log2(high.metres / low.metres)
        return low, slope_ms


def _doubling(tests: Sequence[EnduranceTest]) -> Doubling:
    kept, _ = _credible(_points(latest(tests)))
    if not kept:
        raise ValueError("a prediction needs a test or more")
    return Doubling(kept)


def _points(tests: Sequence[EnduranceTest]) -> list[Point]:
    return [Point(test.metres, test.split_ms, f"your {test.kind}") for test in tests]


def _credible(points: Sequence[Point]) -> tuple[tuple[Point, ...], tuple[str, ...]]:
    """Return the points that agree with a best effort, shortest first, and why others do not."""
    ordered = sorted(points, key=lambda point: (point.metres, -point.split_ms))
    kept, notes = [], []
    for place, point in enumerate(ordered):
        why = _no_best(point, ordered[:place], ordered[place + 1 :])
        if why:
            notes.append(f"{point.name} ({split_text(whole(point.split_ms))}) is left out: {why}")
        else:
            kept.append(point)
    return tuple(kept), tuple(notes)


def _no_best(point: Point, shorter: Sequence[Point], longer: Sequence[Point]) -> str:
    """Say why a point was no best effort, empty where nothing speaks against it."""
    for other in longer:
        if other.split_ms <= point.split_ms:
            return f"{other.name} was longer and no slower"
    for other in shorter:
        doublings = math.log2(point.metres / other.metres)
        if point.split_ms > other.split_ms + STEEPEST_MS * doublings:
            return f"it is more than {STEEPEST_MS // 1000} s per doubling off {other.name}"
    return ""


# --------------------------------------------------------------- both together


class Rule(StrEnum):
    """By which rule a power is allowed."""

    CRITICAL_POWER = "critical power"
    DOUBLING = "doubling"


@dataclass(frozen=True, slots=True)
class Endurance:
    """What a rower's tests allow.

    tests: those it rests on. fit: None where they carry none. below, above: the doubling
    rule for times under and over the fit's range (one and the same without a fit).
    notes: what a coach should know of the tests, a sentence each without a full stop.
    """

    tests: tuple[EnduranceTest, ...]
    fit: CriticalPower | None
    below: Doubling
    above: Doubling
    notes: tuple[str, ...] = ()

    def rule(self, time_ms: float) -> Rule:
        """Return which rule speaks of a time (ms)."""
        inside = self.fit is not None and self.fit.from_ms <= time_ms <= self.fit.to_ms
        return Rule.CRITICAL_POWER if inside else Rule.DOUBLING

    def watts_for(self, time_ms: float) -> float:
        """Return the mean power (W) that the tests allow for a time (ms, more than 0)."""
        if self.fit is not None and self.rule(time_ms) is Rule.CRITICAL_POWER:
            return self.fit.watts_for(time_ms)
        return _watts(self._doubling(time_ms).split_for(time_ms))

    def split_for(self, time_ms: float) -> int:
        """Return the split (ms per 500 m) that the tests allow for a time (ms, more than 0)."""
        return whole(_split_ms(self.watts_for(time_ms)))

    def source(self, time_ms: float) -> str:
        """Return what is allowed for a time (ms) rests on, in words."""
        if self.fit is not None and self.rule(time_ms) is Rule.CRITICAL_POWER:
            return f"critical power of {self.fit.count} tests"
        curve = self._doubling(time_ms)
        rough = ", far off and so rough" if curve.far_off(time_ms) else ""
        return ("outside the fit: " if self.fit else "") + curve.source(time_ms) + rough

    def _doubling(self, time_ms: float) -> Doubling:
        return self.below if self.fit is None or time_ms < self.fit.from_ms else self.above


def endurance(tests: Sequence[EnduranceTest], fit: CriticalPower | None = None) -> Endurance:
    """Return what tests allow; the last of each kind counts.

    fit: a critical-power fit of your own, otherwise one is made of the tests if they
    carry it. ValueError without a test.
    """
    own = latest(tests)
    kept, notes = _credible(_points(own))
    if not kept:
        raise ValueError("what is realistic needs a test or more")
    names = {point.name for point in kept}
    best = tuple(test for test in own if f"your {test.kind}" in names)
    plain = Endurance(best, None, Doubling(kept), Doubling(kept), notes + _apart(best))
    fit = fit or fit_critical_power(best)
    return plain if fit is None else _joined(plain, fit)


def _joined(plain: Endurance, fit: CriticalPower) -> Endurance:
    """Return the two rules joined at the ends of the fit, or the first alone if they clash."""
    first, last = _end(plain, fit, fit.from_ms), _end(plain, fit, fit.to_ms)
    points = plain.below.points
    below, slower = _credible([*(one for one in points if one.time_ms < fit.from_ms), first])
    above, faster = _credible([last, *(one for one in points if one.time_ms > fit.to_ms)])
    if first not in below or last not in above:
        clash = "; ".join((*slower, *faster))
        return replace(plain, notes=(*plain.notes, f"no critical power is used: {clash}"))
    left_out = (*plain.notes, *slower, *faster)
    return Endurance(plain.tests, fit, Doubling(below), Doubling(above), left_out)


def _end(plain: Endurance, fit: CriticalPower, time_ms: int) -> Point:
    split_ms = _split_ms(fit.watts_for(time_ms))
    kinds = [f"your {test.kind}" for test in plain.tests if test.time_ms == time_ms]
    name = kinds[0] if kinds else f"the fit's {clock_text(time_ms)}"
    return Point(SPLIT_METRES * time_ms / split_ms, split_ms, name)


def _apart(tests: Sequence[EnduranceTest]) -> tuple[str, ...]:
    days = sorted(test.day for test in tests if test.day is not None)
    if not days or (days[-1] - days[0]).days <= APART_DAYS:
        return ()
    return (f"the tests lie {(days[-1] - days[0]).days} days apart: form may have changed",)


def _watts(split_ms: float) -> float:
    return DRAG / (split_ms / MS_PER_S / SPLIT_METRES) ** 3


def _split_ms(watts: float) -> float:
    return MS_PER_S * SPLIT_METRES * math.cbrt(DRAG / watts)
