"""A line's figure in each hall: it falls with noise, with a bed, with its own level."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import signal
from scipy.io import wavfile

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.hall import HALLS
from cuegen.dsp.resample import resample
from cuegen.dsp.signal import Signal
from cuegen.dsp.stoi import STOI_RATE, Reference, words_share
from cuegen.plan.model import ToneSpan
from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.candidate import Line
from cuegen.script.kinds import CueKind
from cuegen.verify.clearness import HARD_STOI, Clearness, halls_heard, notices
from cuegen.verify.report import Check, CueVerdict, HeardCue
from cuegen.verify.seek import seek
from cuegen.voice.booth import Booth
from tests.mix.beds import over
from tests.verify.planting import heard
from tests.voice.fake import FakeSpeaker

TEXTS = ("Rate up, twenty-two, and settle there.", "Sit tall and let the handle run away.")


def clip_of(text: str) -> Signal:
    return FakeSpeaker().clip(Line(text)).samples


def window(clip: Signal, gain: float = 1.0, bed: float = 0.0) -> Signal:
    """Return a clip in the middle of a stretch, over steady noise."""
    room = samples_at(350)
    sound = np.zeros(len(clip) + 2 * room, dtype=np.float32)
    sound[room : room + len(clip)] = clip * np.float32(gain)
    noise = np.random.default_rng(1).standard_normal(len(sound)).astype(np.float32)
    return (sound + np.float32(bed) * noise)[:, np.newaxis]


def figures(
    text: str, gain: float = 1.0, bed: float = 0.0, after: int = 0, start_ms: int = 4_321
) -> tuple[float, ...]:
    """Return a line's figures, after so many lines of usual level."""
    clearness, clip = Clearness(), clip_of(text)
    for _ in range(after):
        clearness.of(seek(window(clip), clip, before=0, after=0), clip, 0)
    return clearness.of(seek(window(clip, gain, bed), clip, before=0, after=0), clip, start_ms)


@pytest.mark.parametrize("text", TEXTS)
def test_a_line_is_less_clear_from_hall_to_hall(text: str) -> None:
    found = figures(text)
    assert len(found) == len(HALLS)
    assert list(found) == sorted(found, reverse=True)
    assert found[0] > 0.9 > found[-1] > 0.4


def test_a_softer_line_is_less_clear_than_the_others() -> None:
    usual, soft = figures(TEXTS[0], after=5), figures(TEXTS[0], gain=0.5, after=5)
    assert soft[-1] < usual[-1] - 0.1


def test_the_level_of_the_whole_track_does_not_count() -> None:
    """How loud it is played is set by ear."""
    assert figures(TEXTS[0], gain=0.5) == pytest.approx(figures(TEXTS[0]), abs=0.005)


def test_a_bed_makes_a_line_less_clear() -> None:
    assert figures(TEXTS[1], bed=0.1)[0] < figures(TEXTS[1])[0] - 0.05


def test_a_beat_has_a_figure_too() -> None:
    """Half a second, which is more than its speech."""
    found = figures("Go.")
    assert len(found) == len(HALLS)
    assert found[-1] > 0.4


def test_silence_in_its_place_has_none() -> None:
    clip = clip_of(TEXTS[0])
    still = np.zeros_like(window(clip))
    assert Clearness().of(seek(still, clip, before=0, after=0), clip, 0) == ()


def test_the_same_line_at_the_same_instant_has_the_same_figures() -> None:
    assert figures(TEXTS[0]) == figures(TEXTS[0])
    assert figures(TEXTS[0]) != figures(TEXTS[0], start_ms=9_876)


def heard_cue(name: str, stoi: tuple[float, ...], **changes: object) -> HeardCue:
    cue = HeardCue(
        id=name,
        kind=CueKind.TECHNIQUE,
        firm=False,
        text=f"Line {name}.",
        planned_ms=65_000,
        limit_ms=50.0,
        match=0.9,
        level_db=0.0,
        below_db=60.0,
        stoi=stoi,
        planned_words=None,
        verdict=CueVerdict.OK,
    )
    return cue.model_copy(update=changes)


CUES = (
    heard_cue("a", (0.99, 0.93, 0.80)),
    heard_cue("b", (0.98, 0.80, 0.65), below_db=9.0),
    heard_cue("c", (0.97, 0.85, 0.71), level_db=-2.6),
    heard_cue("d", (0.96, 0.82, 0.60)),
    heard_cue("e", ()),
)


def test_a_session_has_its_middle_and_its_worst_in_each_hall() -> None:
    last = halls_heard(CUES)[-1]
    assert (last.median_stoi, last.worst_stoi, last.worst_cue) == (0.68, 0.6, "d")
    assert last.hard == 3
    assert [hall.worst_cue for hall in halls_heard(CUES)] == ["d", "b", "d"]


def test_a_session_without_figures_has_no_halls() -> None:
    assert halls_heard([heard_cue("e", ())]) == ()


def test_hard_lines_are_named_worst_first_with_what_would_help() -> None:
    found = list(notices(CUES))
    assert [notice.cue for notice in found] == ["d", "b", "c"]
    assert "'Line d.' would be hard to hear in a full hall: STOI 0.60" in found[0].problem
    assert "other words" in found[0].remedy
    assert "`below`" in found[1].remedy
    assert "2.6 dB softer" in found[2].remedy
    assert str(found[0]).startswith("cue d at 1:05: ")


def test_where_a_notice_begins_one_word_in_twenty_is_lost() -> None:
    assert words_share(HARD_STOI) == pytest.approx(0.95, abs=0.005)


@pytest.mark.slow
def test_speech_in_noise_of_its_own_spectrum_gives_what_listeners_gave(
    booth: Booth, sheet: CueSheet
) -> None:
    """Half of the words at -7.3 dB, rising by about 15 points a dB there (Kjems and others,
    "Role of mask pattern in intelligibility of ideal binary-masked noisy speech", JASA 126,
    2009; seen second-hand). Ours: the natural voice, through STOI and the curve to words.
    """
    clips = [booth.clip(Line(cue.text, cue.speed)).samples for cue in sheet.cues]
    speech = resample(np.concatenate(clips), SAMPLE_RATE, STOI_RATE)
    spectrum = np.abs(np.fft.rfft(speech))
    turns = np.random.default_rng(7).random(len(spectrum))
    noise = np.fft.irfft(spectrum * np.exp(2j * np.pi * turns), len(speech))
    noise *= np.sqrt(np.mean(speech**2) / np.mean(noise**2))
    reference = Reference(speech)
    shares = [
        words_share(reference.stoi((speech + noise * 10 ** (-snr / 20)).astype(np.float32)))
        for snr in (-15.0, -7.3, 0.0)
    ]
    assert shares[0] < 0.15
    assert shares[1] == pytest.approx(0.5, abs=0.15)
    assert shares[2] > 0.95


@pytest.mark.slow
def test_a_near_bed_that_was_asked_for_is_noticed(
    sheet: CueSheet, booth: Booth, tmp_path: Path
) -> None:
    """A sheet may ask for a bed 4 dB under speech; then the report says what that costs."""
    rng = np.random.default_rng(5)
    music = signal.lfilter([1], [1, -0.9], rng.normal(size=20 * SAMPLE_RATE)) * 0.02
    wavfile.write(tmp_path / "bed.wav", SAMPLE_RATE, music.astype(np.float32))
    near = over(sheet, [str(tmp_path / "bed.wav")], below_db=4.0, tones=ToneSpan.NONE)
    with_bed = heard(near, near, booth, tmp_path)
    without = heard(sheet, sheet, booth, tmp_path)
    assert without.notices == ()
    assert "clear in a full hall" in without.summary()
    assert Check.BED not in {fault.check for fault in with_bed.faults}
    assert len(with_bed.notices) == with_bed.halls[-1].hard > 0
    for notice in with_bed.notices:
        assert "`below`" in notice.remedy
    for one, other in zip(with_bed.halls, without.halls, strict=True):
        assert one.median_stoi < other.median_stoi
