"""Engines that a real worker process can load: one that works, and one for each way to fail.

Each takes the settings and the folder that every engine is given. `journal` names
a file to which every start of an engine adds a line, so that tests can count;
beside it lie notes of what was spoken, and by which process.
"""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from cuegen.errors import VoiceError
from cuegen.voice.clip import Samples
from cuegen.voice.table import Settings, VoiceChoice, VoiceSpec

RATE = 24_000
MS_PER_CHARACTER = 60


def steady_sound(text: str, speed: float = 1.0) -> Samples:
    """Return what SteadyEngine speaks: 100 ms of silence, then a tone told by the text."""
    length = round(RATE * MS_PER_CHARACTER * len(text) / 1000 / speed)
    at = np.arange(length) / RATE
    tone = 0.3 * np.sin(2 * np.pi * (200 + 10 * (sum(text.encode()) % 60)) * at)
    return np.concatenate([np.zeros(RATE // 10), tone]).astype(np.float32)


class SteadyEngine:
    def __init__(self, settings: Mapping[str, str], scratch: Path) -> None:
        self.scratch = scratch
        self.starts = 0
        if "journal" in settings:
            journal = Path(settings["journal"])
            with journal.open("a") as file:
                file.write("started\n")
            self.starts = len(journal.read_text().splitlines())

    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        return steady_sound(text, speed), RATE


class PrintingEngine(SteadyEngine):
    """Writes to standard output, by Python and past it."""

    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        print("CUEV this is no frame", flush=True)
        os.write(1, b"nor is this\n" * 1000)
        return super().speak(text, speed)


class UnhurriedEngine(SteadyEngine):
    """Takes 50 ms for a line, and notes its process, beginning and end (monotonic seconds)."""

    def __init__(self, settings: Mapping[str, str], scratch: Path) -> None:
        super().__init__(settings, scratch)
        self.notes = Path(settings["journal"]).with_name("notes")

    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        begin_s = time.monotonic()
        time.sleep(0.05)
        with self.notes.open("a") as file:
            file.write(f"{os.getpid()} {begin_s} {time.monotonic()}\n")
        return super().speak(text, speed)


class CrashingOnceEngine(SteadyEngine):
    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        if self.starts == 1 and text == "Two.":
            os.kill(os.getpid(), signal.SIGKILL)
        return super().speak(text, speed)


class CrashingEngine(SteadyEngine):
    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        if text == "Two.":
            os.write(2, b"the engine met a wall\n")
            os._exit(7)
        return super().speak(text, speed)


class CrashingAtStartEngine:
    def __init__(self, settings: Mapping[str, str], _scratch: Path) -> None:
        SteadyEngine(settings, _scratch)
        os._exit(9)


class HangingEngine(SteadyEngine):
    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        if text == "Two.":
            time.sleep(600)
        return super().speak(text, speed)


class RefusingEngine(SteadyEngine):
    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        if text == "Two.":
            raise VoiceError("this engine counts no twos", remedy="Say: a pair.")
        if text == "Three.":
            raise ZeroDivisionError("three by nothing")
        return super().speak(text, speed)


class UnloadableEngine:
    def __init__(self, _settings: Mapping[str, str], _scratch: Path) -> None:
        raise VoiceError("its voice file is torn", remedy="Get it once more.")


class SilentEngine(SteadyEngine):
    def speak(self, _text: str, _speed: float) -> tuple[Samples, int]:
        return np.zeros(RATE, dtype=np.float32), RATE


def choice_of(
    engine: type, journal: Path | None = None, *, side_by_side: bool = False
) -> VoiceChoice:
    """Return the choice of a voice whose worker loads that class."""
    name = f"{__name__}:{engine.__name__}"
    spec = VoiceSpec("fake", name, "for tests", "English", "MIT", (), False, side_by_side)
    settings: Settings = (("journal", str(journal)),) if journal else ()
    return VoiceChoice("fake", spec, "en", "1", settings, identity=engine.__name__)
