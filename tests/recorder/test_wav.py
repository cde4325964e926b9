"""What is taken for a take's WAV file; the bytes are Python's own `wave` module's."""

from __future__ import annotations

import pytest

from cuegen.recorder.wav import wav_fault
from tests.recorder.served import wav_bytes


@pytest.mark.parametrize("width", [2, 3])
@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("rate", [16_000, 44_100, 48_000, 96_000])
def test_plain_samples_are_taken(rate: int, channels: int, width: int) -> None:
    assert wav_fault(wav_bytes(0.1, rate=rate, channels=channels, width=width)) is None


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "no WAV file"),
        (b"RIFF", "no WAV file"),
        (b"OggS" + bytes(100), "no WAV file"),
        (b"<html>" * 20, "no WAV file"),
        (wav_bytes(0.1)[:-1_000], "cut short"),
        (wav_bytes(0.0), "cut short"),
        (wav_bytes(0.1, width=1), "16 or 24 bits"),
        (wav_bytes(0.1, width=4), "16 or 24 bits"),
        (wav_bytes(0.1, channels=3), "one or two channels"),
        (wav_bytes(0.1, rate=8_000), "16000 to 96000 samples"),
        (wav_bytes(0.1, rate=192_000), "16000 to 96000 samples"),
        (wav_bytes(60.1, rate=16_000, width=2), "lasts 60 s at most"),
    ],
)
def test_anything_else_is_named(data: bytes, why: str) -> None:
    fault = wav_fault(data)
    assert fault is not None
    assert why in fault


def test_a_file_of_floats_is_none() -> None:
    """Format 3 of RIFF; a take has plain whole numbers."""
    data = bytearray(wav_bytes(0.1))
    data[20] = 3
    assert wav_fault(bytes(data)) == "This is no WAV file of plain samples."
