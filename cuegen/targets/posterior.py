"""A straight line through points that age and may be wrong, and how sure it is.

Conventions
    Plain numbers without units: x and y are arrays of one length, recency is what
    each point counts for by its age, 1 down to more than 0. cuegen.targets.curve
    says what they are of a rower.

The line
    y = a + b x + e. The prior of a is flat, that of b normal about `slope` with
    variance s2 / lambda (who scatters more is given more room in slope too: the
    price of a closed form), e is normal with variance s2. A point counts
    c = recency x ordinariness. With S = sum c, means weighted by c and
    P = sum c (x - mean x)^2 + lambda, the normal-inverse-gamma posterior (derived;
    the form is in any textbook) is
        b     = (sum c (x - mean x)(y - mean y) + lambda slope) / P
        q     = q0 + sum c (y - mean y - b (x - mean x))^2 + lambda (b - slope)^2
        df    = n0 + R - sum recency^2 / R,  R = sum recency,     s2 about q / df,
    and a new point at x is Student-t with df degrees of freedom about the line,
        scale^2 = q / df (1 + 1 / S + (x - mean x)^2 / P).
    With every recency 1, df is n0 + n - 1: the flat prior of a takes one. For
    others it is the number that leaves q unbiased, so that one point, however
    old, says nothing of the scatter (derived).

    Recency raises a point's likelihood to a power (a power prior: Ibrahim and
    Chen 2000, from memory): an old point is a part of a point, and a line through
    old points is less sure.

Outliers
    A point is ordinary, or, with probability eps, one whose scatter is k times as
    wide (Box and Tiao 1968, Biometrika 55:119, known second-hand from Verdinelli
    and Wasserman, Statistics and Computing 1:105, 1991). Mean-field variational
    Bayes turns that into reweighting, in turn with the line until nothing moves:
        d^2          = r^2 df / q + 1 / S + (x - mean x)^2 / P,  r from the line,
        p / (1 - p)  = eps / (1 - eps) x (exp(d^2 (1 - 1 / k^2) / 2) / k)^recency,
        ordinariness = 1 - p + p / k^2
    (derived; a published scheme of the kind is Ala-Luhtala and Piche, Gaussian
    scale mixture models for robust linear multivariate regression, abstract seen).
    The same distance makes an old point less suspect: it had time to come about.

    Where this settles depends on where it starts: of three points, any may be the
    wrong one. So it starts from several guesses, and the posterior is the mixture of
    the ends, each with its share of the evidence (mixtures of mean fields: Jaakkola
    and Jordan 1998, from memory), whose log is the variational bound (derived),
        -log(S P) / 2 - df log(q) / 2
        + sum ((1 - p) log((1 - eps) / (1 - p)) + p log(eps / p) - recency p log k).
    A Student-t likelihood would do as well against outliers, but makes less of
    clean points too.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import entr, expit, stdtr, stdtrit

Floats = NDArray[np.float64]

LEAST_TO_JUDGE = 3
"""Points from which on one can be told apart as an outlier."""

_LONE_GUESSES = 3
"""Guesses that a single point is wrong. Guessing every point and every pair too moved the
prediction by more than 0.3 s per 500 m for 1 in 100 simulated rowers at most."""

_MOST_ROUNDS = 50
_SETTLED = 1e-6
_ALIKE = 0.01
"""Two ends are one if they find every point wrong with the same probability, so nearly."""

_HALVINGS = 60
_NORMAL_MAD = 1.4826
"""Standard deviations in a median absolute deviation of the normal distribution."""


@dataclass(frozen=True, slots=True)
class Prior:
    """What is believed before the first point, in the letters of the module's head.

    slope_worth: lambda. noise_points: n0. noise_sum: q0, more than 0. outliers: eps,
    at 0 every point is ordinary. outlier_spread: k.
    """

    slope: float
    slope_worth: float
    noise_points: float
    noise_sum: float
    outliers: float
    outlier_spread: float

    @property
    def kept(self) -> float:
        """What a point counts for that is an outlier for certain."""
        return 1 / self.outlier_spread**2


@dataclass(frozen=True, slots=True)
class Line:
    """One end. x, y: its surest point (means). count: S. worth: P. squares: q. freedom: df."""

    x: float
    y: float
    slope: float
    count: float
    worth: float
    squares: float
    freedom: float

    @property
    def slope_variance(self) -> float:
        """The variance of the slope; endless with 2 degrees of freedom or fewer."""
        if self.freedom <= 2:
            return math.inf
        return self.squares / (self.freedom - 2) / self.worth

    def at(self, x: float) -> tuple[float, float]:
        """Return middle and scale of the Student-t of a new point at x."""
        away = x - self.x
        spread = 1 + 1 / self.count + away**2 / self.worth
        return self.y + self.slope * away, math.sqrt(self.squares / self.freedom * spread)


@dataclass(frozen=True, slots=True)
class Posterior:
    """Every line the points allow, and the share of belief that each has."""

    lines: tuple[Line, ...]
    shares: tuple[float, ...]

    @property
    def slope(self) -> float:
        """The mean of the slope."""
        return self._mean([line.slope for line in self.lines])

    @property
    def slope_sd(self) -> float:
        """The standard deviation of the slope."""
        middle = self.slope
        each = [line.slope_variance + (line.slope - middle) ** 2 for line in self.lines]
        return math.sqrt(self._mean(each))

    @property
    def count(self) -> float:
        """How many sound new points it is worth."""
        return self._mean([line.count for line in self.lines])

    def quantile(self, x: float, chance: float) -> float:
        """Return what a new point at x lies below with this chance (0 to 1)."""
        freedom = np.array([line.freedom for line in self.lines])
        middle, scale = np.array([line.at(x) for line in self.lines]).T
        ends = middle + scale * stdtrit(freedom, chance)
        # The mixture's quantile lies among those of its lines.
        low, high = float(ends.min()), float(ends.max())
        for _ in range(_HALVINGS if low < high else 0):
            at = low + (high - low) / 2
            if self._mean(stdtr(freedom, (at - middle) / scale)) < chance:
                low = at
            else:
                high = at
        return high

    def _mean(self, each: Sequence[float] | Floats) -> float:
        return float(np.dot(self.shares, each))


def fit_lines(x: Floats, y: Floats, recency: Floats, prior: Prior) -> Posterior:
    """Return the posterior of one point or more."""
    if len(x) < LEAST_TO_JUDGE or not prior.outliers:
        return Posterior((_line(x, y, recency, np.zeros_like(x), prior),), (1.0,))
    ends: list[_End] = []
    for guess in _guesses(x, y, prior):
        end = _settled(x, y, recency, guess, prior)
        if all(np.abs(end.wrong - other.wrong).max() > _ALIKE for other in ends):
            ends.append(end)
    evidence = np.array([end.evidence for end in ends])
    shares = np.exp(evidence - evidence.max())
    return Posterior(tuple(end.line for end in ends), tuple((shares / shares.sum()).tolist()))


@dataclass(frozen=True, slots=True)
class _End:
    """Where reweighting came to rest. wrong: p of each point. evidence: its log."""

    line: Line
    wrong: Floats
    evidence: float


def _line(x: Floats, y: Floats, recency: Floats, wrong: Floats, prior: Prior) -> Line:
    """Return the posterior for points that are outliers with these probabilities."""
    count = recency * (1 - wrong * (1 - prior.kept))
    total = float(count.sum())
    x_mean, y_mean = float(count @ x) / total, float(count @ y) / total
    x_off, y_off = x - x_mean, y - y_mean
    worth = float(count @ x_off**2) + prior.slope_worth
    slope = (float(count @ (x_off * y_off)) + prior.slope_worth * prior.slope) / worth
    squares = float(count @ (y_off - slope * x_off) ** 2) + prior.noise_sum
    squares += prior.slope_worth * (slope - prior.slope) ** 2
    recent = float(recency.sum())
    freedom = prior.noise_points + recent - float(recency @ recency) / recent
    return Line(x_mean, y_mean, slope, total, worth, squares, freedom)


def _guesses(x: Floats, y: Floats, prior: Prior) -> Iterator[Floats]:
    """Yield probabilities of being an outlier to start from.

    By the distance from the median level at the prior's slope, which a few outliers
    cannot move far, in units of what scatter is believed to be and of what it seems
    to be; all on one side of it; each of the farthest alone.
    """
    off = y - prior.slope * x
    off -= np.median(off)
    far = np.abs(off)
    believed = math.sqrt(prior.noise_sum / prior.noise_points)
    for scale in (believed, max(believed, _NORMAL_MAD * float(np.median(far)))):
        yield _wrong((far / scale) ** 2, np.ones_like(x), prior)
    yield (off > 0).astype(np.float64)
    yield (off < 0).astype(np.float64)
    for index in np.argsort(-far, kind="stable")[:_LONE_GUESSES]:
        alone = np.zeros_like(x)
        alone[index] = 1
        yield alone


def _settled(x: Floats, y: Floats, recency: Floats, wrong: Floats, prior: Prior) -> _End:
    """Return where reweighting from a guess comes to rest."""
    for _ in range(_MOST_ROUNDS):
        line = _line(x, y, recency, wrong, prior)
        before, wrong = wrong, _wrong(_surprise(x, y, line), recency, prior)
        if np.abs(wrong - before).max() < _SETTLED:
            break
    return _End(line, wrong, _evidence(line, recency, before, prior))


def _surprise(x: Floats, y: Floats, line: Line) -> Floats:
    """Return d^2: how far points lie from the line, in its scatter, squared."""
    x_off = x - line.x
    away = (y - line.y - line.slope * x_off) ** 2 * (line.freedom / line.squares)
    return np.asarray(away + 1 / line.count + x_off**2 / line.worth)


def _wrong(surprise: Floats, recency: Floats, prior: Prior) -> Floats:
    """Return p, the probability of being an outlier, of points that surprise so much (d^2)."""
    odds = math.log(prior.outliers / (1 - prior.outliers))
    told = surprise * (1 - prior.kept) / 2 - math.log(prior.outlier_spread)
    return np.asarray(expit(odds + recency * told))


def _evidence(line: Line, recency: Floats, wrong: Floats, prior: Prior) -> float:
    """Return the variational bound of the log evidence, but for a constant."""
    right, spread = 1 - wrong, math.log(prior.outlier_spread)
    each = entr(right) + entr(wrong) + right * math.log(1 - prior.outliers)
    each += wrong * (math.log(prior.outliers) - recency * spread)
    tightness = math.log(line.count * line.worth) + line.freedom * math.log(line.squares)
    return float(each.sum()) - tightness / 2
