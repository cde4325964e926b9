"""`cuegen voices`: which voices there are, a test line in one of them, and the cache."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cuegen.cli.terminal import JsonOption, console

if TYPE_CHECKING:
    from cuegen.voice.table import VoiceSpec


def voices(
    say: Annotated[
        str | None, typer.Option("--say", help="Speak this line to a file, to hear a voice.")
    ] = None,
    *,
    voice: Annotated[str, typer.Option("--voice", help="The voice that speaks it.")] = "natural",
    language: Annotated[str, typer.Option("--language", help="As in: en, de, pt-br.")] = "en",
    out: Annotated[Path, typer.Option("--out", "-o", help="Where to.")] = Path("voice.wav"),
    clear_cache: Annotated[
        bool, typer.Option("--clear-cache", help="Remove every spoken line kept on this machine.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Show the voices; try one with --say; see or clear what is kept of their lines."""
    if say is not None:
        _speak(say, voice, language, out)
    elif clear_cache:
        _clear()
    else:
        _show(as_json)


def _speak(text: str, voice: str, language: str, out: Path) -> None:
    from cuegen.mix.encode import Tags, encoding
    from cuegen.mix.formats import find_format
    from cuegen.script.candidate import Line
    from cuegen.voice.booth import open_booth

    find_format(out)
    with open_booth(voice, language) as booth:
        samples = booth.clip(Line(text)).samples
    with encoding(out, 1, Tags(title=text), ()) as file:
        file.write(samples[:, None])
    typer.echo(str(out))


def _clear() -> None:
    from cuegen.voice.cache import ClipCache, default_cache_dir

    typer.echo(f"{ClipCache(default_cache_dir()).clear().entries} lines removed")


def _show(as_json: bool) -> None:
    from dataclasses import asdict

    from cuegen.voice.cache import ClipCache, default_cache_dir
    from cuegen.voice.characters import named
    from cuegen.voice.table import VOICES

    if as_json:
        import json

        rows = [
            {**asdict(spec), "ready": _ready(spec.name), "characters": sorted(named(spec.name))}
            for spec in VOICES.values()
        ]
        typer.echo(json.dumps(rows, indent=2))
        return
    out = console()
    for spec in VOICES.values():
        name = f"{spec.name} (or {spec.name}:{spec.takes})" if spec.takes else spec.name
        out.print(f"{name}: {spec.summary}", style="bold", markup=False)
        out.print(f"  {_state(spec)}; languages: {spec.languages}", markup=False)
        out.print(f"  licence: {spec.licence}", markup=False)
        if named(spec.name):
            out.print(f"  {_characters(spec.name)}", markup=False)
    kept = ClipCache(default_cache_dir()).size()
    megabytes = kept.size_bytes / 1e6
    out.print(
        f"{kept.entries} spoken lines are kept, {megabytes:.0f} MB; --clear-cache removes them"
    )


def _characters(voice: str) -> str:
    """Return a voice's characters in words, those that differ in a number alone as one."""
    from cuegen.voice.characters import named

    told: dict[str, list[str]] = {}
    for each in named(voice).values():
        told.setdefault(each.summary.rstrip(" 0123456789"), []).append(each.name)
    return "; ".join(
        f"{voice}+{names[0]}{f' to +{names[-1]}' if names[1:] else ''}: {what}"
        for what, names in told.items()
    )


def _state(spec: VoiceSpec) -> str:
    """Return whether a voice can be had, in words; a system voice is known only by trying."""
    if spec.name == "system":
        return "ready where the operating system has voices"
    if _ready(spec.name):
        return "ready"
    return f"not installed: pip install 'cuegen[{spec.extra}]'" if spec.extra else "not installed"


def _ready(name: str) -> bool:
    """Return whether a voice's packages and files are there."""
    from cuegen.errors import VoiceError
    from cuegen.voice.table import find_voice

    try:
        find_voice(name)
    except VoiceError:
        return False
    return True
