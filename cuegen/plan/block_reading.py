"""Reading a block file: YAML to BlockPlan, every error with its line.

Conventions
    A week is a rule of progress, or a mapping of `plan`, `progress` and `changes`. Its
    plan is its own or the block's; changes are plan fields, written as in a plan, that go
    before those of the plan. A plan file is read as any plan, with errors of its own.

Contents
    BLOCK_FIELDS, WEEK_FIELDS   the fields, with what each is
    is_block                    whether a text is a block rather than a plan
    read_block, load_block      from text, from a file
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from cuegen.errors import BlockError, Where
from cuegen.files import read_text
from cuegen.plan.block import BlockPlan, BlockRower, WeekPlan
from cuegen.plan.field_readers import read_rower
from cuegen.plan.fields import DEFAULT_TITLE, FIELDS
from cuegen.plan.limits import MAX_TITLE_CHARS
from cuegen.plan.model import Session
from cuegen.plan.nearest import offer
from cuegen.plan.progress import RULES, Progress, Rule
from cuegen.plan.reading import load_plan, resolved
from cuegen.plan.tree import Document, Listing, Mapping, Node, Scalar, read_tree
from cuegen.plan.values import items, read_scalar, words

BLOCK_FIELDS = {
    "block": "what the block is called; no wording comes again within four of its sessions",
    "start": "the first day of week 1, year-month-day",
    "plan": "the plan file of every week that names no other",
    "rowers": "who rows it: names as the results have them, or {name, say}",
    "weeks": "one entry a week: a rule of progress, or {plan, progress, changes}",
}
WEEK_FIELDS = {
    "plan": "the plan file of this week",
    "progress": "how the week moves on: " + ", ".join(RULES),
    "changes": "fields of the plan that are different this week",
}
MAX_WEEKS = 52
_NOT_CHANGED = ("block", "rower", "audience")
"""Plan fields that a block sees to itself."""

_WEEKS_FORM = "Write `weeks:` and a line for each, such as `- lower` or `- {progress: deload}`."
_DAY = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})", re.ASCII)
_PROGRESS = re.compile(r"([a-z]+)(?:\s+(\d+(?:[.,]\d+)?)\s*(%|s|strokes?)?)?", re.IGNORECASE)
_title = words(MAX_TITLE_CHARS)
_name = words()

Load = Callable[[str], Session]


def is_block(text: str) -> bool:
    """Say whether a YAML text is a block: it has weeks, which no plan has."""
    return re.search(r"^weeks\s*:", text, re.MULTILINE) is not None


def load_block(path: Path) -> BlockPlan:
    """Return the block of a file; plans in it are looked for beside it. Raises BlockError."""
    text = read_text(path, BlockError, "block")
    return read_block(text, lambda name: load_plan(path.parent / name), file=str(path))


def read_block(text: str, load: Load, *, file: str | None = None) -> BlockPlan:
    """Return the block of a text. load: gives the session of a plan file by its name."""
    document = read_tree(text, file=file, error=BlockError)
    if document is None or not isinstance(document.root, Mapping):
        raise BlockError("this is no block", where=Where(file=file), remedy=_WEEKS_FORM)
    nodes = _fields(document, document.root, BLOCK_FIELDS, "a block")
    for name, remedy in (
        ("block", "Give it a name: `block: Autumn base`."),
        ("start", "Name the first day of week 1: `start: 2031-09-01`."),
        ("weeks", _WEEKS_FORM),
    ):
        if name not in nodes:
            raise BlockError(f"the block has no {name}", where=Where(file=file), remedy=remedy)
    weeks = items(document, nodes["weeks"])
    if not 1 <= len(weeks) <= MAX_WEEKS:
        raise document.fault(nodes["weeks"], f"a block has 1 to {MAX_WEEKS} weeks", _WEEKS_FORM)
    return BlockPlan(
        name=_title(document, nodes["block"]),
        start=_day(document, nodes["start"]),
        weeks=tuple(_weeks(document, weeks, nodes.get("plan"), load)),
        rowers=_rowers(document, nodes["rowers"]) if "rowers" in nodes else (),
        where=Where(file, 1),
    )


def _fields(document: Document, node: Mapping, known: Iterable[str], what: str) -> dict[str, Node]:
    for key, _ in node.pairs:
        if key.value not in known:
            raise document.fault(key, f"{what} has no such field", offer(key.value, list(known)))
    return {key.value: value for key, value in node.pairs}


def _day(document: Document, node: Node) -> date:
    match = _DAY.fullmatch(read_scalar(document, node))
    try:
        if match is None:
            raise ValueError
        return date(*map(int, match.groups()))
    except ValueError:
        raise document.fault(
            node, "this is no day", "Write it year-month-day, such as 2031-09-01."
        ) from None


def _rowers(document: Document, node: Node) -> tuple[BlockRower, ...]:
    found: dict[str, BlockRower] = {}
    for item in items(document, node):
        rower = _rower(document, item)
        key = " ".join(rower.name.split()).casefold()
        if key in found:
            raise document.fault(item, "this rower is named twice", "Keep one of the two.")
        found[key] = rower
    return tuple(found.values())


def _rower(document: Document, node: Node) -> BlockRower:
    named = read_rower(document, node)
    return BlockRower(named) if isinstance(named, str) else BlockRower(*named)


def _weeks(
    document: Document, nodes: Iterable[Node], plan: Node | None, load: Load
) -> Iterable[WeekPlan]:
    for number, node in enumerate(nodes, start=1):
        parts: dict[str, Node] = {}
        if isinstance(node, Mapping):
            parts = _fields(document, node, WEEK_FIELDS, "a week")
        elif isinstance(node, Scalar) and not node.is_null:
            parts = {"progress": node}
        elif isinstance(node, Listing):
            raise document.fault(node, "a week is no list", _WEEKS_FORM)
        session = _session(document, node, parts, plan, load)
        progress = _progress(document, parts["progress"]) if "progress" in parts else Progress()
        yield WeekPlan(number, session, progress, document.where(node))


def _session(
    document: Document, week: Node, parts: dict[str, Node], plan: Node | None, load: Load
) -> Session:
    """Return the session of a week: its plan, or the block's, with the week's changes."""
    named = parts.get("plan", plan)
    changes = _changes(document, parts["changes"]) if "changes" in parts else {}
    if named is not None:
        session = load(_name(document, named))
        where = session.where
    elif "entries" in changes:
        session, where = Session(DEFAULT_TITLE, changes["entries"]), document.where(week)
    else:
        raise document.fault(
            week,
            "this week has no session",
            "Name a plan, for the week or for the whole block: `plan: steps.yaml`.",
        )
    file = document.source.file
    own = resolved(replace(session, **changes), Path(file).parent if file else Path(), changes)
    # The block's folder is where its memory of what was heard lies.
    return replace(own, where=replace(where, file=file))


def _changes(document: Document, node: Node) -> dict[str, Any]:
    if not isinstance(node, Mapping):
        raise document.fault(
            node, "changes are fields of a plan", "Write them as in a plan: {talk_share: 25%}."
        )
    known = [one.name for one in FIELDS if one.name not in _NOT_CHANGED]
    nodes = _fields(document, node, known, "a week's changes")
    changes: dict[str, Any] = {}
    for one in FIELDS:
        if one.name in nodes:
            changes.update(one.values(document, nodes[one.name]))
    return changes


def _progress(document: Document, node: Node) -> Progress:
    """Return a rule and its amount: `lower`, `lower 2`, `faster 1.5 s`, `longer 20%`."""
    text = read_scalar(document, node)
    match = _PROGRESS.fullmatch(text)
    name = match[1].lower() if match else text.split()[0].lower()
    if match is None or name not in list(Rule):
        raise document.fault(node, "this is no rule of progress", offer(name, list(Rule)))
    spec = RULES[Rule(name)]
    if match[2] is None:
        return Progress(Rule(name), spec.default)
    if not spec.unit:
        raise document.fault(node, f"{name!r} has no amount", f"Write `{name}` alone.")
    amount = float(match[2].replace(",", "."))
    unit = (match[3] or spec.unit).lower()
    if unit.removesuffix("s") != spec.unit.removesuffix("s"):
        raise document.fault(node, f"{name!r} counts in {spec.unit}", _form(name))
    whole = spec.unit == "s" or amount == int(amount)
    if not (spec.low <= amount <= spec.high and whole):
        raise document.fault(
            node, f"{name!r} goes from {spec.low:g} to {spec.high:g} {spec.unit}", _form(name)
        )
    return Progress(Rule(name), amount)


def _form(name: str) -> str:
    spec = RULES[Rule(name)]
    return f"Write it as `{name} {spec.default:g} {spec.unit}`."
