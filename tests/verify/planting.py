"""Planted faults: a sheet is changed, rendered, and verified against the one that was meant."""

from __future__ import annotations

import atexit
from functools import cache
from pathlib import Path

from cuegen.hearing.ears import Ears
from cuegen.mix.render import render
from cuegen.schedule.cuesheet import Cue, CueSheet
from cuegen.verify.listening import listen
from cuegen.verify.report import Check, ListeningReport
from cuegen.voice.clip import Speaker


@cache
def open_ears() -> Ears:
    """Return ears that serve all tests of this process; to start some for each takes longer."""
    ears = Ears(1)
    ears.__enter__()
    atexit.register(ears.close)
    return ears


def heard(
    rendered: CueSheet, planned: CueSheet, speaker: Speaker, folder: Path, suffix: str = ".wav"
) -> ListeningReport:
    """Render one sheet and verify it against another."""
    track = folder / f"track{suffix}"
    render(rendered, speaker, track)
    return listen(track, planned, speaker, ears=open_ears())


def moved(cue: Cue, by_ms: int) -> Cue:
    return cue.model_copy(
        update={
            "at_ms": cue.at_ms + by_ms,
            "start_ms": cue.start_ms + by_ms,
            "end_ms": cue.end_ms + by_ms,
        }
    )


def with_cues(sheet: CueSheet, cues: list[Cue]) -> CueSheet:
    return sheet.model_copy(update={"cues": tuple(cues)})


def replaced(sheet: CueSheet, cue: Cue, by: Cue | None) -> CueSheet:
    """Return the sheet with one cue changed, or without it."""
    new = [by if one.id == cue.id else one for one in sheet.cues]
    return with_cues(sheet, [one for one in new if one is not None])


def found(report: ListeningReport) -> set[tuple[Check, str | None]]:
    """Return which checks failed, on which cues."""
    return {(fault.check, fault.cue) for fault in report.faults}
