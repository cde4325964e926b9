"""The small voice: pyttsx3 on the eSpeak NG library of the espeakng-loader wheel.

pyttsx3 looks for a library in fixed places of the operating system; in this
process it is handed the wheel's, whatever is installed elsewhere, so that a
line sounds the same on every machine. The library keeps the name of its data
folder in a short buffer and falls back on another place when it does not fit
(seen with 223 characters): the process moves there and names it ".".
"""

from __future__ import annotations

import ctypes
import importlib
import os
from collections.abc import Mapping
from pathlib import Path

from cuegen.errors import VoiceError
from cuegen.voice.clip import Samples
from cuegen.voice.engines.saving import Pyttsx3, SavingEngine, speak_first_word
from cuegen.voice.languages import espeak_data_dir


class SmallEngine:
    def __init__(self, settings: Mapping[str, str], scratch: Path) -> None:
        library = _load_library()
        engine = importlib.import_module("pyttsx3").init("espeak")
        path = scratch / "line.wav"
        speak_first_word(engine, path)
        _set_voice(engine, settings["voice"])
        rate = float(settings["words_per_minute"])
        self._saving = SavingEngine(engine, rate, path, library.espeak_Synchronize)

    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        return self._saving.speak(text, speed)


def _set_voice(engine: Pyttsx3, wanted: str) -> None:
    engine.setProperty("voice", wanted)
    if str(engine.getProperty("voice")).lower() != wanted.lower():
        raise VoiceError(f"eSpeak NG does not take its own voice {wanted!r}")


def _load_library() -> ctypes.CDLL:
    loader = importlib.import_module("espeakng_loader")
    os.chdir(espeak_data_dir())
    os.environ["ESPEAK_DATA_PATH"] = "."
    library = ctypes.CDLL(loader.get_library_path(), ctypes.RTLD_GLOBAL)
    system_loader = ctypes.cdll
    ctypes.cdll = _OneLibrary(library)  # type: ignore[assignment]
    try:
        importlib.import_module("pyttsx3.drivers._espeak")
    finally:
        ctypes.cdll = system_loader
    return library


class _OneLibrary:
    """Stands in for ctypes.cdll while pyttsx3 looks for its library."""

    def __init__(self, library: ctypes.CDLL) -> None:
        self._library = library

    def LoadLibrary(self, _name: str) -> ctypes.CDLL:  # noqa: N802 - the name in ctypes
        return self._library
