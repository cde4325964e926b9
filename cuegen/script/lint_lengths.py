"""How long a phrase may last, and how long it does.

Conventions
    A line of one phrase is held to the length of a long form, of two to those of a
    long and a short one. A phrase with an `if` lasts as long as the longest it says.

Sources
    SLOTS: our own judgement, from the room that the script leaves.
        firm calls: LINE_ROOM_MS (2.5 s) is free at a boundary before a count may
            begin; 1.8 s leaves a gap, or the halfway call behind it. A short form of
            0.9 s stands even where beats a second apart come next.
        finish: nothing firm follows the last stroke.
        get-ready, time-left, distance-left: the call at ten seconds has 5.5 s before
            a count of three; 3.5 s leaves room to move.
        explanations, goals, the welcome: heard where there is time, and half of nine
            seconds is about what is remembered of a longer one (common practice, no
            source).
        targets, holds: a short form of four seconds, for a group hears two readings.
        caution: has five signs to name and two people to defer to.
    The estimate: least squares over 800 phrases of the plain book as the voice
        `natural` speaks them (hibari-tts 0.2.1). Over 800 others it is 4.6 % off in the
        median, 19 in 20 times within ESTIMATE_ERROR_MS; letters fit better than
        syllables (6.6 % off). The voice `piper` keeps nearly the same pace, `small` is a
        tenth slower. For other languages it is a rough guide.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from cuegen.clock import MS_PER_S
from cuegen.script.book import BookLine
from cuegen.script.kinds import CUE_KINDS, CueKind
from cuegen.script.lint_subject import Form, Found, Said, Severity, Subject

BASE_MS = 90
LETTER_MS = 60
PAUSE_MS = 205
STOP_MS = 740
"""An estimate is the sum of these: a full stop inside a phrase costs as much as two words."""

ESTIMATE_ERROR_MS = 340
"""What an estimate may be off; by less than this over its slot, nothing is said."""

ORDER_SLACK_MS = 100
"""A form this little longer than the one before it is as good as no longer."""

_PAUSES = re.compile(r"[,;:]")
_STOPS = re.compile(r"[.?!](?=\s)")


@dataclass(frozen=True, slots=True)
class Slot:
    """The most milliseconds that each form of a line may last."""

    long: int
    medium: int
    short: int

    def limit(self, form: Form) -> int:
        return {Form.LONG: self.long, Form.MEDIUM: self.medium, Form.SHORT: self.short}[form]


BOUNDARY_ROOM_MS = 2_100
"""LINE_ROOM_MS less a gap: what a count-in by default leaves a firm line at the least."""

FIRM_SLOT = Slot(1_800, 1_300, 900)
FLOATING_SLOT = Slot(7_000, 5_000, 3_500)
_CALL = Slot(3_500, 3_000, 2_500)
_TOLD = Slot(9_000, 6_000, 4_000)

SLOTS: dict[tuple[CueKind, str | None], Slot] = {
    (CueKind.BEAT, None): Slot(900, 900, 900),
    (CueKind.FINISH, None): Slot(3_000, 2_000, 1_500),
    (CueKind.GET_READY, None): _CALL,
    (CueKind.TIME_LEFT, None): _CALL,
    (CueKind.DISTANCE_LEFT, None): _CALL,
    (CueKind.TECHNIQUE, "explain"): _TOLD,
    (CueKind.TECHNIQUE, "deepen"): _TOLD,
    (CueKind.GOAL, None): _TOLD,
    (CueKind.WELCOME, None): _TOLD,
    (CueKind.TARGET, None): Slot(7_000, 5_500, 4_000),
    (CueKind.HOLD, None): Slot(7_000, 5_500, 4_000),
    (CueKind.CAUTION, None): Slot(13_000, 9_000, 6_000),
}
"""Kinds, and cases of them, with slots of their own; the rest are FIRM_SLOT or FLOATING_SLOT."""


def slot_of(line: BookLine) -> Slot:
    """Return the slot of a line's kind and case."""
    own = SLOTS.get((line.kind, line.when)) or SLOTS.get((line.kind, None))
    return own or (FIRM_SLOT if CUE_KINDS[line.kind].firm else FLOATING_SLOT)


def estimate_ms(text: str) -> int:
    """Return about how long a text lasts at a voice's own pace."""
    letters = sum(sign.isalpha() for sign in text)
    pauses, stops = len(_PAUSES.findall(text)), len(_STOPS.findall(text))
    return BASE_MS + LETTER_MS * letters + PAUSE_MS * pauses + STOP_MS * stops


def lasts_ms(said: Said, subject: Subject) -> int:
    """Return how long a phrase lasts at most, 0 where it says nothing."""
    measure = subject.measure or estimate_ms
    return max((measure(text) for text in said.texts), default=0)


def too_long(subject: Subject) -> Iterator[Found]:
    """Find phrases that last longer than their slot.

    It is an error where a firm line has no form for the room that is kept for it,
    since a plan may then be refused.
    """
    slack, about = (0, "") if subject.measure else (ESTIMATE_ERROR_MS, "about ")
    for said in subject.own:
        lasts, limit = lasts_ms(said, subject), slot_of(said.line).limit(said.form)
        if lasts <= limit + slack:
            continue
        room = MS_PER_S if said.line.kind is CueKind.BEAT else BOUNDARY_ROOM_MS
        refused = _is_last_resort(said) and lasts > room + slack
        yield Found(
            said.where,
            f"this lasts {about}{seconds(lasts)}, over the {seconds(limit)} "
            f"of a {said.form} {_named(said.line)} form",
            severity=Severity.ERROR if refused else None,
        )


def no_shorter(subject: Subject) -> Iterator[Found]:
    """Find forms of a line that last longer than the fuller one before them."""
    for before, after in pairwise(subject.own):
        if after.line is not before.line:
            continue
        fuller, lasts = lasts_ms(before, subject), lasts_ms(after, subject)
        if before.texts and lasts > fuller + ORDER_SLACK_MS:
            yield Found(
                after.where,
                f"this {after.form} form lasts {seconds(lasts)}, "
                f"the {before.form} one only {seconds(fuller)}",
            )


def seconds(ms: int) -> str:
    """Return a length as in `3.45 s`."""
    return f"{ms / MS_PER_S:.2f} s"


def _is_last_resort(said: Said) -> bool:
    """Return whether it is the shortest form of a call that another may follow at once."""
    kind = said.line.kind
    is_followed = CUE_KINDS[kind].firm and kind is not CueKind.FINISH
    return is_followed and said.phrase is said.line.phrases[-1]


def _named(line: BookLine) -> str:
    return f"{line.kind} ({line.when})" if line.when else str(line.kind)
