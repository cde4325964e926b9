"""Mains hum: told from noise, measured in the pauses, taken away and nothing else."""

from __future__ import annotations

import numpy as np
import pytest

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.takes.cuts import Piece
from cuegen.takes.hum import find_hum, without_hum
from cuegen.voice.clip import Samples
from tests.takes.coach import HUM, Room, Sound, in_room
from tests.takes.test_cuts import speech

PAUSES = (Piece(0, 640), Piece(1_960, 2_540), Piece(3_060, 4_340), Piece(6_260, 7_000))


def level_db(sound: Sound | Samples) -> float:
    return float(10 * np.log10(np.mean(np.square(sound, dtype=np.float64))))


@pytest.mark.parametrize("mains", [49.93, 50.0, 50.12, 59.9, 60.0, 60.05])
def test_hum_is_measured_and_taken_away(mains: float) -> None:
    """By 35 dB at least, under the words too; what is left is compared with the sound alone."""
    sound = speech()
    clean = in_room(sound, Room(noise_dbfs=-75))
    humming = in_room(sound, Room(noise_dbfs=-75, hum=1.0, mains=mains)).astype(np.float32)
    hum = find_hum(humming, SAMPLE_RATE, PAUSES)
    assert hum is not None
    assert hum.hertz == pytest.approx(mains, abs=0.005)
    assert hum.mains == round(mains, -1)
    amplitude = np.sqrt(sum(one**2 for _, one in HUM) / 2)
    assert hum.level_dbfs == pytest.approx(20 * np.log10(amplitude), abs=0.1)
    left = without_hum(humming, SAMPLE_RATE, hum) - clean
    assert level_db(humming - clean) - level_db(left) > 35


def test_a_short_lead_in_is_enough() -> None:
    humming = in_room(speech(), Room(hum=1.0, mains=50.07)).astype(np.float32)
    hum = find_hum(humming, SAMPLE_RATE, (Piece(500, 640), Piece(6_260, 6_400)))
    assert hum is not None
    clean = in_room(speech(), Room())
    there = slice(samples_at(500), samples_at(6_400))
    left = without_hum(humming, SAMPLE_RATE, hum) - clean
    assert level_db((humming - clean)[there]) - level_db(left[there]) > 20


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("noise_dbfs", [-40.0, -75.0])
def test_noise_is_no_hum(noise_dbfs: float, seed: int) -> None:
    noise = in_room(speech(), Room(noise_dbfs=noise_dbfs, seed=seed)).astype(np.float32)
    assert find_hum(noise, SAMPLE_RATE, PAUSES) is None


@pytest.mark.parametrize("hertz", [75.0, 130.0, 440.0, 1_000.0])
def test_another_tone_is_no_hum(hertz: float) -> None:
    at = np.arange(samples_at(7_000)) / SAMPLE_RATE
    tone = in_room(speech() + 0.01 * np.sin(2 * np.pi * hertz * at), Room()).astype(np.float32)
    assert find_hum(tone, SAMPLE_RATE, PAUSES) is None


def test_silence_has_no_hum_and_without_pauses_nobody_can_tell() -> None:
    assert find_hum(speech().astype(np.float32), SAMPLE_RATE, PAUSES) is None
    humming = in_room(speech(), Room(hum=1.0)).astype(np.float32)
    assert find_hum(humming, SAMPLE_RATE, ()) is None
    assert find_hum(humming, SAMPLE_RATE, (Piece(0, 60),)) is None


def test_a_voice_on_a_multiple_of_the_mains_is_left_alone() -> None:
    """A voice of 150 Hz between pauses that hum: of its own tone nothing is missing."""
    at = np.arange(samples_at(7_000)) / SAMPLE_RATE
    voice = 0.2 * np.sin(2 * np.pi * 150.0 * at)
    voice *= (at > 0.7) & (at < 6.2)
    humming = in_room(voice, Room(hum=1.0)).astype(np.float32)
    hum = find_hum(humming, SAMPLE_RATE, (Piece(0, 640), Piece(6_260, 7_000)))
    assert hum is not None
    middle = slice(samples_at(1_000), samples_at(6_000))
    left = without_hum(humming, SAMPLE_RATE, hum)[middle]
    assert level_db(left) == pytest.approx(level_db(voice[middle]), abs=0.02)
