"""A history written to a file, of the kind that its name ends in.

What is written is a rower's own: only the owner of the file may read it, and whoever
hands it on does so knowingly.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from cuegen.files import by_suffix, writing
from cuegen.pages.progress import progress_page
from cuegen.pages.progress_note import progress_note
from cuegen.pages.progress_table import progress_csv
from cuegen.targets.history import History

OWNER_ONLY = 0o600


def _svg(history: History) -> bytes:
    from cuegen.pages.progress_plots import Plot, plot_svg  # noqa: PLC0415 - slow to load

    return plot_svg(history, Plot.ALL).encode()


def _png(history: History) -> bytes:
    from cuegen.pages.progress_plots import Plot, plot_png  # noqa: PLC0415 - slow to load

    return plot_png(history, Plot.ALL)


WRITERS: dict[str, Callable[[History], bytes]] = {
    ".html": lambda history: progress_page(history).encode(),
    ".txt": lambda history: progress_note(history).encode(),
    ".svg": _svg,
    ".png": _png,
    ".csv": lambda history: progress_csv(history).encode(),
}
"""The page, the note, all drawings one below the other, and the table."""


def save_progress(history: History, path: Path | str) -> None:
    """Write a history, whole or not at all, as what the name ends in (WRITERS).

    Raises OutputError for another ending, or a place that cannot be written to.
    """
    path = Path(path)
    data = writer_of(path)(history)
    with writing(path) as part:
        part.chmod(OWNER_ONLY)
        part.write_bytes(data)


def writer_of(path: Path) -> Callable[[History], bytes]:
    """Return what writes a file of that name. Raises OutputError for an unknown ending."""
    return by_suffix(path, WRITERS, "progress")
