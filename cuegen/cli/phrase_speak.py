"""`cuegen phrases speak`: lines of a book in one file, to be heard one after another.

Conventions
    Forms of one line follow each other after FORM_GAP_MS, lines after LINE_GAP_MS.
    Each phrase has a chapter, so that a player finds it again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from cuegen.cli.phrase_list import print_json
from cuegen.cli.terminal import add_row, console, plain_table, progress

if TYPE_CHECKING:
    from cuegen.script.book import BookLine
    from cuegen.script.inventory import Wanted
    from cuegen.voice.booth import Booth

FORM_GAP_MS = 600
LINE_GAP_MS = 1_400


@dataclass(frozen=True, slots=True)
class Heard:
    """A phrase in the file: where it begins and how long it lasts, in milliseconds."""

    at_ms: int
    length_ms: int
    text: str


def speak(name: str, wanted: Wanted, *, most: int, voice: str, out: Path, as_json: bool) -> None:
    """Speak the first lines that are wanted, and print each phrase with its length."""
    from cuegen.mix.formats import DEFAULT_SUFFIX, find_format
    from cuegen.script.inventory import pick
    from cuegen.script.phrasebook import find_book
    from cuegen.voice.booth import open_booth

    book = find_book(name)
    lines = pick(book, wanted)[:most]
    target = out if out.suffix else out / f"{book.name}-{wanted.kind}{DEFAULT_SUFFIX}"
    find_format(target)  # a wrong suffix is said before any work is done
    with open_booth(voice, book.language) as booth:
        heard = _write(lines, booth, target)
        for warning in booth.warnings:
            typer.echo(f"cuegen: {warning}", err=True)
    if as_json:
        print_json({"file": str(target), "phrases": [asdict(one) for one in heard]})
    else:
        _tell(heard, target)


def _write(lines: list[BookLine], booth: Booth, target: Path) -> list[Heard]:
    import numpy as np

    from cuegen.clock import samples_at
    from cuegen.mix.encode import Tags, encoding
    from cuegen.script.candidate import Line
    from cuegen.sheet.webvtt import Chapter

    texts = list(_texts(lines))
    with progress("speaking") as show:
        booth.prepare((Line(text) for text, _ in texts), show)
    heard = list(_laid(texts, booth))
    chapters = [Chapter(one.at_ms, one.at_ms + one.length_ms, one.text) for one in heard]
    written = 0
    with encoding(target, 1, Tags(title=target.stem), chapters) as file:
        for one in heard:
            clip = booth.clip(Line(one.text)).samples
            silence = samples_at(one.at_ms) - written
            file.write(np.zeros((silence, 1), dtype=np.float32))
            file.write(clip[:, None])
            written += silence + len(clip)
    return heard


def _texts(lines: list[BookLine]) -> Iterator[tuple[str, int]]:
    """Yield what is to be spoken, each with the silence before it."""
    from cuegen.script.samples import sample_texts

    for line in lines:
        gap_ms = LINE_GAP_MS
        for phrase in line.phrases:
            for text in sample_texts(line, phrase):
                yield text, gap_ms
                gap_ms = FORM_GAP_MS


def _laid(texts: list[tuple[str, int]], booth: Booth) -> Iterator[Heard]:
    from cuegen.script.candidate import Line

    end_ms = 0
    for number, (text, gap_ms) in enumerate(texts):
        at_ms = end_ms + (gap_ms if number else 0)
        length_ms = booth.length_ms(Line(text))
        end_ms = at_ms + length_ms
        yield Heard(at_ms, length_ms, text)


def _tell(heard: list[Heard], target: Path) -> None:
    from cuegen.clock import MS_PER_S, clock_text

    out = console()
    table = plain_table("clock", "seconds", "words")
    for one in heard:
        # Players show whole seconds gone by: 0:04 from 4.0 to 4.9 s.
        clock = clock_text(one.at_ms // MS_PER_S * MS_PER_S)
        add_row(table, clock, f"{one.length_ms / MS_PER_S:.1f}", one.text)
    out.print(table)
    end_ms = heard[-1].at_ms + heard[-1].length_ms if heard else 0
    out.print(f"{len(heard)} phrases, {clock_text(end_ms)}: {target}", markup=False)
