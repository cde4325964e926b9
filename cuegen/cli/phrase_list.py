"""`cuegen phrases list`: how much a book has to say, or its lines on sample values."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import typer

from cuegen.cli.terminal import add_row, console, plain_table

if TYPE_CHECKING:
    from cuegen.plan.model import Rate
    from cuegen.script.book import BookLine, PhraseBook
    from cuegen.script.inventory import Wanted
    from cuegen.script.kinds import CueKind


def show(name: str, wanted: Wanted, *, as_json: bool) -> None:
    """Print the counts of a book, or the lines that are wanted of it."""
    from cuegen.script.inventory import pick
    from cuegen.script.phrasebook import find_book

    book = find_book(name)
    lines = [] if wanted.is_all else pick(book, wanted)
    if as_json:
        print_json(_lines_json(book, lines) if lines else _counts_json(book))
    elif lines:
        if wanted.kind is not None:
            _show_kind(lines[0].kind)
        _show_lines(lines)
    else:
        _show_counts(book)


def _show_counts(book: PhraseBook) -> None:
    from cuegen.script.inventory import count_kinds, count_themes, count_wordings
    from cuegen.script.phrasebook import house_books

    out = console()
    out.print(f"{book.name} ({book.language})", style="bold", markup=False)
    kinds = plain_table("kind", "case", "group", "solo", "wordings")
    for row in count_kinds(book):
        add_row(kinds, row.kind, row.case or "", *map(str, (row.group, row.solo, row.wordings)))
    out.print(kinds)
    themes = plain_table("theme", "rates", "lines", "wordings", "")
    for theme in count_themes(book):
        counts = map(str, (theme.lines, theme.wordings))
        add_row(themes, theme.name, _band(theme.rates), *counts, theme.summary)
    out.print(themes)
    out.print(f"{len(book.lines)} lines, {count_wordings(book.lines)} wordings")
    out.print(f"Books that come with cuegen: {', '.join(house_books())}")


def _show_kind(kind: CueKind) -> None:
    """Say what a kind is for, its cases, and what its lines may mention."""
    from cuegen.script.fields import FIELDS
    from cuegen.script.kinds import CUE_KINDS

    spec, out = CUE_KINDS[kind], console()
    out.print(f"{kind}: {spec.summary}", style="bold", markup=False)
    if spec.cases:
        out.print(f"cases: {', '.join(spec.cases)}", markup=False)
    for name, field in FIELDS.items():
        if name in spec.fields:
            said = f"{{{{ {name} | {field.filter} }}}}" if field.filter else f"{{{{ {name} }}}}"
            out.print(f"  {said}  {field.summary}", markup=False)


def _show_lines(lines: list[BookLine]) -> None:
    out = console()
    title = ""
    for line in lines:
        if title != _bound(line):
            title = _bound(line)
            out.print(title, style="bold", markup=False)
        out.print(f"  {' / '.join(_said(line))}", markup=False)
    out.print(f"{len(lines)} line{'' if len(lines) == 1 else 's'}")


def _bound(line: BookLine) -> str:
    """Return what a line is bound to, as in `technique: catch, explain, 20-26, group`."""
    rates = _band(line.rates) if line.rates else None
    bound = (line.theme, line.when, rates, line.audience, line.phase, line.position)
    named = ", ".join(str(one) for one in bound if one is not None)
    return f"{line.kind}: {named}" if named else str(line.kind)


def _band(rates: Rate) -> str:
    return f"{rates.low}-{rates.high}"


def _said(line: BookLine) -> Iterator[str]:
    """Yield a line's phrases on sample values, each way that an `if` of theirs may turn."""
    from cuegen.script.samples import sample_texts

    for phrase in line.phrases:
        yield " | ".join(sample_texts(line, phrase))


def _counts_json(book: PhraseBook) -> dict[str, object]:
    from dataclasses import asdict

    from cuegen.script.inventory import count_kinds, count_themes, count_wordings
    from cuegen.script.phrasebook import house_books

    return {
        "book": book.name,
        "language": book.language,
        "lines": len(book.lines),
        "wordings": count_wordings(book.lines),
        "kinds": [asdict(row) for row in count_kinds(book)],
        "themes": [
            asdict(row) | {"rates": [row.rates.low, row.rates.high]} for row in count_themes(book)
        ],
        "books": list(house_books()),
    }


def _lines_json(book: PhraseBook, lines: list[BookLine]) -> dict[str, object]:
    return {"book": book.name, "lines": [_line_json(line) for line in lines]}


def _line_json(line: BookLine) -> dict[str, object]:
    return {
        "kind": line.kind,
        "case": line.when,
        "theme": line.theme,
        "rates": [line.rates.low, line.rates.high] if line.rates else None,
        "audience": line.audience,
        "phase": line.phase,
        "position": line.position,
        "phrases": list(_said(line)),
        "file": line.where.file,
        "line": line.where.line,
    }


def print_json(what: object) -> None:
    """Print JSON for scripts."""
    import json

    typer.echo(json.dumps(what, indent=2, ensure_ascii=False))
