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


class NaturalEngine:
    def __init__(self, settings: Mapping[str, str], _scratch: Path) -> None:
        self._seed = int(settings["seed"])
        self._voice = Hibari(threads=1)

    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        spoken = self._voice(text, speed=speed, seed=self._seed)
        return np.asarray(spoken, dtype=np.float32), int(self._voice.sample_rate)
