"""The beds we make: on the stroke, as full as the effort, soft, without a seam, of one loudness."""

from __future__ import annotations

from functools import cache, lru_cache
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt, sosfiltfilt

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.signal import Signal
from cuegen.mix.bed import in_the_open_db
from cuegen.mix.bed_files import Tap
from cuegen.mix.bed_own import CHARACTERS, SyntheticBed
from cuegen.mix.bed_powers import STEP, PowerMeter, gated_lufs, loudest_lufs
from cuegen.mix.bed_score import BEATS, TONE_ROOM, fullness, stretches_of, strikes_of
from cuegen.mix.bed_tones import LOOP, Struck, chord, mallet, thump
from cuegen.mix.ducking import open_stretches, spans_of
from cuegen.mix.tones import catch_sound, finish_sound, strokes_of
from cuegen.plan.model import OwnBed, SegmentKind, ToneSpan
from cuegen.schedule.cuesheet import CueSheet, SheetBed, SheetSegment, Sound
from tests.mix.beds import bed_alone, heard_in, loudness
from tests.mix.sheets import WORDS, line_at, onset_of, segment, sheet_of

Kind = SegmentKind
Curve = NDArray[np.float64]


def laid(*parts: tuple[int, str | None, SegmentKind, int], start: int = 10_000) -> CueSheet:
    """Return a sheet of (seconds, rate, kind, effort) parts after a lead-in."""
    segments: list[SheetSegment] = []
    at = start
    for seconds, rate, kind, effort in parts:
        made = segment(at, at + seconds * 1000, rate, kind)
        segments.append(made.model_copy(update={"effort_pct": effort}))
        at += seconds * 1000
    sound = Sound(bed=SheetBed(file="pulse", below_db=20.0))
    return sheet_of(at + 8_000, [], segments=segments, sound=sound, lead_in_ms=start, row_end_ms=at)


def row(seconds: int, rate: str, effort: int = 80) -> tuple[int, str, SegmentKind, int]:
    return seconds, rate, Kind.ROW, effort


def played(sheet: CueSheet, name: OwnBed = OwnBed.PULSE) -> Signal:
    return Tap(SyntheticBed(sheet, name).blocks()).take(samples_at(sheet.duration_ms))


@cache
def long_session() -> CueSheet:
    """8 minutes with every kind of change: up, down, rest, no rate, a band, odd lengths."""
    return laid(
        (61, "18", Kind.WARM_UP, 55),
        row(60, "17", 70),
        row(60, "19-20", 75),
        row(57, "23", 85),
        (40, None, Kind.REST, 0),
        row(61, "28", 90),
        (35, None, Kind.PADDLE, 50),
        row(50, "36", 100),
        (60, "18", Kind.COOL_DOWN, 50),
    )


@lru_cache(maxsize=1)
def long_bed(name: OwnBed) -> Signal:
    return played(long_session(), name)


def band(x: Signal, low: float, high: float) -> NDArray[np.float64]:
    """Return one channel's part between two frequencies, shifted by nothing."""
    sos = butter(4, (low, high), "bandpass", fs=SAMPLE_RATE, output="sos")
    return np.asarray(sosfiltfilt(sos, x[:, 0].astype(np.float64)))


def envelope(x: Signal) -> Curve:
    """Return the level of the low band each 2 ms."""
    low = band(x, 60, 320)
    power = np.square(low).reshape(-1, 96).mean(axis=1)
    return np.asarray(np.sqrt(np.convolve(power, np.hanning(12) / 6, "same")))


def period_s(x: Signal, about: float, turns: int = 24) -> float:
    """Return the period in an envelope near one, from its autocorrelation many periods away."""
    level = envelope(x) - envelope(x).mean()
    lag = about * turns / 0.002
    lags = np.arange(round(lag - 0.1 / 0.002), round(lag + 0.1 / 0.002))
    alike = np.array([level[:-each] @ level[each:] for each in lags])
    best = int(np.argmax(alike))
    assert 0 < best < len(lags) - 1
    left, middle, right = alike[best - 1 : best + 2]
    between = 0.5 * (left - right) / (left - 2 * middle + right)
    return float((lags[best] + between) * 0.002 / turns)


@pytest.mark.parametrize("name", OwnBed)
@pytest.mark.parametrize("rate", ["17", "18-19", "28"])
def test_its_tempo_is_the_rate(name: OwnBed, rate: str) -> None:
    """From the autocorrelation of its sound over 24 strokes: within 0.1 %."""
    low, _, high = rate.partition("-")
    stroke = 120.0 / (int(low) + int(high or low))
    x = played(laid(row(150, rate)), name)[samples_at(13_000) : samples_at(157_000)]
    assert period_s(x, stroke) == pytest.approx(stroke, rel=1e-3)


def test_its_beats_stand_on_the_catches() -> None:
    """Found in the sound by correlation: within 2 ms of the catch's exact instant, changes too."""
    sheet = laid(row(61, "17", 70), row(62, "21", 80), row(60, "28", 90))
    x = played(sheet)
    low = band(x, 60, 600).astype(np.float32)
    wanted = band(thump().samples[:, np.newaxis], 60, 600).astype(np.float32)
    found = []
    for part in sheet.segments:
        for stroke in strokes_of(part, ToneSpan.ALL):
            exact = stroke.catch
            found.append(onset_of(low, wanted, exact, within=4_800) - exact)
    assert len(found) > 60
    assert np.abs(found).max() <= samples_at(2)


def test_the_first_beat_after_a_change_is_on_it() -> None:
    """And the last before it leaves half a beat free."""
    sheet = laid(row(61, "17"), row(60, "24"))
    strikes = [s.at for s in strikes_of(stretches_of(sheet), sheet, [0], 1.0)]
    change = samples_at(71_000)
    assert change in strikes
    beat = 60 * SAMPLE_RATE / 17 / BEATS
    assert max(at for at in strikes if at < change) <= change - beat / 2


def test_a_beat_is_left_to_a_finish_tone_beside_it() -> None:
    """At 28 the finish lies 43 ms before the third beat."""
    sheet = laid(row(60, "28"))
    tones = Sound(bed=sheet.sound.bed, stroke_tones=ToneSpan.ALL)
    with_tones = sheet.model_copy(update={"sound": tones})
    finishes = [s.finish for s in strokes_of(sheet.segments[0], ToneSpan.ALL) if s.finish]

    def nearest(sheet: CueSheet) -> float:
        strikes = [s.at for s in strikes_of(stretches_of(sheet), sheet, [0], 1.0)]
        return min(abs(at - finish) for at in strikes for finish in finishes)

    assert nearest(sheet) < samples_at(50)
    assert nearest(with_tones) >= TONE_ROOM


def test_it_leaves_the_pitches_of_the_stroke_tones_free() -> None:
    """Where a catch or finish sounds, in a third of an octave, it is louder than the bed."""
    sheet = laid(row(60, "20"))
    sheet = sheet.model_copy(
        update={"sound": Sound(bed=sheet.sound.bed, stroke_tones=ToneSpan.ALL)}
    )
    gain = 10 ** ((-16.0 - in_the_open_db((), 1)) / 20)
    x = gain * played(sheet)
    for sound, level, hertz in ((catch_sound(), -36, 330), (finish_sound(), -36, 660)):
        low, high = hertz / 2 ** (1 / 6), hertz * 2 ** (1 / 6)
        tone = 10 ** ((level - 3.01) / 20) * sound[:, np.newaxis]
        loud = np.square(band(np.pad(tone, ((4_800, 4_800), (0, 0))), low, high)).sum() / len(tone)
        under = np.square(band(x[samples_at(20_000) : samples_at(60_000)], low, high)).mean()
        assert loud > under


def brightness(x: Signal) -> float:
    """Return the part of the power above 350 Hz, in dB."""
    whole = np.square(x[:, 0].astype(np.float64)).sum()
    return float(10 * np.log10(np.square(band(x, 350, 6_000)).sum() / whole))


def test_it_is_fuller_and_brighter_with_effort() -> None:
    """Each step of effort brings more of the upper voices, at the same loudness."""
    heard = []
    for effort in (55, 65, 75, 85, 95):
        x = played(laid(row(60, "20", effort)))[samples_at(16_000) : samples_at(68_000)]
        heard.append(brightness(x))
        assert loudness(x) == pytest.approx(0.0, abs=0.5)
    assert all(after > before + 0.5 for before, after in pairwise(heard[1:]))
    assert heard[-1] - heard[0] > 6


@pytest.mark.parametrize(
    ("kind", "effort", "expected"),
    [
        (Kind.ROW, 50, 0.3),
        (Kind.ROW, 70, 0.5),
        (Kind.ROW, 90, 1.0),
        (Kind.ROW, 100, 1.0),
        (Kind.WARM_UP, 90, 0.25),
        (Kind.WARM_UP, 55, 0.125),
        (Kind.PADDLE, 50, 0.0),
        (Kind.REST, 0, 0.0),
        (Kind.COOL_DOWN, 50, 0.0),
    ],
)
def test_easy_rowing_is_calm(kind: SegmentKind, effort: int, expected: float) -> None:
    part = segment(0, 60_000, "20", kind).model_copy(update={"effort_pct": effort})
    assert fullness(part) == pytest.approx(expected)


def test_a_rest_has_no_beats() -> None:
    sheet = laid((60, None, Kind.REST, 0), (60, None, Kind.PADDLE, 50))
    assert list(strikes_of(stretches_of(sheet), sheet, [0], 1.0)) == []


@pytest.mark.slow
@pytest.mark.parametrize("name", OwnBed, scope="module")  # a long bed is made once for all three
def test_it_holds_its_loudness_all_through(name: OwnBed) -> None:
    """0 LUFS within 0.5 LU in each segment, by libebur128; no second without sound."""
    x = long_bed(name)
    for part in long_session().segments:
        inner = x[samples_at(part.start_ms + 2_000) : samples_at(part.end_ms)]
        assert loudness(inner) == pytest.approx(0.0, abs=0.5)
    frames = x[: len(x) // 48_000 * 48_000].reshape(-1, 96_000)
    assert 10 * np.log10(np.square(frames).mean(axis=1)).min() > -12


@pytest.mark.slow
@pytest.mark.parametrize("name", OwnBed, scope="module")  # a long bed is made once for all three
def test_nothing_clicks_all_through(name: OwnBed) -> None:
    """No step between two samples is out of the ordinary, and above 6 kHz there is nothing.

    A click has power at all frequencies: in no 100 ms, changes and joins included,
    does a peak above 6 kHz come within 60 dB of the largest of the whole.
    """
    x = long_bed(name)[:, 0]
    assert sharpness_db(x) < -60
    steps = np.abs(np.diff(x))
    assert steps.max() < 0.06 * np.abs(x).max()
    planted = x[: 60 * SAMPLE_RATE].copy()
    planted[30 * SAMPLE_RATE :] += 0.01 * np.abs(x).max()  # a step of a hundredth
    assert sharpness_db(planted) > -60


def sharpness_db(x: Signal) -> float:
    """Return the highest peak above 6 kHz against the highest of all."""
    high = sosfilt(butter(6, 6_000, "high", fs=SAMPLE_RATE, output="sos"), x)
    return float(20 * np.log10(np.abs(high[4_800:]).max() / np.abs(x).max()))


@pytest.mark.slow
@pytest.mark.parametrize("name", OwnBed, scope="module")  # a long bed is made once for all three
def test_its_powers_are_those_of_its_sound(name: OwnBed) -> None:
    """Told without hearing it: each 3 s within 1 dB, and no 400 ms louder than its doubt allows."""
    bed = SyntheticBed(long_session(), name)
    meter = PowerMeter()
    meter.add(long_bed(name))
    heard = meter.powers()
    told = bed.powers[: len(heard)]
    assert gated_lufs(heard) == pytest.approx(gated_lufs(told), abs=0.3)
    for steps, limit in ((150, 1.0), (20, bed.doubt_db)):
        kernel = np.ones(steps) / steps
        means = [np.convolve(each, kernel, "valid") for each in (heard, told)]
        assert 10 * np.log10(means[0] / means[1]).max() <= limit
    assert loudest_lufs(heard) <= loudest_lufs(told) + bed.doubt_db


@pytest.mark.parametrize("name", OwnBed)
def test_between_lines_it_has_its_level_and_under_them_its_depth(name: OwnBed) -> None:
    """Within 1 LU in each open stretch, 20 dB and more under each line."""
    sheet = laid(row(60, "18", 70), row(60, "24", 90))
    bed = SheetBed(file=name, below_db=20.0)
    cues = [line_at(start, WORDS[n % 4]) for n, start in enumerate(range(12_000, 115_000, 11_000))]
    sheet = sheet.model_copy(update={"cues": tuple(cues), "sound": Sound(bed=bed)})
    left, spans = bed_alone(sheet), spans_of(sheet)
    target = -16.0 - in_the_open_db(spans, len(left))
    for stretch in open_stretches(spans, len(left)):
        inner = heard_in(left, stretch)
        if len(inner) >= SAMPLE_RATE:
            assert loudness(inner) == pytest.approx(target, abs=1.0)
    for cue in cues:
        under = left[samples_at(cue.start_ms) : samples_at(cue.end_ms)]
        assert loudness(under) <= -36.0


def test_the_same_sheet_gives_the_same_samples() -> None:
    sheet = laid(row(30, "20"))
    assert (played(sheet) == played(sheet)).all()


def test_every_bed_of_ours_has_a_character() -> None:
    assert set(CHARACTERS) == set(OwnBed)


def test_a_held_chord_has_no_seam() -> None:
    """Its loop goes on where it began: the step from end to start is like any other."""
    loop = chord((110.0, 165.0), 420.0, 0)
    assert loop.shape == (LOOP, 2)
    steps = np.abs(np.diff(np.concatenate([loop, loop[:1]]), axis=0))
    assert steps[-1].max() <= steps.max()
    assert loudness(np.concatenate([loop, loop])) == pytest.approx(0.0, abs=0.3)


@pytest.mark.parametrize("struck", [thump(), mallet(220.0), mallet(550.0)])
def test_a_struck_sound_is_soft(struck: Struck) -> None:
    """It takes 5 ms and more to be heard, ends in silence, and its powers are its energy."""
    sound = struck.samples
    peak = np.abs(sound).max()
    assert np.abs(sound[: samples_at(2)]).max() < 0.12 * peak
    assert abs(sound[-1]) < 1e-3 * peak
    meter = PowerMeter()
    padded = np.concatenate([sound, np.zeros(SAMPLE_RATE // 2, dtype=np.float32)])
    meter.add(np.repeat(padded[:, np.newaxis], 2, axis=1))
    assert struck.powers.sum() * STEP == pytest.approx(meter.powers().sum() * STEP, rel=0.02)
