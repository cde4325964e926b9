"""Where a track is digital silence for so long that its frames need no encoder.

Conventions
    Frames of one encoder, counted from the start of the samples given; spans are
    (first, stop), stop excluded. Still is what is zero in every channel.

A track of the voice alone is silent for two thirds of its time, and libmp3lame works
nearly as hard on silence as on speech (measured: a 25-minute track took 17.9 s of one
core, and 8.4 s without its silences). All still frames far enough from any sound are the
same packet, so one is encoded and repeated. Of one channel only: with two, libmp3lame's
choice between their sum and themselves outlives the sound (seen: silence after speech on
one side alone had other packets than silence after none).
"""

from __future__ import annotations

import numpy as np

from cuegen.dsp.signal import Signal

MARGIN_FRAMES = 4
"""Still frames on either side of a sound that are encoded: what an encoder remembers and looks
ahead reaches two (cuegen.mix.chunks)."""

END_FRAMES = 8
"""Frames at both ends that are always encoded, since what lies beyond is not known here."""

LEAST_GAP = 20
"""A shorter silence is not worth a new encoder."""


def sounding(samples: Signal, frame: int) -> list[tuple[int, int]]:
    """Return the spans of frames to encode of samples (n, channels), in order, none touching.

    The first begins at 0 and the last ends with the last frame, a broken one included.
    """
    count = -(-len(samples) // frame)
    if samples.shape[1] > 1:
        return [(0, count)]
    whole = len(samples) // frame
    heard = np.ones(count, dtype=np.bool_)
    frames = samples[: whole * frame].reshape(whole, frame * samples.shape[1])
    heard[:whole] = (frames != 0).any(axis=1)
    heard[:END_FRAMES] = heard[max(0, count - END_FRAMES) :] = True
    spread = np.convolve(heard, np.ones(2 * MARGIN_FRAMES + 1))
    near = spread[MARGIN_FRAMES : MARGIN_FRAMES + count] > 0
    edges = np.flatnonzero(np.diff(near.astype(np.int8), prepend=0, append=0)).reshape(-1, 2)
    spans: list[tuple[int, int]] = []
    for first, stop in edges.tolist():
        if spans and first - spans[-1][1] < LEAST_GAP:
            spans[-1] = (spans[-1][0], stop)
        else:
            spans.append((first, stop))
    return spans
