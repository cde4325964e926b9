"""Checks of the notation that look beyond one value: counts, rests, the whole session."""

from __future__ import annotations

from lark import Token, Tree

from cuegen.plan import limits
from cuegen.plan.model import (
    Distance,
    Entry,
    FreeTarget,
    Length,
    SegmentKind,
    StepTarget,
    Target,
    pick,
)
from cuegen.plan.notation_tree import PART_NAMES, fault, required, subtrees
from cuegen.plan.source import Source


def list_example(name: str) -> str:
    return {
        "rate": "r18/20",
        "target": "@2:10/2:08",
        "effort": "70/75%",
        "theme": "(recovery/catch)",
        "length": "2:00/1:00",
    }[name]


def check_count(
    source: Source, part: Tree[Token], values: tuple[object, ...], repeats: int, name: str
) -> None:
    given = len(values)
    if given in (1, repeats):
        return
    remedy = f"Give {repeats} with /, or one that serves all."
    if repeats == 1:
        remedy = f"Write `{given} x` before the length, or keep one {name}."
    raise fault(source, part, f"{given} {name}s given, {repeats} needed", remedy)


def check_rest(
    source: Source,
    node: Tree[Token],
    parts: dict[str, Tree[Token]],
    lengths: tuple[Length, ...],
) -> None:
    for name, part in parts.items():
        raise fault(
            source,
            part,
            f"nobody rows in a rest, so it has no {PART_NAMES[name]}",
            "Leave it out, or write `paddle`.",
        )
    for child, length in zip(subtrees(required(node, "lengths")), lengths, strict=True):
        check_rest_length(source, child, SegmentKind.REST, length)


def check_rest_length(source: Source, node: Tree[Token], kind: SegmentKind, length: Length) -> None:
    if kind is SegmentKind.REST and isinstance(length, Distance):
        raise fault(source, node, "a rest covers no distance", "Give it a time, or write `paddle`.")


def check_total(source: Source, nodes: list[Tree[Token]], entries: tuple[Entry, ...]) -> None:
    """Raise at the entry with which the session grows beyond every session."""
    total = segments = 0
    for node, entry in zip(nodes, entries, strict=True):
        breaks = entry.repeats - 1 if entry.rest else 0
        segments += entry.repeats + breaks
        for repeat in range(entry.repeats):
            length = pick(entry.lengths, repeat)
            total += limits.reckoned_ms(length) if length else 0
        if entry.rest:
            total += breaks * limits.reckoned_ms(entry.rest.length)
        if total > limits.MAX_SESSION_MS:
            raise fault(
                source, node, "with this entry the session is over 12 hours", "Shorten the session."
            )
        if segments > limits.MAX_SEGMENTS:
            raise fault(
                source,
                node,
                f"with this entry the session has over {limits.MAX_SEGMENTS} segments",
                "Shorten the session.",
            )


def check_steps(source: Source, nodes: list[Tree[Token]], entries: tuple[Entry, ...]) -> None:
    """Raise for `@-3` where no earlier segment has a target to step from."""
    known = False
    for node, entry in zip(nodes, entries, strict=True):
        for repeat in range(entry.repeats if entry.targets else 0):
            target = pick(entry.targets, repeat)
            if isinstance(target, StepTarget) and not known:
                raise fault(
                    source,
                    _aim(node, entry.targets, repeat),
                    "no segment before this one has a target to step from",
                    "Start from a split, watts or last, e.g. @2:14/-3.",
                )
            known = known or not isinstance(target, FreeTarget)


def _aim(node: Tree[Token], targets: tuple[Target, ...], repeat: int) -> Tree[Token]:
    aims = subtrees(next(node.find_data("targets")))
    return aims[repeat if len(targets) > 1 else 0]
