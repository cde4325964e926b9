"""The rules of a good phrase book, and what a book has to say to them.

Conventions
    Pure: a Subject goes in (cuegen.script.lint_reading makes one from files), findings
    come out, errors first, then as they stand in the files. A rule never stops at its
    first finding.

Contents
    Finding    one thing that was found
    RULES      the one table of rules
    lint       all findings of a book
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from cuegen.errors import Where
from cuegen.script import lint_lengths, lint_likeness, lint_wording
from cuegen.script.lint_subject import Found, Severity, Subject

__all__ = ["RULES", "Finding", "Rule", "Severity", "Subject", "lint"]


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule found, where, and what to do about it."""

    rule: str
    severity: Severity
    where: Where
    problem: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Rule:
    """severity and remedy stand where `check` names none; summary is for docs and help."""

    name: str
    severity: Severity
    summary: str
    remedy: str
    check: Callable[[Subject], Iterator[Found]]


RULES: dict[str, Rule] = {
    rule.name: rule
    for rule in (
        Rule(
            "load",
            Severity.ERROR,
            "what keeps the book from being used",
            "Put it right; until then no plan can use the book.",
            lint_wording.unloadable,
        ),
        Rule(
            "signs",
            Severity.ERROR,
            "digits and signs that no voice can say",
            "Write words, or say a value as in {{ rate | rate }}.",
            lint_wording.signs,
        ),
        Rule(
            "length",
            Severity.WARNING,
            "phrases too long for their place in a track; firm ones are errors",
            "Say it in fewer words, or give the line a shorter form as well.",
            lint_lengths.too_long,
        ),
        Rule(
            "order",
            Severity.WARNING,
            "forms of a line that do not get shorter",
            "Put the fullest form first, or shorten this one.",
            lint_lengths.no_shorter,
        ),
        Rule(
            "same",
            Severity.WARNING,
            "the same words twice; in one kind an error, since one of two cues falls silent",
            "Word one of them otherwise, or take it out.",
            lint_likeness.said_twice,
        ),
        Rule(
            "near",
            Severity.WARNING,
            f"phrases that are {lint_likeness.NEAR_PERCENT} % the same words or more",
            "Give one of them an idea of its own.",
            lint_likeness.nearly_said_twice,
        ),
        Rule(
            "thin",
            Severity.WARNING,
            f"a kind or case with under {lint_wording.LEAST_WORDINGS} wordings, "
            f"a theme with under {lint_wording.LEAST_THEME_WORDINGS}",
            "Write more: what is heard every few minutes is soon worn out.",
            lint_wording.thin,
        ),
        Rule(
            "openings",
            Severity.WARNING,
            f"a first word shared by {lint_wording.OPENING_PERCENT} % of a kind's lines",
            "Begin some of them otherwise.",
            lint_wording.openings,
        ),
        Rule(
            "capitals",
            Severity.WARNING,
            "words in capitals: a voice spells them",
            "Write the word in small letters, or what it stands for.",
            lint_wording.capitals,
        ),
        Rule(
            "exclamations",
            Severity.WARNING,
            "exclamation marks: energy comes from timing",
            "End with a full stop.",
            lint_wording.exclamations,
        ),
    )
}


def lint(subject: Subject) -> list[Finding]:
    """Return all findings: errors before warnings, then by file and line."""
    found = [
        Finding(
            rule.name,
            one.severity or rule.severity,
            one.where,
            one.problem,
            rule.remedy if one.remedy is None else one.remedy,
        )
        for rule in RULES.values()
        for one in rule.check(subject)
    ]
    return sorted(found, key=_turn)


def _turn(finding: Finding) -> tuple[bool, str, int]:
    where = finding.where
    return finding.severity is not Severity.ERROR, where.file or "", where.line or 0
