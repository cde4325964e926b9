"""Where the results log lies."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_data_path

LOG_VARIABLE = "CUEGEN_LOG"
"""Environment variable that names another file for the log."""


def default_log_path() -> Path:
    """Return $CUEGEN_LOG, or results.db in the operating system's folder for a user's data."""
    named = os.environ.get(LOG_VARIABLE)
    return Path(named) if named else user_data_path("cuegen", appauthor=False) / "results.db"
