"""`cuegen phrases list | speak | lint`: what a phrase book holds, how it sounds, what is odd.

The commands take a book that comes with cuegen, by name, or a file of one's own, by
path; without either, `plain`. Lines are said on sample values.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cuegen.cli import phrase_lint, phrase_list, phrase_speak
from cuegen.cli.terminal import EXIT_FAILED, JsonOption
from cuegen.plan.model import Audience

app = typer.Typer(
    help="Look into a phrase book: list what it says, hear it, check it.", no_args_is_help=True
)

BookArgument = Annotated[
    str, typer.Argument(metavar="[BOOK]", help="A book's name, or the path of a file (.yaml).")
]
KindOption = Annotated[
    str | None, typer.Option("--kind", help="Only this kind of cue, such as settle.")
]
CaseOption = Annotated[
    str | None, typer.Option("--case", help="Only what may be said in this case of its kind.")
]
ThemeOption = Annotated[str | None, typer.Option("--theme", help="Only this technique theme.")]
AudienceOption = Annotated[
    Audience | None, typer.Option("--audience", help="Only what this audience may hear.")
]


@app.command("list")
def list_lines(
    book: BookArgument = "plain",
    *,
    kind: KindOption = None,
    theme: ThemeOption = None,
    case: CaseOption = None,
    audience: AudienceOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show how much a book has to say; with --kind, --theme, --case or --audience, the lines."""
    from cuegen.script.inventory import Wanted

    phrase_list.show(book, Wanted(kind, case, theme, audience), as_json=as_json)


@app.command("speak")
def speak_lines(
    book: BookArgument = "plain",
    *,
    kind: Annotated[str, typer.Option("--kind", help="The kind of cue, such as technique.")],
    theme: ThemeOption = None,
    case: CaseOption = None,
    audience: AudienceOption = None,
    most: Annotated[int, typer.Option("--most", min=1, help="Speak so many lines.")] = 10,
    voice: Annotated[str, typer.Option("--voice", help="A voice of `cuegen voices`.")] = "natural",
    out: Annotated[
        Path,
        typer.Option("--out", "-o", help="A file (.mp3, .wav, ...), or a folder to put it in."),
    ] = Path(),
    as_json: JsonOption = False,
) -> None:
    """Speak some lines of a kind, all their forms, into one file with a chapter for each."""
    from cuegen.script.inventory import Wanted

    wanted = Wanted(kind, case, theme, audience)
    phrase_speak.speak(book, wanted, most=most, voice=voice, out=out, as_json=as_json)


@app.command("lint")
def lint_book(
    book: BookArgument = "plain",
    *,
    voice: Annotated[
        str | None,
        typer.Option("--voice", help="Measure lengths by this voice; otherwise estimate them."),
    ] = None,
    rule: Annotated[
        list[str] | None, typer.Option("--rule", help="Only this rule; may stand several times.")
    ] = None,
    most: Annotated[
        int, typer.Option("--most", min=0, help="Show so many findings of a rule; 0 for all.")
    ] = 15,
    as_json: JsonOption = False,
) -> None:
    """Check a book: what cannot be said, is too long, stands twice, or is too little.

    Leaves with exit code 1 where there are errors, 2 where the book cannot be read.
    """
    errors = phrase_lint.check(book, voice=voice, rules=rule or [], most=most, as_json=as_json)
    if errors:
        raise typer.Exit(EXIT_FAILED)
