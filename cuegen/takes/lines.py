"""The lines of a sheet that can be recorded: each once, with the room it has.

Conventions
    A line that is said several times is one take and must fit the narrowest of its
    places. Room is from a clip's start to the next one's, less the gap that the rules
    of placement want between them; a finished clip is a little longer than its words
    (10 ms before them, at most 40 ms after). A floating line ends before a quiet
    begins. Where a sheet edited by hand leaves less, its own length is the room. When
    a plan is made with takes, floating lines move to make room; firm ones never do.

    Numbers count from 1 in the order in which lines are first said. Those of a list
    that was written before are kept (`numbers`), and new lines go on from its highest.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cuegen.schedule.cuesheet import GAP_MS, Cue, CueSheet
from cuegen.script.kinds import CueKind
from cuegen.sheet.wording import one_line, rowing_clock
from cuegen.takes.names import take_name, words_key


@dataclass(frozen=True, slots=True)
class TakeLine:
    """One line to record.

    longest_ms: how long a finished take of it may last where the sheet stays as it is.
    firm_ms: how long at most, whatever else moves; None where it is never a firm cue.
    about_ms: how long the voice takes for it. cues: ids of the cues that say it; at: when,
    on the rowing clock.
    """

    number: int
    name: str
    text: str
    longest_ms: int
    firm_ms: int | None
    about_ms: int
    cues: tuple[str, ...]
    at: tuple[str, ...]

    @property
    def key(self) -> str:
        return words_key(self.text)


def lines_to_record(
    sheet: CueSheet, numbers: Mapping[str, int] | None = None
) -> tuple[TakeLine, ...]:
    """Return every line of a sheet once, in the order of its first saying.

    numbers: those given before, by the key of a line's words. Cues without a word that
    could be recorded ("...") are no lines.
    """
    given = dict(numbers or {})
    said: dict[str, list[int]] = {}
    for index, cue in enumerate(sheet.cues):
        if words_key(cue.text):
            said.setdefault(words_key(cue.text), []).append(index)
    free = max(given.values(), default=0)
    lines = []
    for key, places in said.items():
        if key not in given:
            free += 1
            given[key] = free
        lines.append(_line(sheet, given[key], places))
    return tuple(lines)


def _line(sheet: CueSheet, number: int, places: list[int]) -> TakeLine:
    cues = [sheet.cues[index] for index in places]
    return TakeLine(
        number=number,
        name=take_name(cues[0].text),
        text=one_line(cues[0].text),
        longest_ms=min(room_ms(sheet, index) for index in places),
        firm_ms=min((firm_room_ms(sheet, i) for i in places if sheet.cues[i].firm), default=None),
        about_ms=max(cue.end_ms - cue.start_ms for cue in cues),
        cues=tuple(cue.id for cue in cues),
        at=tuple(rowing_clock(sheet, cue.at_ms) for cue in cues),
    )


def room_ms(sheet: CueSheet, index: int) -> int:
    """Return how long the clip of a cue may last where it stands."""
    cue = sheet.cues[index]
    ends = [sheet.duration_ms]
    if index + 1 < len(sheet.cues):
        after = sheet.cues[index + 1]
        ends.append(after.start_ms - (0 if _in_one_count(cue, after) else GAP_MS))
    if not cue.firm:
        ends += [span.start_ms for span in sheet.quiet if span.start_ms >= cue.end_ms]
    return max(min(ends), cue.end_ms) - cue.start_ms


def firm_room_ms(sheet: CueSheet, index: int) -> int:
    """Return how long the clip of a firm cue may last at most: until the next firm one."""
    cue = sheet.cues[index]
    after = next((later for later in sheet.cues[index + 1 :] if later.firm), None)
    if after is None:
        return sheet.duration_ms - cue.start_ms
    end_ms = after.start_ms - (0 if _in_one_count(cue, after) else GAP_MS)
    return max(end_ms, cue.end_ms) - cue.start_ms


def _in_one_count(cue: Cue, after: Cue) -> bool:
    return cue.firm and after.firm and CueKind.BEAT in (cue.kind, after.kind)
