"""One clip from a file: a take that a coach recorded, or what a system voice wrote.

Conventions
    The result of `bring_in` is float32 mono at 48 kHz, silence cut off at both ends and short
    fades laid over the cuts; loudness is left as it was, since finishing a clip
    (cuegen.voice.clip) levels it.

Decoding is cuegen.dsp.decode; pydub, which needs no FFmpeg for raw samples, trims
and fades. Single clips only: pydub copies the whole sound at each step.
"""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

import numpy as np

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.decode import open_audio
from cuegen.dsp.signal import Signal
from cuegen.errors import AudioError, Where
from cuegen.voice.clip import Samples

with warnings.catch_warnings():
    # Importing pydub warns of a missing ffmpeg program and of audioop's removal
    # in Python 3.13; neither concerns raw samples (3.13 gets audioop-lts).
    warnings.simplefilter("ignore")
    from pydub import AudioSegment
    from pydub.exceptions import CouldntDecodeError
    from pydub.silence import detect_leading_silence

__all__ = ["AudioSegment", "bring_in"]  # whoever needs pydub takes it from here, unwarned

LONGEST_S = 60
"""A longer file is no single line; it is refused before it fills the memory."""

KEEP_MS = 30
"""What is kept before the first and after the last sound."""
FADE_MS = 10
QUIET_UNDER_PEAK_DB = 45.0
"""Silence is what lies this far under the loudest sample or more."""
_FAINTEST_DBFS = -60.0
_STEP_MS = 5
_SAMPLE_BYTES = 4
_FULL_SCALE = float(1 << 31)


def bring_in(path: Path) -> Samples:
    """Return the sound of a file, trimmed; raises AudioError where it holds none or too much."""
    where = Where(file=str(path))
    take = _segment(_mono(path))
    if take.max_dBFS < _FAINTEST_DBFS:
        raise AudioError(
            "this take is silent", where=where, remedy="Record it again, nearer the microphone."
        )
    quiet = take.max_dBFS - QUIET_UNDER_PEAK_DB
    before = detect_leading_silence(take, silence_threshold=quiet, chunk_size=_STEP_MS)
    after = detect_leading_silence(take.reverse(), silence_threshold=quiet, chunk_size=_STEP_MS)
    cut = take[max(0, before - KEEP_MS) : len(take) - max(0, after - KEEP_MS)]
    return _samples(cut.fade_in(FADE_MS).fade_out(FADE_MS))


def read_wav(path: Path) -> tuple[Samples, int]:
    """Return a WAV file as one channel, (n,) float32, at its own rate; AudioError for no WAV."""
    try:
        segment = AudioSegment.from_wav(str(path)).set_channels(1)
    except (OSError, EOFError, ValueError, CouldntDecodeError) as bad:
        raise AudioError(f"this is no WAV file: {bad}", where=Where(file=str(path))) from None
    full_scale = float(1 << (8 * segment.sample_width - 1))
    sound = np.array(segment.get_array_of_samples(), dtype=np.float32) / np.float32(full_scale)
    return sound, int(segment.frame_rate)


def _mono(path: Path) -> Signal:
    """Return a file's sound, its channels averaged; no more than LONGEST_S of it."""
    blocks, length = [], 0
    for block in open_audio(path).blocks():
        blocks.append(block.mean(axis=1, dtype=np.float32))
        length += len(block)
        if length > LONGEST_S * SAMPLE_RATE:
            raise AudioError(
                f"lasts more than {LONGEST_S} s, too long for one line",
                where=Where(file=str(path)),
                remedy="Cut the recording into one file a line.",
            )
    return np.concatenate(blocks)


def _segment(mono: Signal) -> Any:
    whole = np.clip(np.rint(mono * np.float64(_FULL_SCALE)), -_FULL_SCALE, _FULL_SCALE - 1)
    return AudioSegment(
        data=whole.astype("<i4").tobytes(),
        sample_width=_SAMPLE_BYTES,
        frame_rate=SAMPLE_RATE,
        channels=1,
    )


def _samples(segment: Any) -> Samples:
    whole = np.frombuffer(segment.raw_data, dtype="<i4")
    return np.asarray(whole / _FULL_SCALE, dtype=np.float32)
