"""Where templates/ and shared/ lie: in a checkout at its top, in a wheel inside the package."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _data_root() -> Path:
    packed = _PACKAGE / "_data"
    return packed if packed.is_dir() else _PACKAGE.parent


def templates_dir() -> Path:
    """Return the folder of phrase books and page templates."""
    return _data_root() / "templates"


def shared_dir() -> Path:
    """Return the folder of data that every plan shares (pronunciations, themes)."""
    return _data_root() / "shared"
