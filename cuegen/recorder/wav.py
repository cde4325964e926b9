"""Whether what was sent is a WAV file that a take can be: whole, PCM, of a length that can be."""

from __future__ import annotations

import io
import wave

from cuegen.recorder.rules import MOST_TAKE_S

LEAST_RATE, MOST_RATE = 16_000, 96_000
"""Samples a second: what speech is heard at, and what the recorder's limit reckons with."""


def wav_fault(data: bytes) -> str | None:
    """Return why some bytes are no take's WAV file, a sentence; None where they are one."""
    try:
        with wave.open(io.BytesIO(data)) as file:
            facts = file.getparams()
            sound = file.readframes(facts.nframes)
    except (wave.Error, EOFError, ValueError):
        return "This is no WAV file of plain samples."
    if facts.sampwidth not in (2, 3) or facts.nchannels not in (1, 2):
        return "A take has 16 or 24 bits and one or two channels."
    if not LEAST_RATE <= facts.framerate <= MOST_RATE:
        return f"A take has {LEAST_RATE} to {MOST_RATE} samples a second."
    if not facts.nframes or len(sound) != facts.nframes * facts.nchannels * facts.sampwidth:
        return "This WAV file is cut short."
    if facts.nframes > MOST_TAKE_S * facts.framerate:
        return f"A take lasts {MOST_TAKE_S} s at most."
    return None
