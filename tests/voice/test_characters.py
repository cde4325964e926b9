"""What the voices can sound like, and that it is worth what the table claims."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.hall import HALLS, hall_noise
from cuegen.dsp.resample import resample
from cuegen.dsp.signal import Signal
from cuegen.dsp.stoi import STOI_RATE, Reference
from cuegen.errors import VoiceError
from cuegen.script.candidate import Line
from cuegen.voice.booth import Booth, open_booth
from cuegen.voice.characters import find_character, named, split_name
from cuegen.voice.table import find_voice

TEXTS = (
    "Rate up, twenty-two, and settle there.",
    "Handle past the knees, then move the seat.",
    "Long strokes for thirty seconds more.",
    "Press together, then send it back.",
    "Two minutes left in this piece. Sit tall.",
    "Half of this one is behind you.",
)


def test_a_character_is_what_follows_the_last_plus_sign() -> None:
    assert split_name("natural+hall") == ("natural", "hall")
    assert split_name(" small+m3 ") == ("small", "m3")
    assert split_name("natural") == ("natural", "")


def test_a_plus_sign_in_a_voice_file_s_name_is_not_one() -> None:
    assert split_name("piper:coach+2.onnx") == ("piper:coach+2.onnx", "")
    assert split_name("piper:coach+2.onnx+hall") == ("piper:coach+2.onnx", "hall")


def test_a_voice_with_a_character_has_its_curve_its_name_and_clips_of_its_own() -> None:
    plain, hall = find_voice("natural"), find_voice("natural+hall")
    assert (plain.name, hall.name) == ("natural", "natural+hall")
    assert hall.curve == named("natural")["hall"].curve
    assert plain.settings != hall.settings
    assert plain.spec is hall.spec


def test_a_variant_is_asked_of_the_engine_in_its_own_way() -> None:
    assert ("voice", "gmw/en-US+m3") in find_voice("small+m3").settings
    assert ("voice", "gmw/de+f2") in find_voice("small+f2", "de").settings


@pytest.mark.parametrize(
    ("name", "remedy"),
    [
        ("natural+hal", "Did you mean 'hall'"),
        ("system+hall", "Write 'system' alone"),
    ],
)
def test_an_unknown_character_is_refused(name: str, remedy: str) -> None:
    with pytest.raises(VoiceError, match=remedy):
        find_voice(name)


def test_a_voice_without_characters_is_left_as_it_is() -> None:
    found = find_character("system", "")
    assert found is not None
    assert found.curve == ()


def test_every_variant_of_the_small_voice_is_one_that_its_engine_has() -> None:
    """Two of them, which differ from one another and from the voice as it is."""
    clips = []
    for name in ("small", "small+m8", "small+f5"):
        with open_booth(name) as booth:
            clips.append(booth.clip(Line("Half way.")).samples.tobytes())
    assert len(set(clips)) == 3


@pytest.fixture(scope="module")
def plain() -> Iterator[Booth]:
    with open_booth("natural") as booth:
        yield booth


@pytest.fixture(scope="module")
def hall() -> Iterator[Booth]:
    with open_booth("natural+hall") as booth:
        yield booth


def test_a_line_in_another_character_is_as_long_within_a_few_ms(plain: Booth, hall: Booth) -> None:
    for text in TEXTS:
        line = Line(text)
        assert abs(plain.length_ms(line) - hall.length_ms(line)) <= 40


def stoi_in_a_full_hall(clip: Signal) -> float:
    noise = hall_noise(HALLS[-1], -19.0 - HALLS[-1].over_lu, STOI_RATE)
    heard = resample(clip, SAMPLE_RATE, STOI_RATE)
    return Reference(heard).stoi(heard + noise[: len(heard)])


def sibilance_db(x: Signal) -> float:
    """Return the loudest sibilants against the loud moments of 1 to 4 kHz, in 20 ms."""

    def moments(low: float, high: float) -> NDArray[np.float64]:
        band = signal.butter(4, (low, high), "bandpass", fs=SAMPLE_RATE, output="sos")
        sound = signal.sosfilt(band, x)
        return np.asarray((sound[: len(sound) // 960 * 960].reshape(-1, 960) ** 2).mean(axis=1))

    loudest, usual = np.percentile(moments(5e3, 9e3), 97), np.percentile(moments(1e3, 4e3), 90)
    return float(10 * np.log10(loudest / usual))


def test_the_natural_voice_is_clearer_in_a_full_hall_at_equal_loudness(
    plain: Booth, hall: Booth
) -> None:
    """Each finished clip against itself, in noise 3 LU under it."""
    lines = [Line(text) for text in TEXTS]
    gains = [
        stoi_in_a_full_hall(hall.clip(line).samples) - stoi_in_a_full_hall(plain.clip(line).samples)
        for line in lines
    ]
    assert min(gains) > 0.0
    assert np.median(gains) > 0.01


def test_its_sibilants_are_no_louder_than_its_loud_vowels(plain: Booth) -> None:
    found = [sibilance_db(plain.clip(Line(text)).samples) for text in TEXTS]
    assert max(found) < -2.0
