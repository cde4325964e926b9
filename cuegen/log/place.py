"""Where the results log lies."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_data_path

LOG_VARIABLE = "CUEGEN_LOG"
"""Environment variable that names another file for the log."""

MAGIC = b"SQLite format 3\x00"
"""How every SQLite database begins (sqlite.org/fileformat2.html, 1.3.1, from memory)."""


def default_log_path() -> Path:
    """Return $CUEGEN_LOG, or results.db in the operating system's folder for a user's data."""
    named = os.environ.get(LOG_VARIABLE)
    return Path(named) if named else user_data_path("cuegen", appauthor=False) / "results.db"


def is_log(path: Path) -> bool:
    """Return whether a file is an SQLite database, by the 16 bytes that it begins with."""
    try:
        with path.open("rb") as file:
            return file.read(len(MAGIC)) == MAGIC
    except OSError:
        return False
