"""How long work tells about itself while it goes on."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[int, int], None]
"""Told the work done and the work in all, in units that whoever does it names."""
