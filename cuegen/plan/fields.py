"""The one table of plan fields. Reading, refusing, writing and the docs derive from it.

Contents
    FIELDS         the table, in the order in which a plan is written
    field_table    the same as a Markdown table
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, dataclass, fields
from functools import cache
from typing import Any

from cuegen.plan.field_readers import (
    read_bed,
    read_block,
    read_drop,
    read_pin,
    read_quiet,
    read_rower,
    read_say,
    read_session,
    read_tones,
)
from cuegen.plan.field_writers import (
    Yaml,
    write_bed,
    write_block,
    write_drop,
    write_loudness,
    write_pin,
    write_quiet,
    write_rower,
    write_say,
    write_tones,
)
from cuegen.plan.limits import MAX_TITLE_CHARS
from cuegen.plan.loudness import HIGHEST_LUFS, LOWEST_LUFS, names, read_loudness
from cuegen.plan.model import Audience, Session
from cuegen.plan.notation_text import write_notation
from cuegen.plan.tree import Document, Node
from cuegen.plan.values import (
    choice,
    instant,
    instant_text,
    language,
    share,
    switch,
    whole_number,
    words,
)

DEFAULT_TITLE = "Rowing session"


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a plan.

    read: from its node to the value of `attribute` of Session (`more` names
    further attributes that the same field sets; read then returns a tuple).
    write: from a session to plain YAML data, None where there is nothing to say.
    example: a whole field as it stands in a plan. default: what holds without
    it, in words, where the model's own default does not say it.
    """

    name: str
    read: Callable[[Document, Node], object]
    write: Callable[[Session], Yaml | None]
    help: str
    example: str
    attribute: str = ""
    more: tuple[str, ...] = ()
    default: str = ""

    @property
    def attributes(self) -> tuple[str, ...]:
        """The attributes of Session that this field sets."""
        return (self.attribute or self.name, *self.more)

    def values(self, document: Document, node: Node) -> dict[str, Any]:
        """Return the attributes of Session as the node sets them."""
        value = self.read(document, node)
        several = value if self.more and isinstance(value, tuple) else (value,)
        return dict(zip(self.attributes, several, strict=True))

    def of(self, session: Session) -> tuple[object, ...]:
        """Return the values that a session has for this field."""
        return tuple(getattr(session, name) for name in self.attributes)

    @property
    def default_text(self) -> str:
        """What holds where a plan does not have the field."""
        if self.default:
            return self.default
        written = self.write(Session(title=DEFAULT_TITLE, entries=()))
        return str(written) if written is not None else "none"


FIELDS: tuple[Field, ...] = (
    Field(
        "title",
        words(MAX_TITLE_CHARS),
        lambda session: session.title,
        "what the session is called, on the sheet and in the track's tags",
        "title: Thursday by the slip",
    ),
    Field(
        "audience",
        choice([audience.value for audience in Audience], Audience),
        lambda session: session.audience.value,
        "group (returning rowers and newcomers together) or solo",
        "audience: solo",
    ),
    Field(
        "rower",
        read_rower,
        write_rower,
        "who rows, as the results file spells it; `say` is how the voice speaks the name",
        "rower: {name: Maren Holt, say: Mahren Holt}",
        more=("rower_say",),
    ),
    Field(
        "session",
        read_session,
        lambda session: write_notation(session.entries),
        "the session in whiteboard notation, one entry a line",
        "session: |\n  warm-up 6:00 r18\n  4 x 4:00 r18/20/22/24\n  cool-down 4:00",
        attribute="entries",
        default="required",
    ),
    Field(
        "talk_share",
        share(0.05, 0.8),
        lambda session: session.talk_share,
        "the part of the time in which the voice speaks, 0.05 to 0.8 or 5% to 80%",
        "talk_share: 25%",
    ),
    Field(
        "voice",
        words(),
        lambda session: session.voice,
        "which voice speaks (`cuegen voices` lists them)",
        "voice: small",
    ),
    Field(
        "phrase_book",
        words(),
        lambda session: session.phrase_book,
        "the wordings: a phrase book that comes with cuegen, or a .yaml file beside the plan",
        "phrase_book: our-words.yaml",
    ),
    Field(
        "language",
        language,
        lambda session: session.language,
        "the language that is spoken",
        "language: en-GB",
    ),
    Field(
        "count_in",
        whole_number(0, 10),
        lambda session: session.count_in,
        "how many beats count in a start or a change, 0 to 10",
        "count_in: 5",
    ),
    Field(
        "lead_in",
        instant(600_000),
        lambda session: None if session.lead_in_ms is None else instant_text(session.lead_in_ms),
        "time before the first stroke, for the opening words, up to 10:00",
        "lead_in: 0:45",
        attribute="lead_in_ms",
        default="as long as the opening words need",
    ),
    Field(
        "caution",
        switch,
        lambda session: "on" if session.caution else "off",
        "whether the safety line is spoken at the opening, on or off",
        "caution: off",
    ),
    Field(
        "bed",
        read_bed,
        write_bed,
        "music under the voice: a file or a folder beside the plan, a list of them, or one that "
        "cuegen makes itself (`pulse`: beats on the stroke over chords; `swell`: chords that rise "
        "and fall with it); `below` is how many dB under speech it lies (20 unless given)",
        "bed: {files: [river.mp3, music/], below: 24}",
    ),
    Field(
        "alert",
        switch,
        lambda session: "on" if session.alert else "off",
        "two soft rising tones before a line that breaks a quiet of 4 s or more, on or off: for "
        "a track of the voice alone that is played over a hall's own music",
        "alert: on",
    ),
    Field(
        "stroke_tones",
        read_tones,
        write_tones,
        "guide sounds for the rate, at each catch and finish: none, first-minute (of each step) "
        "or all; with `recovery` a soft rising sound between finish and catch too",
        "stroke_tones: {when: first-minute, recovery: on}",
        more=("recovery_tone",),
    ),
    Field(
        "loudness",
        read_loudness,
        write_loudness,
        f"integrated loudness of the track in LUFS, {LOWEST_LUFS} to {HIGHEST_LUFS}, or where it "
        f"is heard: {names()}",
        "loudness: gym",
        default="-16 stereo, -19 mono",
    ),
    Field(
        "block",
        read_block,
        write_block,
        "the run of weeks this session belongs to, and which week it is",
        "block: {name: Autumn base, week: 3}",
    ),
    Field(
        "say",
        read_say,
        write_say,
        "lines of your own: `at` an instant of the rowing; `after` the start or `before` the end "
        "of a `segment` (breaks count) or of a `piece` of work; or `before` or `after` a `change`, "
        "named by the segment that begins (`change: 3`) or the piece (`change: piece 2`)",
        'say:\n  - {change: piece 2, before: "0:20", text: Think of the next rate.}\n'
        '  - {at: "10:00", text: Half way. Check your posture.}\n'
        '  - {segment: 2, after: "1:00", text: Breathe.}',
    ),
    Field(
        "quiet",
        read_quiet,
        write_quiet,
        "spans in which only firm cues speak",
        'quiet:\n  - 10:00-12:00\n  - {from: "14:00", to: "14:30"}',
    ),
    Field(
        "drop",
        read_drop,
        write_drop,
        "floating cues that are left out, by id (the first column of the CSV sheet) or by kind",
        "drop: [s02.technique.3, settle]",
    ),
    Field(
        "pin",
        read_pin,
        write_pin,
        "a floating cue held `at` an instant of the rowing, or any cue given a `text` of your own",
        'pin:\n  - {cue: s03.goal, at: "12:30"}\n'
        "  - {cue: welcome, text: Good morning from the boathouse.}",
    ),
)


@cache
def field_names() -> tuple[str, ...]:
    """Return the names of all fields, in order."""
    return tuple(field.name for field in FIELDS)


@cache
def defaults() -> dict[str, object]:
    """Return the default of each attribute of Session that has one."""
    found: dict[str, object] = {"title": DEFAULT_TITLE}
    for attribute in fields(Session):
        if attribute.default is not MISSING:
            found[attribute.name] = attribute.default
    return found


def is_default(field: Field, session: Session) -> bool:
    """Whether a session has for this field what it would have without it."""
    known = defaults()
    return all(name in known and getattr(session, name) == known[name] for name in field.attributes)


def field_table() -> str:
    """Return the fields as a Markdown table."""
    rows = ["| Field | Default | What it is | Example |", "|---|---|---|---|"]
    for field in FIELDS:
        first, *others = field.example.split("\n")
        example = f"{first} ..." if others else first
        rows.append(f"| `{field.name}` | {field.default_text} | {field.help} | `{example}` |")
    return "\n".join(rows) + "\n"
