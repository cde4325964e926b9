"""One recording from a file: a take that a coach recorded, or what a system voice wrote.

Conventions
    `bring_in` gives a whole file as float32 mono at 48 kHz, untrimmed and at its own
    level, and beside it the samples as they were recorded, in which clipping can be
    seen. `cut` takes a stretch out and fades its ends, on whole milliseconds. What a
    take needs besides is cuegen.takes; loudness is finishing's (cuegen.voice.finishing).

Decoding is cuegen.dsp.decode; pydub, which needs no FFmpeg for raw samples, brings
channels together, takes a constant offset away, cuts, fades and writes WAV files. Single
clips only: pydub copies the whole sound at each step.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.decode import AudioSource, open_audio
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError, Where
from cuegen.voice.clip import Samples

with warnings.catch_warnings():
    # Importing pydub warns of a missing ffmpeg program and of audioop's removal
    # in Python 3.13; neither concerns raw samples (3.13 gets audioop-lts).
    warnings.simplefilter("ignore")
    from pydub import AudioSegment
    from pydub.exceptions import CouldntDecodeError

__all__ = [
    "AudioSegment",  # whoever needs pydub takes it from here, unwarned
    "Recording",
    "bring_in",
    "cut",
    "mono_of",
    "read_wav",
    "side_with_voice",
    "write_wav",
]

LONGEST_S = 60
"""A longer file is no single line; it is refused before it fills the memory."""

DEAD_SIDE_DB = 12.0
"""A channel this far under the other holds no voice (a headset's unused side): it is left out."""

_SAMPLE_BYTES = 4
_FULL_SCALE = float(1 << 31)
_HEADROOM = 0.5
_AGAINST = -0.5


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """A file's sound. sound: (n,) at 48 kHz. recorded: (m, channels) at file_rate, untouched."""

    path: Path
    sound: Samples
    recorded: Signal
    file_rate: int


def bring_in(path: Path) -> Recording:
    """Return the whole sound of a file; raises AudioError where there is none or too much."""
    source = open_audio(path)
    recorded = _whole(replace(source, sample_rate=source.file_rate))
    at_our_rate = recorded if source.file_rate == SAMPLE_RATE else _whole(source)
    return Recording(path, mono_of(at_our_rate), recorded, source.file_rate)


def mono_of(sound: Signal) -> Samples:
    """Return (n, channels) as one channel without a constant offset: one side, or their mean."""
    segment = _segment(sound * np.float32(_HEADROOM))
    side = side_with_voice(sound)
    if side is not None:
        segment = segment.split_to_mono()[side]
    return _samples(segment.set_channels(1).remove_dc_offset()) / np.float32(_HEADROOM)


def side_with_voice(sound: Signal) -> int | None:
    """Return the one channel that is to be taken, None where the mean of all is.

    A side that is silent is left out, and so is one that is the other turned over: their
    mean would be nothing.
    """
    if sound.shape[1] == 1:
        return None
    powers = np.einsum("nc,nc->c", sound, sound, dtype=np.float64)
    shared = float(np.einsum("n,n->", sound[:, 0], sound[:, 1], dtype=np.float64))
    dead = powers.min() < powers.max() * 10 ** (-DEAD_SIDE_DB / 10)
    opposed = shared < _AGAINST * float(np.sqrt(powers[0] * powers[1]))
    return int(np.argmax(powers)) if dead or opposed else None


def cut(
    sound: Samples, start_ms: int, end_ms: int, *, fade_in_ms: int, fade_out_ms: int
) -> Samples:
    """Return a stretch of a sound, its ends faded; what lies outside the sound is left out."""
    peak = max(1.0, float(np.abs(sound).max(initial=0.0)))
    piece = _segment(sound / np.float32(peak))[max(0, start_ms) : max(0, end_ms)]
    faded = piece.fade_in(fade_in_ms).fade_out(fade_out_ms)
    return _samples(faded) * np.float32(peak)


def read_wav(path: Path) -> tuple[Samples, int]:
    """Return a WAV file as one channel, (n,) float32, at its own rate; AudioError for no WAV."""
    try:
        segment = AudioSegment.from_wav(str(path)).set_channels(1)
    except (OSError, EOFError, ValueError, CouldntDecodeError) as bad:
        raise AudioError(f"this is no WAV file: {bad}", where=Where(file=str(path))) from None
    full_scale = float(1 << (8 * segment.sample_width - 1))
    sound = np.array(segment.get_array_of_samples(), dtype=np.float32) / np.float32(full_scale)
    return sound, int(segment.frame_rate)


def write_wav(path: Path, sound: Signal, rate: int) -> None:
    """Write (n, channels) to a WAV file of 32-bit samples, which is opened where it stands."""
    with path.open("wb") as file:
        _segment(sound, rate).export(file, format="wav")


def _whole(source: AudioSource) -> Signal:
    """Return a file's sound, no more than LONGEST_S of it."""
    blocks, length = [], 0
    for block in source.blocks():
        blocks.append(block)
        length += len(block)
        if length > LONGEST_S * source.sample_rate:
            raise AudioError(
                f"lasts more than {LONGEST_S} s, too long for one line",
                where=Where(file=str(source.path)),
                remedy="Cut it into one file a line: `cuegen takes cut` does so at its pauses.",
            )
    return np.concatenate(blocks)


def _segment(sound: Signal, rate: int = SAMPLE_RATE) -> Any:
    whole = np.clip(np.rint(sound * np.float64(_FULL_SCALE)), -_FULL_SCALE, _FULL_SCALE - 1)
    return AudioSegment(
        data=whole.astype("<i4").tobytes(),
        sample_width=_SAMPLE_BYTES,
        frame_rate=rate,
        channels=1 if sound.ndim == 1 else sound.shape[1],
    )


def _samples(segment: Any) -> Samples:
    whole = np.frombuffer(segment.raw_data, dtype="<i4")
    return np.asarray(whole / _FULL_SCALE, dtype=np.float32)
