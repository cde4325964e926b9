"""A session against what its rower's tests show: within reach, hard, or beyond them.

Conventions
    Power watts, time whole milliseconds; pieces count from 1, as a coach counts them.
    What a segment asks is the outline's own power, constant from its start to its end;
    a rest is 0 W, a paddle what the outline reckons. Warm-up and cool-down are left out.

How it is judged
    By stretches. A stretch runs from the start of one piece to the end of the same or a
    later one, breaks and all. Its mean power may not exceed the best mean power for its
    length: that is what the power-duration curve says (derived), and it holds for every
    stretch, so the hardest one decides. A run, pieces without a real break, is judged by
    the stretches within it; the session by all of them.

    By W' balance too, for the session, where the tests carry a critical-power fit
    (cuegen.targets.critical_power): what a break gives back is then reckoned, rather
    than averaged. It can call a session hard that its mean power does not; it never says
    more than hard, for it is a model with a mixed record, while the stretches only use
    what a best effort is.

Limits
    Mean power over work and rest is the lenient one: without a fit it takes every break
    for as good as it could be. Both assume a rested rower, even pacing and a machine;
    neither knows of a low rate, which asks more force of each stroke for the same power,
    nor of days before. Nothing here is medical advice. A qualified coach, who sees the
    rower, goes before it.

Contents
    Verdict, Judgement, Scope, Measure      one finding
    judge                                   the session, then its runs
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import accumulate, groupby, pairwise

from cuegen.clock import MS_PER_S, clock_text
from cuegen.targets.critical_power import CriticalPower, share_by_balance
from cuegen.targets.endurance import Endurance, EnduranceTest, endurance
from cuegen.targets.outline import Outline, PlannedSegment

HARD_FROM = 0.90
"""Share of the best for that length from which a piece is hard: 10 % of power is 3.5 % of
the split, 4 s at 2:00, which is close to racing (our own judgement)."""

BEYOND_FROM = 1.02
"""Share from which it is more than the tests show. Well-trained rowers vary by 2.0 % of
mean power from one 2000 m test to the next (S: Schabort et al. 1999, J. Sports Sci.
17:627-632), so up to 2 % over is no more than a good day."""

REAL_BREAK_MS = 60_000
"""A break at least as long ends a run. W' comes back by half in 232 s (S: Skiba et al. 2015,
one-leg exercise), in one minute by a sixth (derived): less is hardly a break."""


class Verdict(StrEnum):
    """How realistic, the easiest first."""

    WITHIN = "within reach"
    HARD = "hard"
    BEYOND = "beyond what your results show"


REMEDIES: dict[Verdict, str] = {
    Verdict.WITHIN: "Your coach still knows better than this sum.",
    Verdict.HARD: "Come to it rested; ask a qualified coach if in doubt.",
    Verdict.BEYOND: "Ask less, or talk it over with a qualified coach first.",
}


class Scope(StrEnum):
    SESSION = "session"
    RUN = "run"


class Measure(StrEnum):
    """By which sum: the mean power of a stretch, or the W' balance."""

    MEAN = "mean power"
    BALANCE = "W' balance"


@dataclass(frozen=True, slots=True)
class Judgement:
    """One finding.

    pieces: the first and the last piece of the stretch that decided. watts: what is
    asked over length_ms, the mean of the stretch; by balance, the mean of the pieces
    alone and their time. allowed_watts: what the tests allow for the same; by balance,
    what would just use up W'. reckoned_ms: how much of the work has no target and is
    reckoned. alike: so many runs in a row are judged alike. message: one or two
    sentences, with the numbers.
    """

    scope: Scope
    verdict: Verdict
    measure: Measure
    pieces: tuple[int, int]
    length_ms: int
    watts: float
    allowed_watts: float
    reckoned_ms: int
    message: str
    alike: int = 1

    @property
    def share(self) -> float:
        """What is asked as a share of what is allowed."""
        return self.watts / self.allowed_watts

    def __str__(self) -> str:
        """Return the finding, and what to do, in one line for people."""
        return f"{self.message} {REMEDIES[self.verdict]}"


def judge(
    outline: Outline, tests: Sequence[EnduranceTest], curve: CriticalPower | None = None
) -> tuple[Judgement, ...]:
    """Return how realistic a session is: the whole of it, then each run if there are several.

    curve: a critical-power fit of your own, otherwise made of the tests if they carry
    it. Nothing comes back without tests or without a piece of work.
    """
    work = _Work.of(outline)
    if not tests or not work.pieces:
        return ()
    able = endurance(tests, curve)
    session = _session(_Stretch(work, 0, len(work.pieces) - 1), able)
    runs = _runs(work)
    if len(runs) == 1:
        return (session,)
    return (session, *_judged(runs, able))


# ------------------------------------------------------------------ stretches


@dataclass(frozen=True, slots=True)
class _Work:
    """The pieces of a session, and the joules rowed before each segment since the first of them."""

    segments: tuple[PlannedSegment, ...]
    pieces: tuple[PlannedSegment, ...]
    before_j: tuple[float, ...]

    @classmethod
    def of(cls, outline: Outline) -> _Work:
        pieces = tuple(one for one in outline.segments if one.segment.spec.is_work)
        first = pieces[0].index if pieces else len(outline.segments)
        rowed = [one.watts * one.length_ms / MS_PER_S for one in outline.segments]
        rowed[:first] = [0.0] * first
        return cls(outline.segments, pieces, tuple(accumulate(rowed, initial=0.0)))


@dataclass(frozen=True, slots=True)
class _Stretch:
    """From one piece to the same or a later one, by place among the pieces, breaks and all."""

    work: _Work
    first: int
    last: int

    @property
    def pieces(self) -> tuple[PlannedSegment, ...]:
        return self.work.pieces[self.first : self.last + 1]

    @property
    def segments(self) -> tuple[PlannedSegment, ...]:
        return self.work.segments[self.pieces[0].index : self.pieces[-1].index + 1]

    @property
    def length_ms(self) -> int:
        return self.work.pieces[self.last].end_ms - self.work.pieces[self.first].start_ms

    @property
    def watts(self) -> float:
        """Mean power over work and breaks."""
        start, end = self.work.pieces[self.first].index, self.work.pieces[self.last].index
        return (self.work.before_j[end + 1] - self.work.before_j[start]) * MS_PER_S / self.length_ms

    def __str__(self) -> str:
        """Return `piece 3` or `pieces 1 to 4`."""
        if self.first == self.last:
            return f"piece {self.first + 1}"
        return f"pieces {self.first + 1} to {self.last + 1}"


def _runs(work: _Work) -> list[_Stretch]:
    """Return the pieces between real breaks, in order."""
    starts = [0]
    for place, (before, after) in enumerate(pairwise(work.pieces), start=1):
        if after.start_ms - before.end_ms >= REAL_BREAK_MS:
            starts.append(place)
    return [_Stretch(work, a, b - 1) for a, b in pairwise((*starts, len(work.pieces)))]


def _hardest(of: _Stretch, able: Endurance) -> tuple[float, _Stretch]:
    """Return the greatest share of what is allowed, and where; of equals the longest."""
    places = range(of.first, of.last + 1)
    within = (_Stretch(of.work, a, b) for a in places for b in places[a - of.first :])
    shares = ((one.watts / able.watts_for(one.length_ms), one) for one in within)
    return max(shares, key=lambda found: (round(found[0], 9), found[1].length_ms))


def _verdict(share: float, measure: Measure = Measure.MEAN) -> Verdict:
    if share >= BEYOND_FROM and measure is Measure.MEAN:
        return Verdict.BEYOND
    return Verdict.HARD if share >= HARD_FROM else Verdict.WITHIN


# ----------------------------------------------------------------- judgements


def _session(whole: _Stretch, able: Endurance) -> Judgement:
    share, hardest = _hardest(whole, able)
    if able.fit is not None and _verdict(share) is not Verdict.BEYOND:
        spans = [(one.length_ms / MS_PER_S, one.watts) for one in whole.segments]
        balanced = share_by_balance(able.fit, spans)
        if balanced > share * (1 + 1e-9):
            return _by_balance(whole, balanced)
    return _by_mean(Scope.SESSION, "The session is", whole, hardest, able)


def _judged(runs: Sequence[_Stretch], able: Endurance) -> Iterator[Judgement]:
    """Yield one judgement for each run, or for several alike that follow each other."""
    for _, group in groupby(runs, key=_shape):
        alike = list(group)
        first, all_of = alike[0], _Stretch(alike[0].work, alike[0].first, alike[-1].last)
        name = f"{str(all_of).capitalize()} {'is' if all_of.first == all_of.last else 'are'}"
        if len(alike) > 1:
            each = "" if first.first == first.last else f", {len(alike)} runs alike,"
            name = f"{str(all_of).capitalize()}{each} are each"
        _, hardest = _hardest(first, able)
        found = _by_mean(Scope.RUN, name, first, hardest, able)
        yield replace(found, alike=len(alike))


def _shape(run: _Stretch) -> tuple[object, ...]:
    return tuple((one.kind, one.length_ms, one.watts, one.split_ms) for one in run.segments)


def _by_mean(
    scope: Scope, name: str, of: _Stretch, hardest: _Stretch, able: Endurance
) -> Judgement:
    length_ms = hardest.length_ms
    allowed = able.watts_for(length_ms)
    where = "" if hardest == of else f", hardest over {hardest}"
    said = (
        f"{name} {_verdict(hardest.watts / allowed)}{where}: mean of {hardest.watts:.0f} W for "
        f"{clock_text(length_ms)}; your tests allow about {allowed:.0f} W "
        f"({able.source(length_ms)})."
    )
    return _judgement((scope, Measure.MEAN), hardest, (length_ms, hardest.watts, allowed), said)


def _by_balance(whole: _Stretch, share: float) -> Judgement:
    """`share`: what is asked as a share of what would just use up W'."""
    length_ms = sum(one.length_ms for one in whole.pieces)
    watts = sum(one.watts * one.length_ms for one in whole.pieces) / length_ms
    said = (
        f"The session is {_verdict(share, Measure.BALANCE)}: mean of {watts:.0f} W over "
        f"{clock_text(length_ms)} of work; with these breaks about "
        f"{watts / share:.0f} W would use up all that your tests show above critical power "
        "(a model, so a guide only)."
    )
    sums = (length_ms, watts, watts / share)
    return _judgement((Scope.SESSION, Measure.BALANCE), whole, sums, said)


def _judgement(
    of: tuple[Scope, Measure], stretch: _Stretch, sums: tuple[int, float, float], said: str
) -> Judgement:
    length_ms, watts, allowed = sums
    reckoned_ms = sum(one.length_ms for one in stretch.pieces if one.split_ms is None)
    if reckoned_ms:
        said += f" No target sets {clock_text(reckoned_ms)} of it: its power is reckoned."
    return Judgement(
        scope=of[0],
        verdict=_verdict(watts / allowed, of[1]),
        measure=of[1],
        pieces=(stretch.first + 1, stretch.last + 1),
        length_ms=length_ms,
        watts=watts,
        allowed_watts=allowed,
        reckoned_ms=reckoned_ms,
        message=said,
    )
