"""The one table of sheet formats, and the edges where sheets are read and written.

A format's module turns a sheet into text and, where that can be, text into a
sheet; only the functions here open files. To add a format, write its module and
add a line to FORMATS.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from cuegen.errors import OutputError, SheetError, Where
from cuegen.files import read_text, write_text
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet import csv_format, html, json_format, markdown, publish, subrip, webvtt
from cuegen.sheet.csv_format import Measure


@dataclass(frozen=True, slots=True)
class SheetFormat:
    """A way to write a sheet. read is None where the text cannot give the whole sheet back.

    suffix: what a file of the format is called by default; others it is known by.
    """

    name: str
    suffix: str
    summary: str
    write: Callable[[CueSheet], str]
    read: Callable[[str, str | None], CueSheet] | None = None
    others: tuple[str, ...] = ()


FORMATS: dict[str, SheetFormat] = {
    fmt.name: fmt
    for fmt in (
        SheetFormat(
            "json",
            ".sheet.json",
            "the whole sheet, to keep and to render from",
            json_format.to_text,
            json_format.from_text,
            (".json",),
        ),
        SheetFormat(
            "csv",
            ".csv",
            "the lines for a spreadsheet; edits come back into the JSON sheet",
            csv_format.to_text,
        ),
        SheetFormat(
            "markdown",
            ".md",
            "session and script as tables",
            markdown.to_text,
            None,
            (".markdown",),
        ),
        SheetFormat("webvtt", ".vtt", "every line as a caption", webvtt.captions_text),
        SheetFormat("subrip", ".srt", "the captions for players without WebVTT", subrip.to_text),
        SheetFormat(
            "chapters", ".chapters.vtt", "the segments as WebVTT chapters", webvtt.chapters_text
        ),
        SheetFormat(
            "publish", ".txt", "notes to paste under a recording, with chapters", publish.to_text
        ),
        SheetFormat(
            "html", ".html", "a page to print and tape to a machine", html.to_text, None, (".htm",)
        ),
    )
}


def format_of(path: Path) -> SheetFormat | None:
    """Return the format that a file's name ends like, the longest ending first."""
    name = path.name.lower()
    endings = [(end, fmt) for fmt in FORMATS.values() for end in (fmt.suffix, *fmt.others)]
    for end, fmt in sorted(endings, key=lambda pair: -len(pair[0])):
        if name.endswith(end):
            return fmt
    return None


def save_sheet(sheet: CueSheet, path: Path | str, format: str | None = None) -> None:  # noqa: A002
    """Write a sheet, whole or not at all; without a format the name decides.

    Raises OutputError for an unknown format or a place that cannot be written to.
    """
    path = Path(path)
    fmt = FORMATS.get(format) if format is not None else format_of(path)
    if fmt is None:
        endings = ", ".join(fmt.suffix for fmt in FORMATS.values())
        raise OutputError(
            f"there is no sheet format {format!r}" if format else "the name tells no sheet format",
            where=Where(file=str(path)),
            remedy=f"Formats are {', '.join(FORMATS)}; names end in {endings}.",
        )
    write_text(path, fmt.write(sheet))


def load_sheet(path: Path | str) -> CueSheet:
    """Read and check a JSON sheet. Raises SheetError."""
    path = Path(path)
    fmt = format_of(path) or FORMATS["json"]
    if fmt.read is None:
        raise SheetError(
            f"a {fmt.name} file does not hold the whole sheet",
            where=Where(file=str(path)),
            remedy=_whole_sheet_remedy(fmt),
        )
    return fmt.read(read_text(path, SheetError, "cue sheet"), str(path))


def _whole_sheet_remedy(fmt: SheetFormat) -> str:
    if fmt.name == "csv":
        return "Name the JSON sheet it was written from as well; the edits are put into it."
    return "Name the JSON sheet (it ends in .sheet.json)."


def load_edited(path: Path | str, base: CueSheet, measure: Measure | None = None) -> CueSheet:
    """Read a CSV sheet that was edited, put into the sheet it was written from.

    measure: the length in ms of a line's clip in the sheet's voice, needed where
    words were changed. Raises SheetError with row and column.
    """
    path = Path(path)
    text = read_text(path, SheetError, "CSV sheet")
    return csv_format.from_text(text, base, measure, str(path))
