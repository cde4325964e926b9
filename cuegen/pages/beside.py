"""The pages of the same session that lie beside a track or sheet, so that pages can lead there.

A link that leads nowhere, or to another session, is worse than none: a page is named
only where a file has one of the usual names, was made by cuegen, is of the right kind
and bears the session's title. A PDF, as a browser prints a sheet, is taken by its name
where there is no page.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from markupsafe import escape

from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.wording import one_line

_HEAD = 262_144
"""Bytes of a page that are read: its style and first words, not a track that lies in it."""

_OURS = '<meta name="generator" content="cuegen">'
_SHEET = '<ol class="pieces">'
_HALL = 'id="chapters-button"'


@dataclass(frozen=True, slots=True)
class Beside:
    """Addresses of pages as a link has them, relative to the report; None where there is none."""

    sheet: str | None = None
    hall: str | None = None


ALONE = Beside()


def pages_beside(track: Path, page: Path, title: str) -> Beside:
    """Return the printed sheet and the hall page that lie beside a track.

    page: where the report will lie; title: the session's.
    """
    title = one_line(title)
    stem, folder = track.stem, track.parent
    sheets = (f"{stem}.html", f"{stem}.sheet.html", "sheet.html")
    halls = (f"{stem}.hall.html", f"{stem}-hall.html", "hall.html")
    return Beside(
        sheet=_first((folder / name for name in sheets), _SHEET, page, title),
        hall=_first((folder / name for name in halls), _HALL, page, title),
    )


def printed_beside(source: Path, sheet: CueSheet, page: Path) -> str | None:
    """Return the address, from a page, of the printed sheet beside a plan or sheet; else None."""
    stem = source.name.removesuffix(source.suffix).removesuffix(".sheet")
    html, pdf = source.with_name(f"{stem}.html"), source.with_name(f"{stem}.pdf")
    found = _first((html,), _SHEET, page, one_line(sheet.title))
    return found or (_address(pdf, page) if pdf.is_file() else None)


def _first(paths: Iterable[Path], kind: str, page: Path, title: str) -> str | None:
    fitting = (path for path in paths if path.resolve() != page.resolve())
    found = next((path for path in fitting if _is(path, kind, title)), None)
    return None if found is None else _address(found, page)


def _is(path: Path, kind: str, title: str) -> bool:
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD).decode("utf-8", errors="replace")
    except OSError:
        return False
    named = f"<title>{escape(title)}</title>"
    return all(mark in head for mark in (_OURS, kind, named))


def _address(path: Path, page: Path) -> str | None:
    try:
        address = os.path.relpath(path.resolve(), page.resolve().parent)
    except ValueError:  # Windows: there is no way from one drive to another
        return None
    # Without the "./" a name like "a:b.html" would be taken for a scheme.
    return "./" + quote(Path(address).as_posix())
