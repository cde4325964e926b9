"""Speech against what sounds under it: libebur128 measures the two stems, we the mix alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyebur128
import pytest
from numpy.typing import NDArray
from scipy import signal

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.decode import read_audio
from cuegen.dsp.signal import Signal
from cuegen.mix.encode import Tags, encoding
from cuegen.schedule.cuesheet import Cue, CueSheet
from cuegen.script.candidate import Line
from cuegen.script.kinds import CueKind
from cuegen.verify.beds import overall_below_db, with_beds
from cuegen.verify.lines import LineHeard, listen_to_line, settled
from cuegen.verify.stretches import PLANNED, REACH_MS, Stretch
from cuegen.voice.booth import Booth
from cuegen.voice.clip import Speaker
from tests.voice.fake import FakeSpeaker

SPEAKER = FakeSpeaker()
TEXTS = (
    "Rate up, twenty-two, and settle there.",
    "Sit tall and let the handle run away from you.",
    "Half of this piece is behind you now.",
    "Press together, then send it back.",
    "Go.",
)
Samples = NDArray[np.float64]


def cue_of(text: str, length_ms: int) -> Cue:
    return Cue(
        id=text[:4],
        kind=CueKind.TECHNIQUE,
        firm=False,
        at_ms=10_010,
        start_ms=10_000,
        end_ms=10_000 + length_ms,
        text=text,
        segment=0,
    )


def loudness(x: Samples) -> float:
    """Return gated loudness by libebur128."""
    state = pyebur128.R128State(x.shape[1], SAMPLE_RATE, pyebur128.MeasurementMode.MODE_I)
    state.add_frames(np.ascontiguousarray(x, dtype=np.float32).reshape(-1), len(x))
    return float(pyebur128.get_loudness_global(state))


def hiss(length: int, seed: int) -> Samples:
    """Return steady noise up to 5 kHz, two channels that differ."""
    low = signal.butter(8, 5_000, fs=SAMPLE_RATE, output="sos")
    noise = np.random.default_rng(seed).standard_normal((length, 2))
    return np.asarray(signal.sosfilt(low, noise, axis=0))


def beats(length: int, seed: int) -> Samples:
    """Return a stroke of noise every half second that dies away."""
    at = np.arange(length) / SAMPLE_RATE + 0.37 * seed
    return hiss(length, seed) * np.exp(-(at % 0.5) * 8)[:, np.newaxis]


def chords(length: int, seed: int) -> Samples:
    """Return five tones that swell and fall."""
    at = np.arange(length) / SAMPLE_RATE + seed
    chord = sum(np.sin(2 * np.pi * hertz * at + hertz) for hertz in (131, 196, 262, 330, 523))
    swell = 0.7 + 0.3 * np.cos(2 * np.pi * at)
    return np.stack([chord * swell, 0.7 * chord * swell], axis=1)


BEDS = {"hiss": hiss, "beats": beats, "chords": chords}


def alone(text: str, speaker: Speaker = SPEAKER) -> Signal:
    """Return a line in two channels, in the middle of a stretch."""
    clip = speaker.clip(Line(text)).samples
    mix = np.zeros((len(clip) + 2 * PLANNED, 2), dtype=np.float32)
    mix[PLANNED : PLANNED + len(clip)] = clip[:, np.newaxis]
    return mix


def stems(text: str, kind: str, below_db: float, seed: int, speaker: Speaker = SPEAKER) -> Signal:
    """Return a line over a bed that, by libebur128, lies so far under it where it speaks."""
    speech = alone(text, speaker).astype(np.float64)
    bed = BEDS[kind](len(speech), seed)
    length = len(speech) - 2 * PLANNED
    # A clip under one gating block is compared with the block around it.
    around = max(0, samples_at(400) - length)
    under = bed[PLANNED - around // 2 : PLANNED + length + around]
    bed *= 10 ** ((loudness(speech) - below_db - loudness(under)) / 20)
    return (speech + bed).astype(np.float32)


def listened(text: str, mix: Signal, speaker: Speaker = SPEAKER) -> LineHeard:
    length_ms = speaker.length_ms(Line(text))
    stretch = Stretch(cue_of(text, length_ms), mix, REACH_MS, REACH_MS)
    return settled(listen_to_line(stretch, speaker, None, 1.0), speaker, None, 1.0)


def lines_over(kind: str, below_db: float) -> tuple[LineHeard, ...]:
    """Return the texts as they are heard over a bed, with the same samples as a lossless file."""
    mixes = (stems(text, kind, below_db, seed) for seed, text in enumerate(TEXTS))
    heard = (listened(text, mix) for text, mix in zip(TEXTS, mixes, strict=True))
    return with_beds(tuple(heard), lossy=False)


@pytest.mark.parametrize("below_db", [26.0, 20.0, 12.0])
@pytest.mark.parametrize("kind", BEDS)
def test_each_line_is_as_far_over_its_bed_as_the_stems_say(kind: str, below_db: float) -> None:
    """pyebur128 0.1.1 on each stem alone: within 0.1 LU, and the 0.05 of rounding."""
    lines = lines_over(kind, below_db)
    for line in lines:
        assert line.cue.below_db == pytest.approx(below_db, abs=0.15)
    assert overall_below_db(lines) == pytest.approx(below_db, abs=0.1)


def test_without_a_bed_nothing_lies_under_a_line() -> None:
    lines = with_beds(tuple(listened(text, alone(text)) for text in TEXTS), lossy=False)
    assert {line.cue.below_db for line in lines} == {60.0}


def test_a_line_that_is_not_there_has_no_distance() -> None:
    lines = with_beds((listened(TEXTS[0], np.zeros_like(alone(TEXTS[0]))),), lossy=True)
    assert lines[0].cue.below_db is None
    assert overall_below_db(lines) is None


def coded(kind: str, suffix: str, booth: Booth, sheet: CueSheet, folder: Path) -> list[float]:
    """Return the distances of real speech over a bed 20 dB under it, after a codec."""
    cues = [cue for cue in sheet.cues if cue.end_ms - cue.start_ms > 1_500][:6]
    heard = []
    for seed, cue in enumerate(cues):
        mix = stems(cue.text, kind, 20.0, seed, booth)
        with encoding(folder / f"stretch{suffix}", 2, Tags("stretch"), []) as track:
            track.write(mix)
        mix = read_audio(folder / f"stretch{suffix}")[: len(mix)]
        heard.append(listened(cue.text, mix, booth))
    lines = with_beds(tuple(heard), lossy=True)
    return [line.cue.below_db or 0.0 for line in lines]


@pytest.mark.slow
@pytest.mark.parametrize("kind", BEDS)
@pytest.mark.parametrize("suffix", [".mp3", ".m4a", ".opus"])
def test_coding_noise_is_no_bed(
    kind: str, suffix: str, booth: Booth, sheet: CueSheet, tmp_path: Path
) -> None:
    """The stems as before: within 1 dB in the mean, 1.5 dB in each line."""
    distances = coded(kind, suffix, booth, sheet, tmp_path)
    assert len(distances) == 6
    assert np.mean(distances) == pytest.approx(20.0, abs=1.0)
    assert np.abs(np.array(distances) - 20.0).max() <= 1.5
