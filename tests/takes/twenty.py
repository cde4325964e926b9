"""Twenty lines of a session, and a sheet that says them."""

from __future__ import annotations

from itertools import accumulate

from cuegen.schedule.cuesheet import CueSheet
from cuegen.script.candidate import Line
from cuegen.script.kinds import CueKind
from cuegen.voice.booth import Booth
from tests.takes.sheets import cue, sheet

TWENTY = (
    "Good morning, and take your seats.",
    "Stop if you feel chest pain, dizziness or unusual breathlessness.",
    "Three.",
    "Two.",
    "One.",
    "Go.",
    "Find rate eighteen, easy and loose.",
    "Next, four minutes at rate twenty. Aim for two fourteen.",
    "Push evenly, each stroke the same.",
    "Keep the path of the handle as flat as a table.",
    "Rate up, twenty.",
    "Settle here, and let the shoulders hang.",
    "Two minutes left.",
    "One minute left.",
    "Shins upright, then drive the erg away.",
    "Halfway. You know this one now.",
    "Hold two oh four point five.",
    "If you have more, take a second off.",
    "Ten seconds, and then we paddle.",
    "And easy. Write your splits down.",
)
SPARE_MS = 1_500
"""Room that each line has beside its own length and the gap."""


def twenty_sheet(booth: Booth, texts: tuple[str, ...] = TWENTY, voice: str = "small") -> CueSheet:
    """Return a sheet that says lines one after the other, whose voice is not the coach's."""
    lengths = [booth.length_ms(Line(text)) for text in texts]
    starts = accumulate((length + 400 + SPARE_MS for length in lengths), initial=1_000)
    cues = [
        cue(f"c{n:02d}", text, start, length, CueKind.OWN)
        for n, (text, start, length) in enumerate(zip(texts, starts, lengths, strict=False))
    ]
    return sheet(*cues, voice=voice, duration_ms=cues[-1].end_ms + 20_000)
