"""How pyttsx3 is made to give samples: it speaks into a file, which is then read.

Traps that this module steps around, all seen in pyttsx3 2.99
    Only the last of several `save_to_file` before one `runAndWait` is written.
    A setting that fails is passed over in silence, and eSpeak NG takes a rate up
    in a thread of its own, so that the next line may still have the old one: what
    was set is read back before a line is spoken.
    A file that cannot be written raises inside a C callback, where the error is
    lost and the loop never ends: room for the file is made sure of beforehand.
    An engine that still counts as playing when the next line starts has that line
    cancelled, wholly or half: `settle` waits until it is still, and a line that
    the engine reports as not completed is spoken again.
    `runAndWait` with nothing to say, once something was said, never returns.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

import numpy as np

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.decode import read_audio
from cuegen.errors import VoiceError
from cuegen.voice.clip import Samples
from cuegen.voice.recorded import read_wav

_BYTES_PER_CHARACTER = 16_384
"""More than speech at 48 kHz stereo takes for one character, at the slowest rate."""

_EMPTY_FILE = 44
"""The header of a WAV file, which is all that is written where nothing is said."""

_ATTEMPTS = 5
_RATE_LOOKS = 400
_RATE_LOOK_S = 0.005


class Pyttsx3(Protocol):
    """The part of pyttsx3's engine that is used."""

    def setProperty(self, name: str, value: object) -> None: ...  # noqa: N802 - pyttsx3's name
    def getProperty(self, name: str) -> object: ...  # noqa: N802 - pyttsx3's name
    def save_to_file(self, text: str, filename: str) -> None: ...
    def runAndWait(self) -> None: ...  # noqa: N802 - pyttsx3's name
    def connect(self, topic: str, cb: Callable[..., None]) -> object: ...


class SavingEngine:
    """Speaks with a pyttsx3 engine by way of the file `path`."""

    def __init__(
        self,
        engine: Pyttsx3,
        words_per_minute: float,
        path: Path,
        settle: Callable[[], object] = lambda: None,
    ) -> None:
        self._engine = engine
        self._words_per_minute = words_per_minute
        self._path = path
        self._settle = settle
        self._cut_off = False
        engine.connect("finished-utterance", self._finished)

    def speak(self, text: str, speed: float) -> tuple[Samples, int]:
        """Return mono samples and their rate. Raises VoiceError where no sound came of it."""
        self._make_room(_BYTES_PER_CHARACTER * (len(text) + 8))
        self._set_rate(round(self._words_per_minute * speed))
        for _ in range(_ATTEMPTS):
            if self._saved(text):
                return read_speech(self._path)
        raise VoiceError("the speech engine wrote no sound")

    def _saved(self, text: str) -> bool:
        """Speak into the file; return whether the engine says that it got to the end."""
        self._settle()
        self._path.unlink(missing_ok=True)
        self._cut_off = False
        self._engine.save_to_file(text, str(self._path))
        self._engine.runAndWait()
        self._settle()
        written = self._path.stat().st_size if self._path.exists() else 0
        return not self._cut_off and written > _EMPTY_FILE

    def _finished(self, name: object = None, completed: bool = True) -> None:  # noqa: ARG002
        self._cut_off |= not completed

    def _set_rate(self, words_per_minute: int) -> None:
        for _ in range(_RATE_LOOKS):
            self._engine.setProperty("rate", words_per_minute)
            if abs(float(str(self._engine.getProperty("rate"))) - words_per_minute) < 1:
                return
            time.sleep(_RATE_LOOK_S)
        raise VoiceError(f"the speech engine does not take a rate of {words_per_minute}")

    def _make_room(self, size: int) -> None:
        try:
            self._path.write_bytes(bytes(size))
        except OSError as bad:
            raise VoiceError(
                f"there is no room for speech in the temporary folder: {bad.strerror}",
                remedy="Free some space there.",
            ) from None


def speak_first_word(engine: Pyttsx3, path: Path) -> None:
    """Have an engine say something: settings take effect at once only after that."""
    engine.save_to_file("a", str(path))
    engine.runAndWait()


def read_speech(path: Path) -> tuple[Samples, int]:
    """Return what a system voice wrote (WAV, AIFF...), mixed to one channel, and its rate."""
    with path.open("rb") as file:
        is_wav = file.read(4) == b"RIFF"
    if is_wav:
        return read_wav(path)
    sound = read_audio(path)  # macOS writes AIFF
    return sound.mean(axis=1, dtype=np.float32), SAMPLE_RATE
