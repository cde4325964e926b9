"""Captions and chapters beside the track, as WebVTT.

Source: W3C WebVTT: The Web Video Text Tracks Format. Captions are "WebVTT
caption or subtitle cue text", chapters "WebVTT chapter title text"; timestamps
have hours of two digits and three decimals; `&`, `<` and `>` are written as
character references, so that no payload holds `-->`; identifiers are unique.
Times are track time: a caption stands for as long as its clip is spoken.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cuegen.clock import stamp_text
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.wording import one_line

OPENING = "Opening"
CLOSING = "Closing"


@dataclass(frozen=True, slots=True)
class Chapter:
    start_ms: int
    end_ms: int
    title: str


def chapters_of(sheet: CueSheet) -> tuple[Chapter, ...]:
    """Return the opening, the segments and the closing words, touching, in order."""
    chapters = [Chapter(0, sheet.lead_in_ms, OPENING)]
    chapters += [
        Chapter(s.start_ms, s.end_ms, one_line(s.label) or s.kind.value) for s in sheet.segments
    ]
    chapters.append(Chapter(sheet.row_end_ms, sheet.duration_ms, CLOSING))
    return tuple(chapter for chapter in chapters if chapter.end_ms > chapter.start_ms)


def captions_text(sheet: CueSheet) -> str:
    """Return every line of the sheet as a caption."""
    names = _unique_names([cue.id for cue in sheet.cues])
    blocks = [_head(sheet)]
    for name, cue in zip(names, sheet.cues, strict=True):
        blocks.append(_block(name, cue.start_ms, cue.end_ms, cue.text))
    return "\n\n".join(blocks) + "\n"


def chapters_text(sheet: CueSheet) -> str:
    """Return the chapters as a chapter file."""
    blocks = [_head(sheet)]
    for number, chapter in enumerate(chapters_of(sheet), 1):
        name = f"chapter-{number}"
        blocks.append(_block(name, chapter.start_ms, chapter.end_ms, chapter.title))
    return "\n\n".join(blocks) + "\n"


def _head(sheet: CueSheet) -> str:
    title = one_line(sheet.title)
    return f"WEBVTT\n\nNOTE {_without_arrow(title)}" if title else "WEBVTT"


def _block(name: str, start_ms: int, end_ms: int, words: str) -> str:
    timing = f"{stamp_text(start_ms)} --> {stamp_text(end_ms)}"
    return f"{name}\n{timing}\n{_escape(one_line(words))}"


def _escape(words: str) -> str:
    return words.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _without_arrow(text: str) -> str:
    return text.replace("-->", "→")


def _unique_names(ids: list[str]) -> Iterator[str]:
    """Yield ids fit to be identifiers: on one line, without an arrow, none twice."""
    taken: set[str] = set()
    for cue_id in ids:
        name = plain = _without_arrow(one_line(cue_id)) or "cue"
        count = 1
        while name in taken:
            count += 1
            name = f"{plain} ({count})"
        taken.add(name)
        yield name
