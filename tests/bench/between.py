"""A bed heard in a finished file where nobody speaks: between lines, and right before them.

Conventions
    Loudness by libebur128, in LU against speech: the gated loudness of all lines that
    last a meter's block and more, as they lie in the same file. Between lines the bed is held to
    its target; before each line, in the BEFORE_MS that end where its clip begins, to the
    loudness of speech.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from cuegen.clock import samples_at
from cuegen.dsp.decode import open_audio
from cuegen.mix.bed import FADE_IN_MS, in_the_open_db
from cuegen.mix.ducking import READY_MS, Span, spans_of
from cuegen.schedule.cuesheet import CueSheet
from tests.mix.beds import Part, lines_of, meter, open_inner

BEFORE_MS = READY_MS - 20
"""Codecs smear a sound some milliseconds ahead of itself."""


@dataclass(frozen=True, slots=True)
class Between:
    """off_lu: how far the bed is from its target between lines, at worst, either way.

    ahead_lu: how near it is to speech right before a line, at worst; negative is under it.
    """

    off_lu: float
    ahead_lu: float


def heard_between(track: Path, sheet: CueSheet) -> Between:
    """Measure a finished track of a sheet with a bed and no stroke tones."""
    spans, before = spans_of(sheet), samples_at(BEFORE_MS)
    between = [Part(each) for each in open_inner(sheet)]
    ahead = [
        Part(Span(each.start - before, each.start))
        for each in spans
        if each.start > samples_at(FADE_IN_MS)
    ]
    speech = Part(*lines_of(sheet))
    meter(open_audio(track).blocks(), [*between, *ahead, speech])
    said, wanted = speech.lufs(), in_the_open_db(spans, samples_at(sheet.duration_ms))
    return Between(
        off_lu=max(abs(part.lufs() - said + wanted) for part in between),
        ahead_lu=max(part.lufs() - said for part in ahead),
    )
