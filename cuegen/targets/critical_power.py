"""Critical power: what a rower can hold for long, and the work they have above it.

Conventions
    Power watts, work joules; the raw fit counts seconds, all else whole milliseconds.
    W' is the work above critical power that one effort can spend.

Model
    P = CP + W'/t, the same line as work = W' + CP t (S: Monod and Scherrer 1965,
    Ergonomics 8:329-338; Hill 1993, Sports Medicine 16:237-254; both from memory).
    Two forms are fitted by least squares. They agree where two tests are given:
      work on time      errors of work count alike, so long tests weigh most. The form
                        we use: sessions lie at the long end, and a hyperbola flatters
                        short tests, which bend it upwards without end.
      power on 1/time   errors of power count alike, so short tests weigh most. Where
                        those fall below the hyperbola, it gives more critical power
                        and less W'.
    With three tests or more each number has a standard error.

    The model serves for about 2 to 30 minutes (S: Skiba and Clarke 2021, IJSPP
    16(11):1561), for others only from 2 to 15 (S: doi 10.1007/s00421-023-05274-5). We take
    tests of 2 to 30 minutes and trust the fit from the shortest of them to the longest:
    outside two tests the hyperbola lies above what rowers usually do (the doubling rule
    makes 2k at 2:00 2:06.2 for 20 minutes; a fit of 1k at 1:55 and that 2k makes it
    2:03.2, 8 % more power; derived).

Balance
    Above critical power W' is spent by P - CP; below it comes back by
    (1 - balance/W') (CP - P), the differential form (S: Skiba et al. 2015, doi
    10.1007/s00421-014-3050-3, and Skiba and Clarke 2021, equation 12, as the packages
    trackeR and pypermod write them). Over a span of constant power both have a closed
    form, so nothing is stepped. Skiba and Clarke call its record mixed: a guide, no more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from cuegen.clock import MS_PER_MIN, MS_PER_S
from cuegen.targets.best_efforts import EnduranceTest

FIT_MS = (2 * MS_PER_MIN, 30 * MS_PER_MIN)
"""How long a test of a fit lasts, both included."""

USUAL_MS = (2 * MS_PER_MIN, 20 * MS_PER_MIN)
"""What a fit is trusted for where nothing else is said, as of one made elsewhere."""

FIT_SPREAD = 2.0
"""Longest over shortest test of a fit, at least. CP = (W2 - W1) / (t2 - t1): with tests
good to 2 % it is good to 4.5 % at a spread of 2, but to 16 % at 1.2 (derived)."""

_HALVINGS = 200


class Form(StrEnum):
    """Which straight line is fitted."""

    WORK_ON_TIME = "work on time"
    POWER_ON_INVERSE_TIME = "power on 1/time"


@dataclass(frozen=True, slots=True)
class CriticalPower:
    """A fit. watts: critical power; work_j: W'; count: how many tests it rests on.

    The errors are standard errors, None with two tests. from_ms, to_ms: the durations
    it is trusted for, both included.
    """

    watts: float
    work_j: float
    count: int = 2
    watts_error: float | None = None
    work_error_j: float | None = None
    from_ms: int = USUAL_MS[0]
    to_ms: int = USUAL_MS[1]

    def watts_for(self, time_ms: float) -> float:
        """Return the power (W) that it allows for a time (ms), trusted or not."""
        return self.watts + self.work_j * MS_PER_S / time_ms

    def __str__(self) -> str:
        """Return it in words: `critical power 265 W, give or take 3 W, and 21.0 kJ above it`."""
        sure = "" if self.watts_error is None else f", give or take {self.watts_error:.0f} W,"
        return f"critical power {self.watts:.0f} W{sure} and {self.work_j / 1000:.1f} kJ above it"


def fit_critical_power(
    tests: Sequence[EnduranceTest], form: Form = Form.WORK_ON_TIME
) -> CriticalPower | None:
    """Return the fit of those tests that last 2 to 30 minutes, None where they do not carry one.

    They carry one where there are two or more, the longest lasts FIT_SPREAD times the
    shortest, and both numbers come out above 0.
    """
    usable = [test for test in tests if FIT_MS[0] <= test.time_ms <= FIT_MS[1]]
    times_ms = sorted(test.time_ms for test in usable)
    if len(usable) < 2 or times_ms[-1] < FIT_SPREAD * times_ms[0]:
        return None
    points = [(test.time_ms / MS_PER_S, test.watts) for test in usable]
    found = fit_points(points, form)
    if not (found.watts > 0 and found.work_j > 0):
        return None
    return replace(found, from_ms=times_ms[0], to_ms=times_ms[-1])


def fit_points(
    points: Sequence[tuple[float, float]], form: Form = Form.WORK_ON_TIME
) -> CriticalPower:
    """Return the fit of (seconds, watts), whatever it comes to. ValueError under two durations."""
    if len({seconds for seconds, _ in points}) < 2:
        raise ValueError("a fit needs two durations or more")
    if form is Form.WORK_ON_TIME:
        line = _line([(seconds, seconds * watts) for seconds, watts in points])
        watts, work, watts_error, work_error = line
    else:
        line = _line([(1 / seconds, watts) for seconds, watts in points])
        work, watts, work_error, watts_error = line
    return CriticalPower(watts, work, len(points), watts_error, work_error)


def _line(
    points: Sequence[tuple[float, float]],
) -> tuple[float, float, float | None, float | None]:
    """Return slope and intercept by least squares, and the standard error of each."""
    count = len(points)
    middle_x = math.fsum(x for x, _ in points) / count
    middle_y = math.fsum(y for _, y in points) / count
    squares = math.fsum((x - middle_x) ** 2 for x, _ in points)
    slope = math.fsum((x - middle_x) * (y - middle_y) for x, y in points) / squares
    intercept = middle_y - slope * middle_x
    if count < 3:
        return slope, intercept, None, None
    rest = math.fsum((y - intercept - slope * x) ** 2 for x, y in points) / (count - 2)
    slope_error = math.sqrt(rest / squares)
    intercept_error = math.sqrt(rest * (1 / count + middle_x**2 / squares))
    return slope, intercept, slope_error, intercept_error


# -------------------------------------------------------------------- balance

Span = tuple[float, float]
"""Seconds of constant power, and the watts."""


def least_balance(fit: CriticalPower, spans: Sequence[Span]) -> float:
    """Return the least that is left of W' (J) at any instant of the spans, W' at the start.

    Below 0: more was asked than the model gives. Within a span the balance only falls
    or only rises, so the ends of spans are enough.
    """
    left = least = fit.work_j
    for seconds, watts in spans:
        spent = (watts - fit.watts) * seconds
        if spent >= 0:
            left -= spent
        else:
            left = fit.work_j - (fit.work_j - left) * math.exp(spent / fit.work_j)
        least = min(least, left)
    return least


def share_by_balance(fit: CriticalPower, spans: Sequence[Span]) -> float:
    """Return what is asked as a share of the power at which these spans just use up W'.

    1 is the very limit; at 0.9 every power could be 1/0.9 of what it is. 0 where
    nobody rows. The lengths of work and rest stay as they are.
    """
    rowed = [(seconds, watts) for seconds, watts in spans if watts > 0]
    if not rowed:
        return 0.0
    low = fit.watts / max(watts for _, watts in rowed)
    high = min((fit.watts + fit.work_j / seconds) / watts for seconds, watts in rowed)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if not low < middle < high:
            break
        if least_balance(fit, [(seconds, middle * watts) for seconds, watts in spans]) > 0:
            low = middle
        else:
            high = middle
    return 1 / high
