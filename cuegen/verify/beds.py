"""How far whatever else sounds lies under each line: from all lines of a track together.

Conventions
    Powers are K-weighted mean squares, gated (ITU-R BS.1770), over all channels; what
    is compared is the loudness of a line and that of the rest under it, in dB.
    In a file of a lossy codec, what grows with the speech is coding noise and no bed;
    how much of it there is is one number for a track, the median slope of its lines.
"""

from __future__ import annotations

import math
import statistics
from dataclasses import replace

from cuegen.verify.lines import LineHeard
from cuegen.verify.report import CueVerdict

MOST_DB = 60.0
"""A greater distance is not told apart."""

_MOST_CODING = 10 ** (-18 / 10)
"""No codec of the track formats makes so much (measured: opus -23 dB, mp3 -31 dB)."""
_LONG_MS = 1_000
"""The slopes of shorter lines are rough."""
_LEAST_LEFT = 1e-3


def with_beds(lines: tuple[LineHeard, ...], *, lossy: bool) -> tuple[LineHeard, ...]:
    """Return the lines with `below_db` of those that were found; lossy: as the codec is."""
    coding = _coding(lines) if lossy else 0.0
    return tuple(
        line
        if line.cue.verdict is CueVerdict.MISSING
        else replace(
            line, cue=line.cue.model_copy(update={"below_db": round(_below(line, coding), 1)})
        )
        for line in lines
    )


def overall_below_db(lines: tuple[LineHeard, ...]) -> float | None:
    """Return how far the rest lies under speech in all lines together; lines `with_beds`."""
    found = [line for line in lines if line.cue.below_db is not None]
    rest = sum(
        line.speech_power * line.length_ms * 10 ** (-(line.cue.below_db or 0.0) / 10)
        for line in found
    )
    speech = sum(line.speech_power * line.length_ms for line in found)
    return round(distance_db(speech, rest), 1) if found else None


def distance_db(speech: float, rest: float) -> float:
    """Return how far the rest lies under the speech, at most MOST_DB."""
    return min(MOST_DB, 10 * math.log10(max(speech, 1e-12) / max(rest, 1e-12)))


def _coding(lines: tuple[LineHeard, ...]) -> float:
    found = [line for line in lines if line.cue.verdict is not CueVerdict.MISSING]
    long = [line.coding for line in found if line.length_ms >= _LONG_MS]
    slopes = long or [line.coding for line in found]
    return min(max(statistics.median(slopes), 0.0), _MOST_CODING) if slopes else 0.0


def _below(line: LineHeard, coding: float) -> float:
    return distance_db(line.speech_power, _rest(line, coding))


def _rest(line: LineHeard, coding: float) -> float:
    """Return the power under a line without the coding noise."""
    left = line.rest_power - coding * line.spoken_power
    return max(left, _LEAST_LEFT * line.rest_power)
