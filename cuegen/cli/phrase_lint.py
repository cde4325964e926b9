"""`cuegen phrases lint`: the findings of a book, by rule."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from cuegen.cli.phrase_list import print_json
from cuegen.cli.terminal import console, progress

if TYPE_CHECKING:
    from cuegen.script.lint import Finding, Subject


def check(name: str, *, voice: str | None, rules: list[str], most: int, as_json: bool) -> int:
    """Print what is odd in a book and return how many errors there are. Raises PhraseError."""
    from cuegen.script.lint import RULES, Severity
    from cuegen.script.lint_reading import subject_of

    _check_rules(rules)
    subject = subject_of(name)
    found = [one for one in _found(subject, voice) if not rules or one.rule in rules]
    errors = sum(one.severity is Severity.ERROR for one in found)
    if as_json:
        print_json(_json(subject, voice, found, errors))
        return errors
    for rule in RULES:
        _show_rule(rule, [one for one in found if one.rule == rule], most)
    _tell(subject, voice, found, errors)
    return errors


def _check_rules(rules: list[str]) -> None:
    from cuegen.plan.nearest import offer
    from cuegen.script.lint import RULES

    for rule in rules:
        if rule not in RULES:
            raise typer.BadParameter(f"there is no rule {rule!r}. {offer(rule, RULES)}")


def _found(subject: Subject, voice: str | None) -> list[Finding]:
    """Return the findings, lengths measured by a voice where one is named."""
    from cuegen.script.candidate import Line
    from cuegen.script.lint import lint
    from cuegen.voice.booth import open_booth

    if voice is None:
        return lint(subject)
    language = subject.whole.language if subject.whole else "en"
    with open_booth(voice, language) as booth:
        with progress("speaking") as show:
            booth.prepare((Line(text) for text in subject.texts()), show)
        found = lint(replace(subject, measure=lambda text: booth.length_ms(Line(text))))
        for warning in booth.warnings:
            typer.echo(f"cuegen: {warning}", err=True)
    return found


def _show_rule(name: str, found: list[Finding], most: int) -> None:
    from cuegen.script.lint import RULES, Severity

    if not found:
        return
    rule, out = RULES[name], console()
    out.print(f"{name}, {len(found)}: {rule.summary}", style="bold", markup=False)
    shown = found if most == 0 else found[:most]
    for one in shown:
        style = "red" if one.severity is Severity.ERROR else None
        own_remedy = "" if one.remedy in ("", rule.remedy) else f". {one.remedy.strip()}"
        out.print(
            f"  {one.severity}: {_place(one)}: {one.problem}{own_remedy}", style=style, markup=False
        )
    if len(shown) < len(found):
        out.print(f"  and {len(found) - len(shown)} more; --rule {name} --most 0 shows all")
    out.print(f"  What to do: {rule.remedy}", markup=False)


def _place(finding: Finding) -> str:
    """Return the place of a finding, its file as seen from here where it lies below."""
    where = finding.where
    if where.file is None:
        return str(where)
    near = os.path.relpath(where.file)
    return str(replace(where, file=where.file if near.startswith("..") else near))


def _tell(subject: Subject, voice: str | None, found: list[Finding], errors: int) -> None:
    lengths = f"measured by the voice {voice}" if voice else "estimated"
    console().print(
        f"{Path(subject.file).stem}: {_counted(errors, 'error')}, "
        f"{_counted(len(found) - errors, 'warning')} in {_counted(len(subject.own), 'phrase')}; "
        f"lengths are {lengths}",
        style="bold",
        markup=False,
    )


def _counted(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _json(
    subject: Subject, voice: str | None, found: list[Finding], errors: int
) -> dict[str, object]:
    return {
        "book": subject.file,
        "phrases": len(subject.own),
        "lengths": voice or "estimated",
        "errors": errors,
        "warnings": len(found) - errors,
        "findings": [
            {
                "rule": one.rule,
                "severity": one.severity,
                "file": one.where.file,
                "line": one.where.line,
                "text": one.where.text,
                "problem": one.problem,
                "remedy": one.remedy,
            }
            for one in found
        ],
    }
