"""Sessions that between them reach every kind of cue, and every case of it.

Group and solo, a named rower with results and without, splits, watts, steps, each
rower's own last split, effort; pieces of time and of metres, with breaks, with rests
and without either; a minute and an hour.
"""

from __future__ import annotations

from dataclasses import replace

from cuegen.plan.model import (
    Audience,
    Break,
    Distance,
    FreeTarget,
    LastAtOffset,
    LastAtRate,
    QuietSpan,
    Session,
    SplitTarget,
    StepTarget,
    WattsTarget,
)
from cuegen.targets.outline import Outline
from cuegen.targets.resolve import outline as outline_of
from cuegen.targets.results import read_results
from tests.script.outlines import session
from tests.targets.plans import COOL_DOWN, PADDLE, REST, ROW, WARM_UP, entry, minutes

HELD = read_results("rower,date,rate,split\nRobin,2031-05-24,20,2:04.5\n")
_STEPS = (SplitTarget(130_000), StepTarget(-3_000), StepTarget(0), StepTarget(2_000), StepTarget(0))


def _ladder(audience: Audience) -> Session:
    """Run on: rates up, the same, down, to a band about the same; splits up, the same, down.

    Its half falls on a change.
    """
    return session(
        entry(WARM_UP, 7, 18),
        entry(ROW, 4, 20, 22, 22, 20, (19, 21), targets=_STEPS, efforts=(70, 80, 80, 75, 75)),
        entry(COOL_DOWN, 3),
        audience=audience,
    )


def _intervals(audience: Audience) -> Session:
    rest, paddle = Break(REST, minutes(2)), Break(PADDLE, minutes(1.5))
    return session(
        entry(WARM_UP, 5, 18),
        entry(ROW, 3, 24, 26, 28, targets=(WattsTarget(210),), efforts=(85,), rest=rest),
        entry(PADDLE, 2),
        entry(ROW, Distance(750), 24, repeats=3, targets=(SplitTarget(120_000),), rest=paddle),
        entry(REST, 1),
        entry(COOL_DOWN, 4),
        audience=audience,
    )


def _long() -> Session:
    """An hour: one piece of 40 minutes, lots of themes and quiet."""
    return session(
        entry(WARM_UP, 10, (16, 18)), entry(ROW, 40, 20, efforts=(70,)), entry(COOL_DOWN, 10)
    )


def _last(audience: Audience) -> Session:
    rows = entry(
        ROW, 5, 18, 20, 22, 20,
        targets=(LastAtRate(20), LastAtOffset(-2), StepTarget(-2_000), LastAtOffset(0)),
        efforts=(75,), rest=Break(PADDLE, minutes(2)),
    )  # fmt: skip
    return session(entry(WARM_UP, 4, 18), rows, entry(COOL_DOWN, 4), audience=audience)


def _last_step(audience: Audience) -> Session:
    rows = entry(
        ROW, 5, 18, 20, 22, targets=(LastAtOffset(0, -1_000), LastAtRate(22, 2_500)),
        efforts=(75,),
    )  # fmt: skip
    rows = replace(rows, targets=(*rows.targets, LastAtOffset(2, -500)))
    return session(entry(WARM_UP, 4, 18), rows, entry(COOL_DOWN, 4), audience=audience)


def _free(audience: Audience) -> Session:
    rows = entry(
        ROW, 4, 20, repeats=4,
        targets=(FreeTarget(), StepTarget(-3_000), StepTarget(0), StepTarget(2_500)),
        efforts=(70, 80, 80, 75),
    )  # fmt: skip
    return session(rows, entry(COOL_DOWN, 4), audience=audience)


def _told_quiet() -> Session:
    """Spans of the plan's own: in a piece, over a change, and one right after another."""
    plan = session(entry(WARM_UP, 4, 18), entry(ROW, 6, 20, 22), entry(COOL_DOWN, 3))
    spans = QuietSpan(350_000, 410_000), QuietSpan(560_000, 640_000), QuietSpan(700_000, 730_000)
    return replace(plan, quiet=spans)


def _metres_alone() -> Session:
    rows = entry(ROW, Distance(1_000), 26, 28, targets=(SplitTarget(115_000),))
    return session(rows, audience=Audience.SOLO)


def _nothing_asked() -> Session:
    """Pieces without rate, split or effort, at one rate or none, with breaks between."""
    rows = entry(ROW, 4, repeats=5, rest=Break(PADDLE, minutes(1)))
    return session(rows, audience=Audience.GROUP)


def every_case() -> dict[str, Outline]:
    """Return the sessions on the clock, by what they are for."""
    named = replace(_last(Audience.SOLO), rower="Robin")
    laid = {
        "long": _long(),
        "minute": session(entry(ROW, 1)),
        "told quiet": _told_quiet(),
        "metres alone": _metres_alone(),
        "nothing asked": _nothing_asked(),
        "newcomer": named,
        "talkative": replace(_intervals(Audience.SOLO), talk_share=0.6, rower="Robin"),
        "taciturn": replace(_long(), talk_share=0.1),
        "uncounted": replace(_ladder(Audience.SOLO), count_in=0, caution=False),
    }
    for audience in Audience:
        laid[f"ladder {audience}"] = _ladder(audience)
        laid[f"intervals {audience}"] = _intervals(audience)
        laid[f"last {audience}"] = _last(audience)
        laid[f"last step {audience}"] = _last_step(audience)
        laid[f"free {audience}"] = _free(audience)
    return {name: outline_of(plan) for name, plan in laid.items()} | {
        "held": outline_of(named, HELD)
    }
