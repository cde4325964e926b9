"""The prompter page: what a coach says from, live or into a recording, a line at a time.

One HTML file that asks for nothing from any network. It shows the line in hand large with
the seconds until it, the one after it smaller, counts firm calls in, and runs a bar beside
a line while it lasts. The policy allows the one script and the one style by their SHA-256
(W3C Content Security Policy Level 3); people's words are escaped, in page and data alike.

Conventions
    Instants are milliseconds of the track. A line begins at its `at_ms`, the instant of
    its first word, and may last until its `end_ms`. A count and the call that it leads to
    are one line, said in one breath; `beats` are the instants of its parts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cuegen.files import write_text
from cuegen.pages.hall import head_facts, parts
from cuegen.schedule.cuesheet import Cue, CueSheet
from cuegen.script.kinds import CueKind
from cuegen.sheet.cautions import CAUTIONS
from cuegen.sheet.page import Dark, fill_page
from cuegen.sheet.wording import one_line, rowing_clock

TONE_CAUTION = (
    "A tone close to the ear needs little: begin at the softest, and keep the other ear free "
    "for the hall. Loud sound over a long time harms hearing."
)

CALL_AFTER_MS = 2_000
"""A firm line no later than this after a count's last beat is what the count leads to."""

_SCRIPTS = ("running.js", "prompter_tones.js", "prompter.js")


@dataclass(frozen=True, slots=True)
class PromptLine:
    """A line to say. beats: where it is a count, the instants of the beats and of the call.

    part: the index of the part of the session in which it begins.
    """

    at_ms: int
    end_ms: int
    clock: str
    text: str
    firm: bool
    part: int
    beats: tuple[int, ...] = ()


def prompter_page(sheet: CueSheet, printed: str | None = None) -> str:
    """Return the page. printed: the address of the printed sheet, where there is one."""
    return fill_page(
        "prompter.html.jinja",
        "screen.css",
        "prompter.css",
        dark=Dark.CHOSEN,
        scripts=_SCRIPTS,
        **head_facts(sheet),
        parts=parts(sheet),
        lines=prompt_lines(sheet),
        cautions=tuple(caution.replace("this sheet", "this page") for caution in CAUTIONS),
        tone_caution=TONE_CAUTION,
        printed=printed,
        session=_session(sheet),
    )


def save_prompter_page(sheet: CueSheet, path: Path | str, printed: str | None = None) -> None:
    """Write the page, whole or not at all. Raises OutputError."""
    write_text(Path(path), prompter_page(sheet, printed))


def prompt_lines(sheet: CueSheet) -> tuple[PromptLine, ...]:
    """Return what is to be said, in order of time, each count with its call as one line."""
    starts = [part.start_ms for part in parts(sheet)]
    return tuple(_line(sheet, cues, starts) for cues in _breaths(sheet))


def _breaths(sheet: CueSheet) -> Iterator[list[Cue]]:
    """Yield the cues that are said in one breath."""
    held: list[Cue] = []
    for cue in sheet.cues:
        if held and not _goes_on(held, cue):
            yield held
            held = []
        held.append(cue)
    if held:
        yield held


def _goes_on(held: list[Cue], cue: Cue) -> bool:
    """Return whether a cue is the next beat of a count, or the call that it leads to."""
    last = held[-1]
    is_near = cue.firm and cue.at_ms - last.at_ms <= CALL_AFTER_MS
    return last.kind is CueKind.BEAT and is_near


def _line(sheet: CueSheet, cues: list[Cue], starts: list[int]) -> PromptLine:
    first = cues[0]
    return PromptLine(
        at_ms=first.at_ms,
        end_ms=cues[-1].end_ms,
        clock=rowing_clock(sheet, first.at_ms),
        text=_words(cues),
        firm=first.firm,
        part=max(0, sum(start <= first.at_ms for start in starts) - 1),
        beats=tuple(cue.at_ms for cue in cues) if len(cues) > 1 else (),
    )


def _words(cues: list[Cue]) -> str:
    """Return what is said: "Three, two, one. Go, rate eighteen." """
    texts = [one_line(cue.text) for cue in cues]
    counted = [text for cue, text in zip(cues, texts, strict=True) if cue.kind is CueKind.BEAT]
    if len(counted) < 2:
        return " ".join(texts)
    beats = [counted[0], *(text[:1].lower() + text[1:] for text in counted[1:])]
    count = ", ".join(beat.rstrip(".,!") for beat in beats)
    return " ".join([f"{count}.", *texts[len(counted) :]])


def _session(sheet: CueSheet) -> dict[str, object]:
    """Return what the script reads."""
    return {
        "durationMs": sheet.duration_ms,
        "leadInMs": sheet.lead_in_ms,
        "rowEndMs": sheet.row_end_ms,
        "parts": [
            {"startMs": part.start_ms, "endMs": part.end_ms, "brief": part.brief,
             "about": part.about}
            for part in parts(sheet)
        ],
        "lines": [
            {"atMs": line.at_ms, "endMs": line.end_ms, "text": line.text, "firm": line.firm,
             "beats": line.beats}
            for line in prompt_lines(sheet)
        ],
    }  # fmt: skip
