"""What an engine's own rate setting must be so that a line really gets that much shorter.

The models give every sound a whole number of frames, so a small change of their
setting is mostly rounded away: at 1.12 the natural voice got 3.7 % faster, Piper
5.7 % (ten coaching lines, between onset and end). The tables were measured so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Pace:
    """settings: values of the engine's own rate. speeds: how fast it then was, rising."""

    settings: tuple[float, ...]
    speeds: tuple[float, ...]

    def setting(self, speed: float) -> float:
        """Return the setting for a speed; beyond the table, that of its end."""
        return float(np.interp(speed, self.speeds, self.settings))
