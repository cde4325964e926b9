"""The plan check: what a careful reader would ask about a plan before it is rowed.

Conventions
    Advice never stops a plan: it names what was seen, where, and what to do, and
    leaves the last word to a qualified coach and to local rules. A warning touches
    safety or a target that nothing supports, a note is worth a look. Splits are
    per 500 m.

Contents
    Advice, Severity    one finding
    RULES               the one table of rules
    advise              all findings of a plan
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from cuegen.errors import Where
from cuegen.targets import checks
from cuegen.targets.checks import Finding
from cuegen.targets.outline import Outline
from cuegen.targets.rowed import Results


class Severity(StrEnum):
    NOTE = "note"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Advice:
    """One finding. segment: index from 0, None where it is about the whole session."""

    rule: str
    severity: Severity
    message: str
    where: Where
    segment: int | None = None

    def __str__(self) -> str:
        """Return it in one line for people: `Warning, line 5: ...`."""
        line = f", line {self.where.line}" if self.where.line and self.segment is not None else ""
        return f"{self.severity.capitalize()}{line}: {self.message}"


Check = Callable[[Outline, Results | None], Iterator[Finding]]


@dataclass(frozen=True, slots=True)
class Rule:
    """severity and remedy of whatever `check` finds; summary for docs and help."""

    name: str
    severity: Severity
    summary: str
    remedy: str
    check: Check


def advise(outline: Outline, results: Results | None = None) -> tuple[Advice, ...]:
    """Return what to look at before this plan is rowed, in the order of the rules' table."""
    return tuple(
        Advice(
            rule=rule.name,
            severity=rule.severity,
            message=f"{found.what[0].upper()}{found.what[1:]}. {rule.remedy}",
            where=found.at.segment.where if found.at else outline.session.where,
            segment=found.at.index if found.at else None,
        )
        for rule in RULES
        for found in rule.check(outline, results)
    )


_ASK = "Ask a qualified coach if in doubt."

RULES: tuple[Rule, ...] = (
    Rule(
        "no-warm-up",
        Severity.WARNING,
        "work without a warm-up before it",
        f"Add a warm-up, or make sure one is rowed before. {_ASK}",
        checks.no_warm_up,
    ),
    Rule(
        "no-cool-down",
        Severity.WARNING,
        "work without a cool-down after it",
        f"Add a cool-down, or make sure one is rowed after. {_ASK}",
        checks.no_cool_down,
    ),
    Rule(
        "effort-jump",
        Severity.WARNING,
        f"effort up by more than {checks.JUMP_PTS} points from one piece to the next",
        f"Put a step between them. {_ASK}",
        checks.effort_jump,
    ),
    Rule(
        "hard-start",
        Severity.WARNING,
        f"a first piece at {checks.HARD_PCT} % or more with no build to it",
        f"Build up to it first. {_ASK}",
        checks.hard_start,
    ),
    Rule(
        "long-hard",
        Severity.WARNING,
        f"more than 60 minutes at {checks.LONG_HARD_PCT} % or more without a break",
        f"Put a paddle or a rest in, or ask less. {_ASK}",
        checks.long_hard,
    ),
    Rule(
        "rate-range",
        Severity.WARNING,
        f"rates outside {checks.RATES[0]} to {checks.RATES[1]}",
        f"Check the rate. {_ASK}",
        checks.rate_range,
    ),
    Rule(
        "split-range",
        Severity.WARNING,
        "targets faster than 1:20 or slower than 3:30",
        f"Check the target. {_ASK}",
        checks.split_range,
    ),
    Rule(
        "over-results",
        Severity.WARNING,
        f"targets over {checks.SUPPORTED:.2f} times the power that results support",
        f"Ask less, or step up to it over some weeks. {_ASK}",
        checks.over_results,
    ),
    Rule(
        "unknown-rower",
        Severity.WARNING,
        "a rower of whom the results file has nothing",
        "Check the spelling; a newcomer is led by effort.",
        checks.unknown_rower,
    ),
    Rule(
        "step-size",
        Severity.NOTE,
        "changes of rate whose split fits neither 2 to 5 s per 2 spm nor constant work per stroke",
        "A coach may mean it so; otherwise change the rate or the step.",
        checks.step_size,
    ),
    Rule(
        "group-split",
        Severity.NOTE,
        "one absolute target for a whole group",
        "Newcomers are led by effort; @last gives each rower their own.",
        checks.group_split,
    ),
    Rule(
        "talk-share",
        Severity.NOTE,
        "a talk share outside 20 to 50 %",
        "25 to 40 % wears well.",
        checks.talk_share,
    ),
    Rule(
        "distance-spread",
        Severity.NOTE,
        "distance pieces, whose end is predicted",
        "Cues near their ends speak of metres.",
        checks.spread,
    ),
)
