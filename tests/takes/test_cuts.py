"""Where a recording speaks: found over hum and noise of any level, to a few steps."""

from __future__ import annotations

import numpy as np
import pytest

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.takes.cuts import (
    GUARD_MS,
    Piece,
    loudness_curve,
    pieces_of,
    quiet_spans,
    speaking,
    stretch_of,
)
from tests.takes.coach import Room, Sound, in_room

SPOKEN = ((700, 1_900), (2_600, 3_000), (4_400, 6_200))
"""Where `speech` sounds, in ms: apart by 700 and 1400."""


def speech(*spans: tuple[int, int], length_ms: int = 7_000, level: float = 0.1) -> Sound:
    """Return noise of a voice's band in some spans, in a rhythm of syllables."""
    rng = np.random.default_rng(4)
    spectrum = np.fft.rfft(rng.standard_normal(samples_at(length_ms)))
    hertz = np.fft.rfftfreq(samples_at(length_ms), 1 / SAMPLE_RATE)
    spectrum[(hertz < 250) | (hertz > 4_000)] = 0
    noise = np.fft.irfft(spectrum, samples_at(length_ms))
    at = np.arange(len(noise)) / SAMPLE_RATE
    sound = level * noise / noise.std() * (0.6 + 0.4 * np.cos(2 * np.pi * 4 * at))
    spoken = np.zeros(len(noise), dtype=bool)
    for start, end in spans or SPOKEN:
        spoken[samples_at(start) : samples_at(end)] = True
    return np.asarray(sound * spoken)


def found(sound: Sound) -> tuple[Piece, ...]:
    return pieces_of(speaking(loudness_curve(sound.astype(np.float32), SAMPLE_RATE)))


@pytest.mark.parametrize("gain_db", [0.0, -40.0])
@pytest.mark.parametrize(
    "room",
    [
        Room(noise_dbfs=-90),
        Room(noise_dbfs=-45),
        Room(noise_dbfs=-60, hum=2.0, mains=50.05),
        Room(noise_dbfs=-60, hum=2.0, mains=59.9, offset=0.05),
    ],
    ids=["still", "noisy", "hum 50", "hum 60, offset"],
)
def test_pieces_are_found_in_any_room_at_any_level(room: Room, gain_db: float) -> None:
    pieces = found(in_room(speech(), room) * 10 ** (gain_db / 20))
    assert len(pieces) == len(SPOKEN)
    for piece, (start, end) in zip(pieces, SPOKEN, strict=True):
        assert piece.start_ms == pytest.approx(start, abs=30)
        assert piece.end_ms == pytest.approx(end, abs=40)


def test_a_room_that_grows_louder_is_followed() -> None:
    """The noise rises by 20 dB over half a minute; each of ten lines is still found."""
    spans = [(1_000 + 3_000 * n, 2_500 + 3_000 * n) for n in range(10)]
    sound = speech(*spans, length_ms=32_000)
    rising = 10 ** (np.linspace(-70, -50, len(sound)) / 20)
    noise = np.random.default_rng(1).standard_normal(len(sound)) * rising
    pieces = found(sound + noise)
    assert [round(piece.start_ms, -2) for piece in pieces] == [start for start, _ in spans]


@pytest.mark.parametrize("noise_dbfs", [-30.0, -60.0, -95.0])
def test_noise_alone_speaks_nowhere(noise_dbfs: float) -> None:
    assert found(in_room(np.zeros(samples_at(5_000)), Room(noise_dbfs=noise_dbfs, hum=1))) == ()


def test_digital_silence_speaks_nowhere() -> None:
    assert found(np.zeros(samples_at(3_000))) == ()
    assert found(np.zeros(0)) == ()


def test_a_click_is_no_piece() -> None:
    sound = speech((2_000, 3_000))
    sound[samples_at(500) : samples_at(510)] = 0.5
    (piece,) = found(in_room(sound, Room()))
    assert piece.start_ms == pytest.approx(2_000, abs=30)


def test_a_short_pause_parts_nothing_and_a_longer_one_does() -> None:
    flags = np.zeros(300, dtype=np.bool_)
    flags[20:60] = flags[90:130] = flags[170:200] = True  # 300 ms and 400 ms apart
    assert pieces_of(flags, pause_ms=350) == (Piece(200, 1_300), Piece(1_700, 2_000))


def test_quiet_keeps_clear_of_speech() -> None:
    flags = np.zeros(100, dtype=np.bool_)
    flags[40:60] = True
    assert quiet_spans(flags) == (Piece(0, 400 - GUARD_MS), Piece(600 + GUARD_MS, 1_000))


def test_a_stretch_is_the_sound_of_its_spans() -> None:
    sound = np.arange(SAMPLE_RATE, dtype=np.float32)
    both = stretch_of(sound, SAMPLE_RATE, [Piece(10, 20), Piece(500, 501)])
    assert both.tolist() == [*range(480, 960), *range(24_000, 24_048)]
    assert len(stretch_of(sound, SAMPLE_RATE, [])) == 0
