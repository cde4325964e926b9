"""How a sheet's facts are worded wherever people read them: clock, rate, target, length.

Conventions
    The rowing clock starts at the first stroke: track time less the lead-in, so
    that the opening lines carry a minus ("-0:25"). It is what the machine's own
    display shows. The track clock counts from the first sample of the file.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, replace

from cuegen.clock import clock_text, split_text
from cuegen.schedule.cuesheet import CueSheet, SheetSegment
from cuegen.script.kinds import CueKind

PACE_SPREAD_PCT = 2
"""By how much a rower's pace is let off the reckoned one when an end is shown as a span."""


_TURNS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Characters that turn the order in which others are shown (Unicode's UAX 9, section 2)."""


def one_line(text: str) -> str:
    """Return a text without line breaks or control characters, its spaces single.

    Marks that turn the order of reading go too: they would turn what stands around
    the text as well. Writing from right to left does not need them.
    """
    plain = "".join(" " if unicodedata.category(ch) == "Cc" else ch for ch in text)
    return " ".join("".join(ch for ch in plain if ch not in _TURNS).split())


def rowing_clock(sheet: CueSheet, track_ms: int) -> str:
    """Return an instant of the track on the rowing clock: "-0:25", "12:30", "1:02:00"."""
    ms = track_ms - sheet.lead_in_ms
    if ms >= 0:
        return clock_text(ms)
    before = clock_text(-ms)
    return before if before == "0:00" else f"-{before}"


def audience_words(sheet: CueSheet) -> str:
    """Return whom the sheet speaks to: "a group", "one rower"."""
    return {"group": "a group", "solo": "one rower"}.get(sheet.audience, one_line(sheet.audience))


def rate_words(segment: SheetSegment) -> str:
    """Return "20", "18-20", or nothing where the plan names no rate."""
    return segment.rate or ""


def target_words(segment: SheetSegment) -> str:
    """Return what to hold: the split, else the effort, else nothing for a rest."""
    if segment.split_ms is not None:
        return split_text(segment.split_ms)
    return f"{segment.effort_pct} % effort" if segment.effort_pct else ""


def length_words(segment: SheetSegment) -> str:
    """Return "4:00", or "750 m" where the plan gives metres."""
    if segment.distance_m is not None:
        return f"{segment.distance_m} m"
    return clock_text(segment.end_ms - segment.start_ms)


def end_spreads(sheet: CueSheet) -> tuple[int, ...]:
    """Return, for each segment, by how many ms its end moves at 2 % off the reckoned pace.

    Only metres stretch with the pace, so timed segments pass on what the
    distance pieces before them have gathered. Rounded once, half up.
    """
    gathered = 0
    spreads = []
    for segment in sheet.segments:
        if segment.distance_m is not None:
            gathered += segment.end_ms - segment.start_ms
        spreads.append((gathered * PACE_SPREAD_PCT + 50) // 100)
    return tuple(spreads)


def end_words(sheet: CueSheet, index: int) -> str:
    """Return when a segment ends: "8:00", or "about 8:00 (7:56 to 8:04)" after metres."""
    end_ms = sheet.segments[index].end_ms
    spread = end_spreads(sheet)[index]
    if not spread:
        return rowing_clock(sheet, end_ms)
    early, late = rowing_clock(sheet, end_ms - spread), rowing_clock(sheet, end_ms + spread)
    return f"about {rowing_clock(sheet, end_ms)} ({early} to {late})"


@dataclass(frozen=True, slots=True)
class ScriptLine:
    """A line of the script as people read it. A count's beats are one line, "3, 2, 1"."""

    at_ms: int
    firm: bool
    text: str
    segment: int
    kind: CueKind


def script_lines(sheet: CueSheet) -> tuple[ScriptLine, ...]:
    """Return what is said, in order of time, each count gathered into one line."""
    lines: list[ScriptLine] = []
    in_count = False
    for cue in sheet.cues:
        is_beat = cue.kind is CueKind.BEAT
        words = one_line(cue.text)
        if is_beat and in_count:
            begun = lines.pop()
            words = f"{begun.text.rstrip('.,!')}, {words[:1].lower()}{words[1:]}"
            lines.append(replace(begun, text=words))
        else:
            lines.append(ScriptLine(cue.at_ms, cue.firm, words, cue.segment, cue.kind))
        in_count = is_beat
    return tuple(lines)
