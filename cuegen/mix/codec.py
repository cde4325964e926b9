"""One of FFmpeg's encoders: opened for a format, and samples as it takes them."""

from __future__ import annotations

from fractions import Fraction

import av
import numpy as np
from numpy.typing import NDArray

from cuegen.clock import SAMPLE_RATE
from cuegen.dsp.dither import quantised
from cuegen.dsp.signal import Signal
from cuegen.mix.formats import Format

LAYOUTS = {1: "mono", 2: "stereo"}


def open_codec(form: Format, channels: int) -> av.AudioCodecContext:
    """Return an encoder that stands by itself, with the settings of a track's."""
    codec = av.CodecContext.create(form.codec, "w")
    assert isinstance(codec, av.AudioCodecContext), "every codec of the table is an audio codec"
    codec.sample_rate = SAMPLE_RATE
    codec.time_base = Fraction(1, SAMPLE_RATE)
    set_up(codec, form, channels)
    codec.open()
    return codec


def set_up(codec: av.AudioCodecContext, form: Format, channels: int) -> None:
    """Give an encoder that is not yet open what its format asks for."""
    codec.layout = LAYOUTS[channels]
    # Left unsaid, FFmpeg takes the first that the codec knows, and rounds: opus to 16 bits.
    codec.format = form.sample_format
    codec.options = dict(form.codec_options)
    if channels in form.bit_rates:
        codec.bit_rate = form.bit_rates[channels]


def check_channels(block: Signal, channels: int) -> None:
    """Raise ValueError where a block has other channels than its track."""
    if block.shape[1] != channels:
        raise ValueError(f"a block of {block.shape[1]} channels for a track of {channels}")


def frame_of(block: Signal, form: Format, channels: int, at: int) -> av.AudioFrame:
    """Return a block for the encoder; `at` is the index of its first sample in the track.

    Raises ValueError where the block has other channels than the track.
    """
    check_channels(block, channels)
    frame = av.AudioFrame.from_ndarray(
        _as_taken(block, form, at), format=form.sample_format, layout=LAYOUTS[channels]
    )
    frame.sample_rate = SAMPLE_RATE
    frame.time_base = Fraction(1, SAMPLE_RATE)
    frame.pts = at
    return frame


def _as_taken(block: Signal, form: Format, at: int) -> NDArray[np.float32] | NDArray[np.int16]:
    """Return the block as the encoder takes it: planes, or samples by turns."""
    levelled: Signal = block
    if form.encoder_gain != 1.0:
        levelled = block / np.float32(form.encoder_gain)
    if form.sample_format == "s16":
        return quantised(levelled, at).reshape(1, -1)
    if form.sample_format == "flt":
        return np.ascontiguousarray(levelled, dtype=np.float32).reshape(1, -1)
    planes: Signal = np.ascontiguousarray(levelled.T, dtype=np.float32)
    return planes
