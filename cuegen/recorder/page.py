"""The recorder's page: a line at a time, said, heard again, kept.

It is filled like every page (cuegen.sheet.page). Its script and the sound worklet are
files of the same server, so that its policy allows nothing but that server and one style.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from cuegen.recorder.rules import MOST_BYTES, MOST_TAKE_S, What
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.page import Dark, fill_page, script_of
from cuegen.sheet.wording import one_line
from cuegen.takes.lines import TakeLine
from cuegen.takes.listing import seconds, times_text

EAR_CAUTION = (
    "Begin low when you play a take back, and keep the microphone away from a loudspeaker: the "
    "two can howl, and loud sound harms hearing."
)

_FILES = {
    What.SCRIPT: ("running.js", "recorder_sound.js", "recorder.js"),
    What.CAPTURE: ("recorder_capture.js",),
}


def recorder_page(
    sheet: CueSheet, lines: Sequence[TakeLine], recorded: Collection[int], folder: str
) -> str:
    """Return the page. recorded: numbers of the lines that have a take. folder: its name."""
    return fill_page(
        "recorder.html.jinja",
        "screen.css",
        "recorder.css",
        dark=Dark.CHOSEN,
        language="en",
        spoken_language=one_line(sheet.sound.language),
        title=one_line(sheet.title),
        folder=one_line(folder),
        lines=lines,
        recorded=recorded,
        caution=EAR_CAUTION,
        facts={
            "mostTakeS": MOST_TAKE_S,
            "mostBytes": MOST_BYTES,
            "lines": [_line(line, line.number in recorded) for line in lines],
        },
    )


def script(what: What) -> str:
    """Return a script that the page loads."""
    return script_of(*_FILES[what])


def _line(line: TakeLine, is_recorded: bool) -> dict[str, object]:
    return {
        "number": line.number,
        "text": line.text,
        "longestMs": line.longest_ms,
        "aboutMs": line.about_ms,
        "longest": seconds(line.longest_ms),
        "about": seconds(line.about_ms),
        "at": times_text(line),
        "recorded": is_recorded,
    }
