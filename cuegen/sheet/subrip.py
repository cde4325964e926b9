"""Captions as SubRip (.srt), which players and hosts take that know no WebVTT.

Source: there is no standard; the form is the one that FFmpeg reads (common practice):
a number, `hh:mm:ss,mmm --> hh:mm:ss,mmm`, the words, a blank line. Text that begins like
a tag or a timing is kept from being read as one. Times are track time.
"""

from __future__ import annotations

from cuegen.clock import stamp_text
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.wording import one_line


def to_text(sheet: CueSheet) -> str:
    """Return every line of the sheet as a caption."""
    blocks = [
        f"{number}\n{_stamp(cue.start_ms)} --> {_stamp(cue.end_ms)}\n{_plain(cue.text)}\n"
        for number, cue in enumerate(sheet.cues, start=1)
    ]
    return "\n".join(blocks)


def _stamp(ms: int) -> str:
    return stamp_text(ms).replace(".", ",")


def _plain(text: str) -> str:
    """Return words on one line, without what a reader takes for a tag or a timing."""
    words = one_line(text).replace("-->", "\N{RIGHTWARDS ARROW}")
    # < and { begin tags in the forms that are read in the wild.
    return words.replace("<", "\N{SINGLE LEFT-POINTING ANGLE QUOTATION MARK}").replace("{", "(")
