"""The voices of the operating system, through pyttsx3's own driver for it."""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cuegen.errors import VoiceError
from cuegen.plan.nearest import offer
from cuegen.voice.clip import Samples
from cuegen.voice.engines.saving import SavingEngine, speak_first_word

_PLAIN_RATE = 170.0
"""Words a minute where the driver does not tell its own."""


class SystemEngine:
    def __init__(self, settings: Mapping[str, str], scratch: Path) -> None:
        engine = _engine()
        wanted = settings["voice"]
        known = {str(voice.id): voice for voice in engine.getProperty("voices") or ()}
        if wanted and wanted not in known:
            raise VoiceError(
                f"this computer has no voice {wanted!r}",
                remedy=offer(wanted, sorted(known)) if known else "Choose the voice 'natural'.",
            )
        rate = float(engine.getProperty("rate") or _PLAIN_RATE)
        path = scratch / "line.wav"
        speak_first_word(engine, path)
        if wanted:
            engine.setProperty("voice", wanted)
        self._saving = SavingEngine(engine, rate, path)

    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        return self._saving.speak(text, speed)


def _engine() -> Any:
    """Return pyttsx3's engine. What its drivers raise on a bare machine has no common class."""
    try:
        return importlib.import_module("pyttsx3").init()
    except Exception as bad:
        raise VoiceError(
            f"this computer has no speech of its own that can be used ({_first_line(bad)})",
            remedy="Choose the voice 'natural' or 'small', which come with cuegen.",
        ) from None


def _first_line(bad: Exception) -> str:
    text = str(bad).strip()
    return text.splitlines()[0] if text else type(bad).__name__
