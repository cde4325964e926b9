"""Writing a session as a plan, and changing a plan without disturbing the rest of it.

Conventions
    What is written always reads back as the very session that was given; both
    functions check that before they return, and raise PlanError where no plan can
    say it (a title of two lines, a rate nobody rows).

Contents
    write_plan     a session as a new plan
    rewrite_plan   a plan's text with only those lines changed that differ
"""

from __future__ import annotations

from io import StringIO

from ruamel.yaml import YAML
from ruamel.yaml.scalarstring import DoubleQuotedScalarString, LiteralScalarString

from cuegen.errors import PlanError
from cuegen.plan.field_writers import Yaml
from cuegen.plan.fields import FIELDS, Field, is_default
from cuegen.plan.model import Session
from cuegen.plan.reading import plan_document, read_plan, session_of
from cuegen.plan.rewriting import Edit, apply_edits, field_edit, field_spans, session_edits
from cuegen.plan.tree import Mapping, normalised
from cuegen.plan.values import parse_instant

_WIDTH = 10_000
"""No line is folded: a coach searches for whole sentences."""


def write_plan(session: Session) -> str:
    """Return the plan of a session: the title, what differs from the defaults, the entries."""
    written = [
        field_text(field, session)
        for field in FIELDS
        if field.name in ("title", "audience") or not is_default(field, session)
    ]
    return _proved("".join(written), session)


def rewrite_plan(text: str, session: Session) -> str:
    """Return a plan's text changed so that it reads as `session`.

    Only the fields that differ are written again, and of the notation only the
    entries that differ; comments, order, blank lines and quotes elsewhere stay.
    A comment inside a field that is written again moves above it. A plan written
    as one flow mapping, `{title: ...}`, is written anew. Raises PlanError for a
    text that is no plan.
    """
    text = normalised(text)
    document = plan_document(text)
    before = session_of(document)
    root = document.root
    assert isinstance(root, Mapping)
    if root.flow or document.source.place(root.start)[1] != 1:
        return text if before == session else write_plan(session)
    spans = field_spans(document)
    edits: list[Edit] = []
    added: list[str] = []
    for field in FIELDS:
        if field.of(before) == field.of(session):
            continue
        span = spans.get(field.name)
        if span is None:
            added.append(field_text(field, session))
        elif field.name == "session" and span.is_block:
            edits.extend(session_edits(document, before.entries, session.entries))
        else:
            edits.append(field_edit(document, span, field_text(field, session)))
    if added:
        last = max(spans.values(), key=lambda span: span.stop)
        edits.append(Edit(last.stop, last.stop, tuple("".join(added).splitlines())))
    return _proved(apply_edits(text, edits), session)


def field_text(field: Field, session: Session) -> str:
    """Return one field as it stands in a plan, "" where there is nothing to say."""
    data = field.write(session)
    if data is None:
        return ""
    if field.name == "session":
        return _dumped({field.name: LiteralScalarString(str(data))})
    return _dumped({field.name: _quoted(data)})


def _quoted(data: Yaml) -> Yaml:
    """Return data with its times in quotes, since older YAML takes 6:00 for a number."""
    if isinstance(data, dict):
        return {name: _quoted(value) for name, value in data.items()}
    if isinstance(data, list):
        return [_quoted(item) for item in data]
    if isinstance(data, str) and parse_instant(data.removeprefix("-")) is not None:
        quoted: str = DoubleQuotedScalarString(data)
        return quoted
    return data


def _dumped(data: Yaml) -> str:
    yaml = YAML(typ="rt")
    yaml.width = _WIDTH
    yaml.allow_unicode = True
    yaml.default_flow_style = False
    yaml.indent(mapping=2, sequence=4, offset=2)
    out = StringIO()
    yaml.dump(data, out)
    return out.getvalue()


def _proved(text: str, session: Session) -> str:
    """Return text if it reads back as the session; raise where no plan says it."""
    heard = read_plan(text)
    if heard != session:
        differing = [field.name for field in FIELDS if field.of(heard) != field.of(session)]
        raise PlanError(
            f"a plan cannot say this session's {', '.join(differing)}",
            remedy="Texts stand on one line with single spaces; times are whole milliseconds.",
        )
    return text
