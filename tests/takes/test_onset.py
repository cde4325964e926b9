"""The first word's onset: on the wave, whatever came before it."""

from __future__ import annotations

import numpy as np
import pytest

from cuegen.clock import samples_at
from cuegen.takes.cuts import Piece
from cuegen.takes.onset import Threshold, first_word_ms, last_word_ms, threshold_of
from cuegen.voice.clip import Samples
from tests.takes.coach import Room, in_room
from tests.takes.test_cuts import speech

QUIET = (Piece(0, 600),)
WORD = (1_000, 2_000)


def sound(room: Room = Room(), *, before: tuple[int, int] | None = None) -> Samples:  # noqa: B008
    spans = (WORD,) if before is None else (before, WORD)
    return in_room(speech(*spans, length_ms=3_000), room).astype(np.float32)


def onset(x: Samples, aligned_ms: int | None) -> float:
    return first_word_ms(x, threshold(x), (Piece(*WORD),), aligned_ms)


def threshold(x: Samples, quiet: tuple[Piece, ...] = QUIET) -> Threshold:
    return threshold_of(x, (Piece(*WORD),), quiet)


@pytest.mark.parametrize("aligned_ms", [None, 920, 950, 980, 1_000, 1_060])
@pytest.mark.parametrize("noise_dbfs", [-90.0, -60.0])
def test_the_onset_is_where_the_wave_rises_near_the_aligners_word(
    noise_dbfs: float, aligned_ms: int | None
) -> None:
    assert onset(sound(Room(noise_dbfs=noise_dbfs)), aligned_ms) == pytest.approx(1_000, abs=2)


@pytest.mark.parametrize("before", [(700, 800), (830, 930), (860, 960)])
def test_a_sound_just_before_the_word_is_no_onset(before: tuple[int, int]) -> None:
    assert onset(sound(before=before), 970) == pytest.approx(1_000, abs=2)


def test_a_take_that_begins_within_its_word_begins_at_once() -> None:
    x = sound()[samples_at(1_000) :]
    assert first_word_ms(x, threshold(x, ()), (Piece(0, 1_000),), 0) == pytest.approx(0, abs=1)


def test_where_the_wave_cannot_tell_the_aligner_is_believed() -> None:
    x = np.full(samples_at(2_000), 0.1, dtype=np.float32)
    assert first_word_ms(x, Threshold(1e-4), (Piece(0, 2_000),), 1_000) == pytest.approx(1_025)


def test_noise_decides_the_level_only_where_it_is_louder() -> None:
    assert threshold(sound(Room(noise_dbfs=-90))).noisy is False
    assert threshold(sound(Room(noise_dbfs=-35))).noisy is True


def test_a_pause_too_short_to_tell_is_taken_for_a_word_that_fades() -> None:
    x = sound(Room(noise_dbfs=-35))
    assert threshold(x, (Piece(0, 90),)).noisy is False


def test_the_lead_in_goes_before_other_pauses() -> None:
    x = sound(Room(noise_dbfs=-90))
    x[samples_at(2_300) :] += 0.01
    assert threshold(x, (Piece(0, 600), Piece(2_400, 2_900))).noisy is False
    assert threshold(x, (Piece(2_400, 2_900),)).noisy is True


def test_the_end_is_where_the_last_word_has_faded() -> None:
    x = sound()
    assert last_word_ms(x, threshold(x), 1_950) == pytest.approx(2_000, abs=8)


def test_what_is_said_long_after_the_last_word_is_left_out() -> None:
    x = in_room(speech(WORD, (2_700, 2_900), length_ms=3_000), Room()).astype(np.float32)
    assert last_word_ms(x, threshold(x), 1_950) == pytest.approx(2_000, abs=8)
    assert last_word_ms(x, threshold(x), None) == pytest.approx(2_900, abs=8)
