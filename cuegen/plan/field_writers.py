"""Plan fields as plain YAML data (the table is in fields.py)."""

from __future__ import annotations

from typing import Union

from cuegen.plan.model import Bed, Loudness, Pin, SayLine, Session
from cuegen.plan.values import instant_text

Yaml = Union[str, int, float, "list[Yaml]", "dict[str, Yaml]"]


def write_number(value: float | None) -> Yaml | None:
    """Return a number, a whole one without its decimal point."""
    return int(value) if value is not None and value == int(value) else value


def write_loudness(session: Session) -> Yaml | None:
    """Return a name or a number."""
    asked = session.loudness
    return asked.value if isinstance(asked, Loudness) else write_number(asked)


def write_rower(session: Session) -> Yaml | None:
    """Return a name, or {name, say}."""
    if session.rower is None or session.rower_say is None:
        return session.rower
    return {"name": session.rower, "say": session.rower_say}


def write_bed(session: Session) -> Yaml | None:
    """Return a name or a list of names, in a mapping where the distance is not the usual one."""
    bed = session.bed
    if bed is None:
        return None
    named: Yaml = list(bed.files) if bed.more else bed.file
    if bed == Bed(bed.file, more=bed.more):
        return named
    return {"files" if bed.more else "file": named, "below": write_number(bed.below_db) or 0}


def write_tones(session: Session) -> Yaml | None:
    """Return when they sound, or {when, recovery} where the recovery sounds too."""
    when = session.stroke_tones.value
    return {"when": when, "recovery": "on"} if session.recovery_tone else when


def write_block(session: Session) -> Yaml | None:
    """Return {name, week}."""
    block = session.block
    return None if block is None else {"name": block.name, "week": block.week}


def write_say(session: Session) -> Yaml | None:
    """Return one mapping for each line."""
    return [_say_line(line) for line in session.say] or None


def _say_line(line: SayLine) -> Yaml:
    placed: dict[str, Yaml] = {}
    if line.at_ms is not None:
        placed["at"] = instant_text(line.at_ms)
    elif line.change is not None:
        number = line.change.number
        placed["change"] = f"piece {number}" if line.change.piece else number
    elif line.piece is not None:
        placed["piece"] = line.piece
    else:
        placed["segment"] = line.segment or 0
    if line.offset_ms > 0:
        placed["after"] = instant_text(line.offset_ms)
    elif line.offset_ms < 0:
        placed["before"] = instant_text(-line.offset_ms)
    return {**placed, "text": line.text}


def write_quiet(session: Session) -> Yaml | None:
    """Return each span as `10:00-12:00`."""
    spans = (f"{instant_text(span.start_ms)}-{instant_text(span.end_ms)}" for span in session.quiet)
    return list(spans) or None


def write_drop(session: Session) -> Yaml | None:
    """Return the names that are left out."""
    return [drop.cue for drop in session.drop] or None


def write_pin(session: Session) -> Yaml | None:
    """Return one mapping for each cue."""
    return [_pin(pin) for pin in session.pin] or None


def _pin(pin: Pin) -> Yaml:
    held: dict[str, Yaml] = {"cue": pin.cue}
    if pin.at_ms is not None:
        held["at"] = ("-" if pin.at_ms < 0 else "") + instant_text(abs(pin.at_ms))
    if pin.text is not None:
        held["text"] = pin.text
    return held
