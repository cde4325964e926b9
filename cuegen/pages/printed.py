"""The printed sheet that lies beside a session, so that a page on a screen can lead to it.

`cuegen sheet plan.yaml --out plan.html` writes it; a page of plan.yaml or plan.sheet.json
looks for that name. A page of another kind, or of another session, is not taken for it. A
PDF of that name, as a browser prints one, is taken as it is where there is no page.
"""

from __future__ import annotations

import os
from pathlib import Path
from urllib.parse import quote

from markupsafe import escape

from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.wording import one_line

_MARK = '<ol class="pieces">'
"""What the printed sheet has and no other page (templates/sheet.html.jinja)."""


def printed_beside(source: Path, sheet: CueSheet, page: Path) -> str | None:
    """Return the address, from a page, of the printed sheet beside a plan or sheet; else None."""
    stem = source.name.removesuffix(source.suffix).removesuffix(".sheet")
    html, pdf = source.with_name(f"{stem}.html"), source.with_name(f"{stem}.pdf")
    if html.resolve() != page.resolve() and _is_printed(html, sheet):
        return _address(html, page)
    return _address(pdf, page) if pdf.is_file() else None


def _is_printed(path: Path, sheet: CueSheet) -> bool:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return False
    return _MARK in text and f"<title>{escape(one_line(sheet.title))}</title>" in text


def _address(path: Path, page: Path) -> str | None:
    try:
        address = os.path.relpath(path.resolve(), page.resolve().parent)
    except ValueError:  # Windows: there is no way from one drive to another
        return None
    # Without the "./" a name like "a:b.html" would be taken for a scheme.
    return "./" + quote(Path(address).as_posix())
