"""Writing entries back as whiteboard notation, so that reading them gives the same entries."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal
from typing import TypeVar

from cuegen.clock import MS_PER_S, clock_text, split_text
from cuegen.plan.model import (
    Distance,
    Entry,
    FreeTarget,
    LastAtOffset,
    LastAtRate,
    Length,
    Rate,
    SegmentKind,
    SplitTarget,
    StepTarget,
    Target,
    WattsTarget,
)

T = TypeVar("T")


def write_notation(entries: Iterable[Entry]) -> str:
    """Return one line for each entry, each with its line end."""
    return "".join(f"{entry_text(entry)}\n" for entry in entries)


def entry_text(entry: Entry) -> str:
    """Return one entry as a line, its parts in the order of the notation's own head."""
    parts = []
    if entry.kind_written or entry.kind is not SegmentKind.ROW:
        parts.append(entry.kind.value)
    if entry.repeats != 1:
        parts.append(f"{entry.repeats} x")
    parts.append(_listed(entry.lengths, length_text))
    if entry.rates:
        parts.append(f"r{_listed(entry.rates, rate_text)}")
    if entry.targets:
        parts.append(f"@{targets_text(entry.targets)}")
    if entry.efforts:
        parts.append(f"{_listed(entry.efforts, str)}%")
    if entry.themes:
        parts.append(f"({_listed(entry.themes, str)})")
    line = " ".join(parts)
    if entry.rest is None:
        return line
    return f"{line}, {entry.rest.kind.value} {length_text(entry.rest.length)}"


def targets_text(targets: Iterable[Target]) -> str:
    """Return a list of targets; after `last r18` the next rate needs no `last`."""
    written: list[str] = []
    before: Target | None = None
    for target in targets:
        text = target_text(target)
        chained = isinstance(before, LastAtRate) and isinstance(target, LastAtRate)
        written.append(text.removeprefix("last ") if chained else text)
        before = target
    return "/".join(written)


def _listed(values: Iterable[T], text: Callable[[T], str]) -> str:
    return "/".join(text(value) for value in values)


def length_text(length: Length) -> str:
    """Return a length as the notation writes it."""
    if isinstance(length, Distance):
        return f"{length.metres}m"
    return clock_text(length.ms)


def rate_text(rate: Rate) -> str:
    """Return `20` or `18-20`."""
    return f"{rate.low}-{rate.high}" if rate.is_band else str(rate.low)


def target_text(target: Target) -> str:
    """Return a target without its @."""
    match target:
        case SplitTarget(split_ms=split):
            return _trimmed_split(split)
        case WattsTarget(watts=watts):
            return f"{watts}W"
        case StepTarget(change_ms=change):
            return _signed_text(Decimal(change) / MS_PER_S)
        case LastAtRate(rate=rate, change_ms=change):
            return f"last r{rate}{_change_text(change)}"
        case LastAtOffset(offset=offset, change_ms=change):
            higher = _signed_text(Decimal(offset)) if offset else ""
            return f"last{higher}{_change_text(change)}"
        case FreeTarget():
            return "free"


def _change_text(change_ms: int) -> str:
    return f"{_signed_text(Decimal(change_ms) / MS_PER_S)}s" if change_ms else ""


def _trimmed_split(split_ms: int) -> str:
    """Return 2:05, 2:05.5 or 2:05.125: no more decimals than the split has."""
    if split_ms % 100 == 0:
        return split_text(split_ms).removesuffix(".0")
    seconds, thousandths = divmod(split_ms, MS_PER_S)
    return f"{clock_text(seconds * MS_PER_S)}.{thousandths:03d}".rstrip("0")


def _signed_text(value: Decimal) -> str:
    return f"{value.normalize():+f}"
