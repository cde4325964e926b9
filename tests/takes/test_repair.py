"""Repair takes away what is no voice, and moves nothing."""

from __future__ import annotations

import numpy as np
import pytest

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.takes.repair import repaired, without_rumble
from tests.takes.coach import Room, in_room
from tests.takes.test_cuts import SPOKEN, speech
from tests.takes.test_hum import level_db


def tone(hertz: float) -> np.ndarray[tuple[int], np.dtype[np.float32]]:
    at = np.arange(2 * SAMPLE_RATE) / SAMPLE_RATE
    return np.asarray(0.1 * np.sin(2 * np.pi * hertz * at), dtype=np.float32)


@pytest.mark.parametrize(
    ("hertz", "least_db", "most_db"),
    [(20, 60, 300), (50, 25, 60), (80, 2.5, 4.5), (135, 0.0, 0.1), (1_000, -0.01, 0.01)],
)
def test_rumble_goes_and_voices_stay(hertz: float, least_db: float, most_db: float) -> None:
    middle = slice(samples_at(500), samples_at(1_500))
    before = tone(hertz).astype(np.float64)
    lost_db = level_db(before[middle]) - level_db(without_rumble(tone(hertz), SAMPLE_RATE)[middle])
    assert least_db <= lost_db <= most_db


def test_nothing_moves() -> None:
    """The high-pass runs both ways: the correlation with the sound itself peaks at no delay."""
    sound = speech().astype(np.float32)
    clean = without_rumble(sound, SAMPLE_RATE)
    spectrum = np.fft.rfft(clean) * np.conj(np.fft.rfft(sound))
    assert int(np.argmax(np.fft.irfft(spectrum))) == 0


def test_offset_rumble_and_hum_are_gone_from_the_pauses() -> None:
    at = np.arange(samples_at(7_000)) / SAMPLE_RATE
    rumble = 0.05 * np.sin(2 * np.pi * 23 * at)
    room = Room(noise_dbfs=-80, hum=1.0, mains=50.04, offset=0.03)
    good = repaired(in_room(speech() + rumble, room).astype(np.float32))
    assert good.hum is not None
    assert good.hum.mains == 50
    pause = good.sound[samples_at(200) : samples_at(600)].astype(np.float64)
    assert level_db(pause) < -75
    assert [round(piece.start_ms, -2) for piece in good.pieces] == [start for start, _ in SPOKEN]


def test_a_clean_take_has_no_hum_to_lose() -> None:
    assert repaired(speech().astype(np.float32)).hum is None


def test_a_take_of_a_few_samples_is_borne() -> None:
    for length in (0, 1, 2, 100):
        good = repaired(np.zeros(length, dtype=np.float32))
        assert (len(good.sound), good.pieces) == (length, ())
