"""Reading a plan: YAML text to Session, every error with its line.

Contents
    read_plan   from text, opening no file; paths stay as they are written
    load_plan   from a file; relative paths are taken from the plan's own folder
"""

from __future__ import annotations

import os
import re
from collections.abc import Container
from dataclasses import replace
from pathlib import Path
from typing import Any

from cuegen.errors import CuegenError, PlanError, Where
from cuegen.files import read_text
from cuegen.plan.fields import DEFAULT_TITLE, FIELDS, field_names
from cuegen.plan.limits import MAX_FILE_CHARS
from cuegen.plan.model import Duration, OwnBed, Segment, Session
from cuegen.plan.nearest import offer
from cuegen.plan.source import shown
from cuegen.plan.tree import Document, Mapping, read_tree
from cuegen.plan.values import instant_text

_STARTER = "Write at least `session: |` and under it a line such as `  20:00 r18-20`."


def read_plan(text: str, *, file: str | None = None) -> Session:
    """Return the session of a plan's text. `file` is only named in errors (PlanError)."""
    return session_of(plan_document(text, file=file))


def load_plan(path: Path) -> Session:
    """Return the session of a plan file; relative paths in it become paths from here."""
    try:
        size = path.stat().st_size
    except OSError:
        size = 0  # read_text says what is wrong with it
    if size > 4 * MAX_FILE_CHARS:  # no encoding of UTF-8 makes so many bytes of so few characters
        raise PlanError(
            "this file is far too large to be a plan",
            where=Where(file=str(path)),
            remedy="Check that it is the right one.",
        )
    session = read_plan(read_text(path, PlanError, "plan"), file=str(path))
    return resolved(session, path.parent)


def plan_document(text: str, *, file: str | None = None) -> Document:
    """Return the YAML tree of a plan: a mapping, none of whose fields is unknown."""
    document = read_tree(text, file=file)
    if document is None:
        raise PlanError("the plan is empty", where=Where(file=file), remedy=_STARTER)
    if not isinstance(document.root, Mapping):
        raise document.fault(document.root, "a plan is a list of fields, `name: value`", _STARTER)
    for key, _ in document.root.pairs:
        if key.value not in field_names():
            raise document.fault(key, "a plan has no such field", offer(key.value, field_names()))
    return document


def session_of(document: Document) -> Session:
    """Return the session of a plan's tree."""
    assert isinstance(document.root, Mapping)
    nodes = {key.value: value for key, value in document.root.pairs}
    if "session" not in nodes:
        raise document.error(
            "the plan has no session", where=Where(document.source.file), remedy=_STARTER
        )
    values: dict[str, Any] = {"title": DEFAULT_TITLE}
    for field in FIELDS:
        if field.name in nodes:
            values.update(field.values(document, nodes[field.name]))
    session = Session(**values, where=Where(document.source.file, 1))
    check_said(session)
    return session


def check_said(session: Session) -> None:
    """Raise PlanError for a line of the coach's own that would never be heard."""
    segments = session.segments
    total = _total_ms(segments)
    for line in session.say:
        if line.segment is not None and line.segment > len(segments):
            raise _never_heard(
                line.where,
                f"the session has no segment {line.segment}",
                f"Its last one is {len(segments)}; breaks count too.",
            )
        if line.segment is not None:
            length = segments[line.segment - 1].length
            room = length.ms if isinstance(length, Duration) else None
            if room is not None and not -room <= line.offset_ms < room:
                raise _never_heard(
                    line.where, "this instant lies outside its segment", _lasts(room)
                )
        if line.at_ms is not None and total is not None and line.at_ms >= total:
            raise _never_heard(line.where, "this instant lies after the last stroke", _lasts(total))
    for span in session.quiet:
        if total is not None and span.start_ms >= total:
            raise _never_heard(span.where, "this span lies after the last stroke", _lasts(total))


def _lasts(ms: int) -> str:
    return f"It lasts {instant_text(ms)}."


def _total_ms(segments: tuple[Segment, ...]) -> int | None:
    """Return the length of the session, None where a distance leaves it open."""
    total = 0
    for segment in segments:
        if not isinstance(segment.length, Duration):
            return None
        total += segment.length.ms
    return total


def _never_heard(where: Where, problem: str, remedy: str) -> CuegenError:
    return PlanError(
        problem, where=replace(where, text=shown(where.text or "") or None), remedy=remedy
    )


def resolved(
    session: Session, folder: Path, attributes: Container[str] = ("bed", "phrase_book", "voice")
) -> Session:
    """Return the session with the relative paths of these attributes taken from `folder`."""

    def path_of(name: str) -> str:
        return str(folder / Path(name).expanduser())

    def bed_path(name: str) -> str:
        if name in tuple(OwnBed):
            return name  # a bare name of a bed of ours is never a file
        path = path_of(name)
        return f"{os.curdir}{os.sep}{path}" if path in tuple(OwnBed) else path

    changes: dict[str, Any] = {}
    if session.bed is not None and "bed" in attributes:
        first, *more = (bed_path(name) for name in session.bed.files)
        changes["bed"] = replace(session.bed, file=first, more=tuple(more))
    named = re.fullmatch(r"[\w-]+", session.phrase_book) is not None
    if not named and "phrase_book" in attributes:  # a bare name is one of ours
        changes["phrase_book"] = path_of(session.phrase_book)
    kind, colon, file = session.voice.partition(":")
    own = colon and file.endswith(".onnx") and "voice" in attributes
    if own:  # a voice file of the coach's own, as in piper:mine.onnx
        changes["voice"] = f"{kind}:{path_of(file.strip())}"
    return replace(session, **changes)
