"""The natural voice: hibari-tts, its model inside the wheel.

Its clips are the same samples for the same text, speed and seed. It takes
phonemes as [word](/phonemes/).
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
from hibari import Hibari

from cuegen.voice.clip import Samples
from cuegen.voice.engines.pace import Pace

_PACE = Pace(
    settings=(0.5, 0.7, 0.8, 0.9, 1.0, 1.1, 1.15, 1.2, 1.22, 1.25, 1.3, 1.33, 1.36, 1.5, 2.0),
    speeds=(0.5, 0.7, 0.8, 0.95, 1.0, 1.03, 1.05, 1.1, 1.125, 1.145, 1.17, 1.255, 1.49, 1.57, 1.8),
)


class NaturalEngine:
    def __init__(self, settings: Mapping[str, str], _scratch: Path) -> None:
        self._seed = int(settings["seed"])
        self._voice = Hibari(threads=1)
        # What it loads at its first line, half a second's work, is there before one is asked for.
        self._voice("Go.", seed=self._seed)

    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        spoken = self._voice(text, speed=_PACE.setting(speed), seed=self._seed)
        return np.asarray(spoken, dtype=np.float32), int(self._voice.sample_rate)
