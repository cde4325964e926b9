"""The real voices, each in its worker: contract, onsets, pace and repeatability.

Onsets are checked against a picker that knows no threshold: Akaike's criterion
over the two-part variance model (Maeda 1985, as used for arrivals in seismology),
on the engine's own sound in noise 50 dB under its loudest 10 ms. Where a clip
was cut out of that sound is found by correlation.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from pyloudnorm import Meter
from scipy import signal

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.errors import VoiceError
from cuegen.schedule.cuesheet import LEAD_MS
from cuegen.script.candidate import Line
from cuegen.voice.booth import Booth, open_booth
from cuegen.voice.clip import CLIP_LUFS, Samples
from cuegen.voice.finishing import finish
from cuegen.voice.process import Ask, Spoken, VoiceProcess
from cuegen.voice.table import find_voice

VOICES = ["natural", "small", "piper"]
BEATS = ["Five.", "Four.", "Three.", "Two.", "One.", "Go."]
SENTENCE = "In three strokes, rate up to twenty two, and hold two oh four point five."

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module", params=VOICES)
def booth(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Booth]:
    with open_booth(request.param, cache_dir=tmp_path_factory.mktemp("clips")) as opened:
        yield opened


@cache
def _spoken(voice: str) -> dict[str, Spoken]:
    """Return what the engine itself makes of each beat."""
    with VoiceProcess(find_voice(voice)) as process:
        asks = [Ask(Line(beat), beat) for beat in BEATS]
        return {one.line.text: one for one in process.speak_all(asks)}


def _at_48_khz(spoken: Spoken) -> NDArray[np.float64]:
    """Return the engine's sound with 150 ms of silence on both sides."""
    shared = np.gcd(SAMPLE_RATE, spoken.sample_rate)
    up, down = SAMPLE_RATE // shared, spoken.sample_rate // shared
    around = np.zeros(samples_at(150))
    sound = signal.resample_poly(spoken.samples.astype(float), up, down)
    return np.concatenate([around, sound, around])


def _picked_onset(sound: NDArray[np.float64]) -> int:
    """Return the onset by Akaike's criterion, from 150 ms before to 60 ms after a first guess."""
    level = np.sqrt(np.convolve(sound**2, np.ones(480) / 480, "same"))
    noise = np.random.default_rng(0).standard_normal(len(sound)) * level.max() * 10 ** (-50 / 20)
    guess = int(np.argmax(level > level.max() * 10 ** (-30 / 20)))
    first = max(0, guess - samples_at(150))
    part = (sound + noise)[first : guess + samples_at(60)]
    at = np.arange(48, len(part) - 48)
    sums, squares = np.cumsum(part), np.cumsum(part**2)
    before = squares[at - 1] / at - (sums[at - 1] / at) ** 2
    left = len(part) - at
    after = (squares[-1] - squares[at - 1]) / left - ((sums[-1] - sums[at - 1]) / left) ** 2
    return first + int(at[np.argmin(at * np.log(before) + left * np.log(after))])


def _place(clip: Samples, sound: NDArray[np.float64]) -> int:
    """Return where in the sound the clip was cut out."""
    return int(np.argmax(signal.correlate(sound, clip.astype(float), "full"))) - len(clip) + 1


@pytest.mark.parametrize("voice", VOICES)
@pytest.mark.parametrize("beat", BEATS)
def test_the_word_of_a_beat_begins_where_the_contract_says(voice: str, beat: str) -> None:
    """Within 10 ms, the firm cues' tolerance; people agree on such edges within 20 ms (Hosom)."""
    spoken = _spoken(voice)[beat]
    sound = _at_48_khz(spoken)
    clip = finish(spoken.samples, spoken.sample_rate, spoken.line)
    onset = _place(clip, sound) + samples_at(LEAD_MS)
    assert abs(onset - _picked_onset(sound)) <= samples_at(10)


@pytest.mark.parametrize("beat", BEATS)
def test_a_clip_taken_by_itself_begins_there_too(booth: Booth, beat: str) -> None:
    clip = booth.clip(Line(beat)).samples.astype(float)
    alone = np.concatenate([np.zeros(samples_at(150)), clip])
    assert abs(_picked_onset(alone) - samples_at(150 + LEAD_MS)) <= samples_at(10)


@pytest.mark.parametrize("text", ["Three.", "Go.", SENTENCE])
def test_loudness_and_peak_by_outside_meters(booth: Booth, text: str) -> None:
    """pyloudnorm with 400 ms of silence around; eight-fold oversampling by scipy."""
    clip = booth.clip(Line(text)).samples.astype(float)
    around = np.zeros(samples_at(400))
    heard = Meter(SAMPLE_RATE).integrated_loudness(np.concatenate([around, clip, around]))
    assert heard == pytest.approx(CLIP_LUFS, abs=0.4)
    assert 20 * np.log10(np.abs(signal.resample_poly(clip, 8, 1)).max()) <= -2.0


def test_a_beat_leaves_room_before_the_next_at_one_a_second(booth: Booth) -> None:
    assert max(booth.length_ms(Line(beat)) for beat in BEATS) < 600


def test_a_line_asked_to_be_faster_is_shorter_by_about_that(booth: Booth) -> None:
    """Whole frames of the models make single lines vary; 1.12 is met within 5 %."""
    plain, fast = booth.length_ms(Line(SENTENCE)), booth.length_ms(Line(SENTENCE, 1.12))
    assert plain / fast == pytest.approx(1.12, rel=0.05)


@pytest.mark.parametrize("voice", ["natural", "piper"])
def test_the_same_line_is_the_same_samples_in_another_process(voice: str, tmp_path: Path) -> None:
    sounds = []
    for folder, first in (("one", "Hold."), ("two", "Easy now, paddle light.")):
        with open_booth(voice, cache_dir=tmp_path / folder) as booth:
            booth.clip(Line(first))
            sounds.append(booth.clip(Line(SENTENCE)).samples)
    assert np.array_equal(sounds[0], sounds[1])


@pytest.mark.parametrize("voice", ["natural", "piper"])
def test_neither_what_is_spoken_before_nor_beside_it_changes_a_sample(
    voice: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    asks = [
        Ask(Line(text, speed), text) for text in (*BEATS, SENTENCE) for speed in (1.0, 1.06, 1.12)
    ]
    sounds = []
    for most, order in ((2, asks), (1, asks[::-1])):
        monkeypatch.setattr("cuegen.voice.process.MOST_SIDE_BY_SIDE", most)
        with VoiceProcess(find_voice(voice)) as process:
            sounds.append({one.line: one.samples for one in process.speak_all(order)})
    assert len(sounds[0]) == len(sounds[1]) == len(asks)
    assert all(np.array_equal(sounds[0][ask.line], sounds[1][ask.line]) for ask in asks)


def test_the_small_voice_speaks_other_languages(tmp_path: Path) -> None:
    with (
        open_booth("small", "de", cache_dir=tmp_path / "de") as german,
        open_booth("small", "en", cache_dir=tmp_path / "en") as english,
    ):
        line = Line("Noch zwei Minuten, ruhig und lang.")
        assert german.length_ms(line) != english.length_ms(line)


def test_the_small_voice_never_takes_the_pace_of_the_line_before() -> None:
    """eSpeak NG takes a rate up in a thread of its own: an old one must not slip through."""
    text = "Hands away, body over, then let the wheels roll."
    speeds = [1.0, 1.5, 1.0, 2.0, 0.8, 1.5, 1.0] * 4
    with VoiceProcess(find_voice("small")) as process:
        asks = [Ask(Line(text, speed), text) for speed in speeds]
        lengths = [len(one.samples) for one in process.speak_all(asks)]
    for speed in set(speeds):
        same = [n for n, at in zip(lengths, speeds, strict=True) if at == speed]
        assert max(same) / min(same) < 1.02, (speed, same)
    by_speed = sorted(zip(speeds, lengths, strict=True), reverse=True)
    slowest_first = [length for _, length in by_speed]
    assert slowest_first[0] * 1.6 < slowest_first[-1]


def test_a_system_voice_that_is_not_there_is_told() -> None:
    """On a machine without speech of its own, and on one that has it."""
    with (
        VoiceProcess(find_voice("system:nobody")) as process,
        pytest.raises(VoiceError, match=r"no speech of its own|has no voice 'nobody'") as caught,
    ):
        next(process.speak_all([Ask(Line("One."), "One.")]))
    assert caught.value.remedy.startswith(("Choose the voice", "Did you mean", "Known are"))


def test_a_piper_file_that_is_no_model_is_told(tmp_path: Path) -> None:
    default = dict(find_voice("piper").settings)
    model = tmp_path / "torn.onnx"
    model.write_bytes(b"torn")
    model.with_name("torn.onnx.json").write_bytes(Path(default["config"]).read_bytes())
    with (
        open_booth(f"piper:{model}", cache_dir=tmp_path) as booth,
        pytest.raises(VoiceError, match="cannot be used: InvalidProtobuf"),
    ):
        booth.clip(Line("One."))
