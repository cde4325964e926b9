"""From what an engine returns to a finished clip: cut, faded, levelled, limited.

Conventions
    In: mono samples at any rate. Out: float32 at SAMPLE_RATE as cuegen.voice.clip
    promises. A pure function of its input; what it does to a sound is part of
    every cache key by FINISHING_VERSION (cuegen.voice.clip), which rises with any audible change.

Onset rule
    The acoustic onset is where a line first stays within ONSET_DB below its own
    loudest 10 ms for STAY_MS. The loudest is taken after the high-pass, in
    windows of 5 ms. -36 dB lies under the softest beginnings of words that were
    measured ("three", "five", "half", "finish": -23 to -33 dB in their first 10
    to 20 ms) and over breath and the ramp into them (-45 dB and less). What lies
    closer than MARGIN_DB to a steady noise floor counts as floor. LEAD_MS of what
    comes before is kept under a fade-in, so a soft beginning is eased in, not cut.

Loudness
    A clip is measured as it is heard in a track, with silence of at least GAP_MS
    on both sides: gated loudness by ITU-R BS.1770 over the padded clip. So clips
    shorter than the meter's 400 ms block have a loudness too, and a track of
    voice alone measures what its clips do.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, lfilter, sosfilt

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.dsp.limiter import limit
from cuegen.dsp.loudness import integrated_lufs
from cuegen.dsp.presence import shaped
from cuegen.dsp.resample import resample
from cuegen.dsp.signal import gain_of
from cuegen.dsp.truepeak import true_peak_dbtp
from cuegen.errors import VoiceError
from cuegen.schedule.cuesheet import GAP_MS, LEAD_MS
from cuegen.script.candidate import Line
from cuegen.voice.characters import Curve
from cuegen.voice.clip import CLIP_DBTP, CLIP_LUFS, Samples

ONSET_DB = -36.0
END_DB = -42.0
MARGIN_DB = 9.0
STAY_MS = 20
WINDOW_MS = 5
TAIL_MS = 40
"""What is kept after the last sound, under a fade-out."""

RUMBLE_HZ = 50.0
"""Corner of the high-pass: under the lowest voice, over hum of the recording room."""

TURN_HZ = 200.0
"""Where the phase is turned by a quarter; the best of those tried on the three engines."""

MAX_DRIVE_DB = 6.0

_LEVEL_TOLERANCE_LU = 0.1
_LEVEL_ROUNDS = 6
_LEAST_SLOPE = 0.25
"""LU gained for each dB of drive, at least: a bound on a step of the search."""

_SILENT = 1e-4

_LOOK = 4096
"""Samples looked at together for an onset, which is mostly among the first over the level."""

_HIGH_PASS = butter(2, RUMBLE_HZ, "highpass", fs=SAMPLE_RATE, output="sos")


def finish(raw: Samples, sample_rate: int, line: Line, curve: Curve = ()) -> Samples:
    """Return the finished samples of a line, sent through the curve of the voice's character.

    Raises VoiceError where it is no speech.
    """
    _check_sound(raw, sample_rate)
    # At the engine's rate, which is half of ours or less: half the work.
    formed = shaped(np.asarray(raw, dtype=np.float32), curve, sample_rate)
    sound = resample(formed, sample_rate, SAMPLE_RATE).astype(np.float64)
    clean = np.asarray(sosfilt(_HIGH_PASS, sound))
    onset, end = speech_span(clean)
    _check_length(end - onset, line)
    piece = _cut(clean, onset, end)
    gain_db = CLIP_LUFS - _heard_lufs(piece)
    peak_dbtp = true_peak_dbtp(piece)
    if peak_dbtp + gain_db <= CLIP_DBTP:
        return piece * np.float32(gain_of(gain_db))
    clean = _phase_turned(clean)
    turned = _cut(clean, *speech_span(clean))
    return _levelled(turned if true_peak_dbtp(turned) < peak_dbtp else piece, gain_db)


def _phase_turned(clean: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the sound with its low partials shifted in phase, by all-pass filters.

    Voices whose pulses all point one way have peaks that no slow limiter can take
    down; turned, they fall by up to 4 dB (measured) and sound and loudness stay.
    """
    tangent = np.tan(np.pi * TURN_HZ / SAMPLE_RATE)
    c = (tangent - 1) / (tangent + 1)
    once = np.array([c, 1.0]), np.array([1.0, c])
    return np.asarray(lfilter(*once, lfilter(*once, clean)))


def speech_span(clean: NDArray[np.float64]) -> tuple[int, int]:
    """Return the sample of the onset and the one after the last sound, by the rule above."""
    width = samples_at(WINDOW_MS)
    energy = _energy(clean, width)
    loudest = float(energy.max())
    floor = _noise_floor(energy, loudest)
    start_level = max(loudest * 10 ** (ONSET_DB / 10), floor)
    end_level = max(loudest * 10 ** (END_DB / 10), floor)
    first = _first_lasting(energy > start_level)
    # Inside the window, the onset is the first sample that itself reaches the level.
    reached = np.flatnonzero(np.square(clean[first : first + width]) > start_level)
    onset = first + int(reached[0]) if len(reached) else first
    last = len(energy) - 1 - int(np.argmax(energy[::-1] > end_level))
    return onset, min(len(clean), last + width)


def _energy(clean: NDArray[np.float64], width: int) -> NDArray[np.float64]:
    """Return the mean power of each window [i, i + width); what lies past the end is silent."""
    energy = np.square(clean)
    sums = np.zeros(len(clean) + width + 1)
    np.cumsum(energy, out=sums[1 : len(clean) + 1])
    sums[len(clean) + 1 :] = sums[len(clean)]
    np.subtract(sums[width:-1], sums[: -width - 1], out=energy)
    energy /= width
    return energy


def _noise_floor(energy: NDArray[np.float64], loudest: float) -> float:
    """Return the power that counts as floor: MARGIN_DB over the quietest tenth, but no word.

    0 where more than a tenth is so quiet that the floor would lie under END_DB, and so
    under ONSET_DB: to count is several times faster than to look for the tenth.
    """
    unheard = 0.99 * loudest * 10 ** ((END_DB - MARGIN_DB) / 10)
    if np.count_nonzero(energy < unheard) > len(energy) // 10 + 1:
        return 0.0
    quiet = float(np.percentile(energy, 10))
    return min(quiet * 10 ** (MARGIN_DB / 10), loudest * 10 ** (-26 / 10))


def _first_lasting(over: NDArray[np.bool_]) -> int:
    """Return the first place from which the level is held for STAY_MS, else the first at all.

    A dip of one window, as between two pulses of a creaky voice, does not count.
    """
    stay = samples_at(STAY_MS)
    first = int(np.argmax(over))
    for start in range(first, len(over), _LOOK):
        here = over[start : start + _LOOK]
        part = over[start : start + _LOOK + stay - 1]
        silence = np.zeros(len(here) + stay - 1 - len(part), dtype=np.bool_)
        held = np.cumsum(np.concatenate([[0], part, silence]))
        share = (held[stay:] - held[:-stay]) / stay
        lasting = np.flatnonzero(here & (share >= 0.75))
        if len(lasting):
            return start + int(lasting[0])
    return first


def _cut(clean: NDArray[np.float64], onset: int, end: int) -> Samples:
    """Return the speech with its onset LEAD_MS after sample 0, eased in and out, peak 1."""
    lead, tail = samples_at(LEAD_MS), samples_at(TAIL_MS)
    before = clean[max(0, onset - lead) : onset]
    piece = np.concatenate(
        [np.zeros(lead - len(before)), before, clean[onset : min(len(clean), end + tail)]]
    )
    rise = max(len(before), samples_at(1))
    start = lead - len(before)
    piece[start : start + rise] *= _raised_cosine(rise)
    fall = min(tail, len(piece) - lead)
    piece[len(piece) - fall :] *= _raised_cosine(fall)[::-1]
    piece /= max(float(piece.max()), -float(piece.min()))
    return piece.astype(np.float32)


def _levelled(piece: Samples, gain_db: float) -> Samples:
    """Return the piece at CLIP_LUFS with its true peak under CLIP_DBTP.

    `gain_db` is the gain without a limiter. Limiting takes loudness away; the
    secant rule finds the gain that makes up for it. A clip that would have to be
    driven more than MAX_DRIVE_DB into the limiter stays a little softer instead.
    """
    start_db, tried = gain_db, (gain_db, 0.0)
    for _ in range(_LEVEL_ROUNDS):
        finished = limit(piece * np.float32(gain_of(gain_db)), CLIP_DBTP)
        short = CLIP_LUFS - _heard_lufs(finished)
        if abs(short) < _LEVEL_TOLERANCE_LU or gain_db == start_db + MAX_DRIVE_DB:
            break
        slope = (tried[1] - short) / (gain_db - tried[0]) if gain_db != tried[0] else 1.0
        tried = (gain_db, short)
        step = short / min(max(slope, _LEAST_SLOPE), 1.0)
        gain_db = min(gain_db + step, start_db + MAX_DRIVE_DB)
    return finished


def _heard_lufs(clip: Samples) -> float:
    silence = np.zeros(samples_at(GAP_MS), dtype=np.float32)
    return integrated_lufs(np.concatenate([silence, clip, silence]))


def _raised_cosine(length: int) -> NDArray[np.float64]:
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * (np.arange(length) + 0.5) / length))


def _check_sound(raw: Samples, sample_rate: int) -> None:
    if sample_rate <= 0 or raw.ndim != 1:
        raise VoiceError("the engine returned no mono sound")
    if len(raw) == 0:
        raise VoiceError("the engine spoke nothing")
    if not np.isfinite(raw).all():
        raise VoiceError("the engine returned samples that are no numbers")
    if np.abs(raw).max() < _SILENT:
        raise VoiceError("the engine spoke nothing but silence")


def _check_length(samples: int, line: Line) -> None:
    """Refuse what cannot be this line: under 15 ms a letter, or over 2 s and 0.5 s a letter.

    Fast speech takes about 50 ms a letter; numbers in digits take more. The bounds
    are our own and wide: they catch an engine that stopped or ran on.
    """
    length_ms = samples * 1000 / SAMPLE_RATE * line.speed
    letters = sum(character.isalnum() for character in line.text)
    if length_ms < 40 + 15 * letters or length_ms > 2_000 + 500 * letters:
        raise VoiceError(f"the engine spoke {length_ms / 1000:.2f} s, which cannot be this line")
