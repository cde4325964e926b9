"""A note to a rower on a block they rowed: plain text, theirs to read.

It says what was done, what moved, what stands out, which targets were missed, what
comes next, and one caution, in that order and in few lines. Every figure in it is one
of the history or of its summaries (cuegen.targets.history). A rower's body is not its
subject, nor is blame.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from rich.cells import cell_len

from cuegen.clock import split_text
from cuegen.pages.progress_words import (
    change_words,
    count_text,
    listed,
    piece_words,
    weeks_text,
    work_text,
)
from cuegen.sheet.wording import one_line
from cuegen.targets.history import (
    History,
    NextPiece,
    RateChange,
    TargetsMet,
    rate_changes,
    targets_met,
)

COLUMNS = 72
MOST_RATES = 4
MOST_NEXT = 6
MOST_NEXT_LINES = 4

CAUTION = (
    "Targets are offers: ease off when the day asks for it, stop on chest pain, dizziness or "
    "back pain, and a qualified coach's word goes before this note."
)


def progress_note(history: History) -> str:
    """Return the note, its lines no wider than COLUMNS."""
    blocks = ["\n".join(_wrapped(block)) for block in _paragraphs(history)]
    return "\n\n".join(blocks) + "\n"


def first_name(rower: str) -> str:
    """Return the first name of "Maren Holt" and of "Holt, Maren"."""
    family, comma, given = one_line(rower).partition(",")
    words = (given if comma and given.strip() else family).split()
    return words[0] if words else ""


def _paragraphs(history: History) -> Iterator[str]:
    """Yield paragraphs, of a list each line with a line break before it."""
    yield _opening(history)
    if history.pieces:
        changes = rate_changes(history)
        yield _moved(changes)
        yield _outstanding(history, changes)
        yield _targets(targets_met(history))
    if history.next_week:
        yield _next(history.next_week)
    yield CAUTION


def _opening(history: History) -> str:
    name, block = first_name(history.rower), one_line(history.block)
    greeting = f"{name}, a look back" if name else "A look back"
    start = f"{greeting} on {block}" if block else greeting
    if not history.pieces:
        return f"{start}: nothing rowed yet, so there is nothing to tell so far."
    days = len({piece.day for piece in history.pieces})
    done = f"{count_text(len(history.pieces), 'piece')} on {count_text(days, 'day')}"
    counts = "a start" if len(history.pieces) == 1 else "and every one of them counts"
    return f"{start}: {done}, {counts}.{_left_out(history)}"


def _left_out(history: History) -> str:
    easy = history.easy_weeks
    if not easy:
        return ""
    was, it_is = ("was", "it is") if len(easy) == 1 else ("were", "they are")
    return f" {weeks_text(easy).capitalize()} {was} planned easy, so {it_is} not compared."


def _moved(changes: tuple[RateChange, ...]) -> str:
    if not changes:
        return "No rate has come up in two weeks yet, so there is nothing to compare."
    most = sorted(changes, key=lambda change: -abs(change.change_ms))[:MOST_RATES]
    which = "at each rate" if len(most) == len(changes) else "at the rates that moved most"
    lines = [f"Your best split {which}, first week and last:"]
    lines += [
        f"  rate {change.rate}: {split_text(change.first_ms)} in week {change.first_week}, "
        f"{split_text(change.last_ms)} in week {change.last_week}, {change_words(change)}"
        for change in changes
        if change in most
    ]
    return "\n".join(lines)


def _outstanding(history: History, changes: tuple[RateChange, ...]) -> str:
    """Say where there is more work in a stroke; where nowhere, which piece was fastest."""
    best = max(changes, key=lambda change: change.work_pct, default=None)
    if best is not None and best.work_pct > 0 and best.change_ms < 0:
        return (
            f"What stands out: {best.work_pct} % more work per stroke at rate {best.rate}, "
            f"{work_text(best.last_j)} in week {best.last_week} after {work_text(best.first_j)} "
            f"in week {best.first_week}."
        )
    fastest = min(history.pieces, key=lambda piece: piece.split_ms)
    return (
        f"Your fastest piece was {split_text(fastest.split_ms)} at rate {fastest.rate} "
        f"in week {fastest.week}."
    )


def _targets(judged: TargetsMet) -> str:
    if not judged.pieces:
        return "No piece had a target: effort led."
    if not judged.missed:
        met = "the one target there was" if judged.pieces == 1 else f"all {judged.pieces} targets"
        return f"You met {met}, within half a second."
    return (
        f"{_met_words(judged)}{_miss_words(judged)} A miss tells as much of the target as of "
        "the day."
    )


def _met_words(judged: TargetsMet) -> str:
    if judged.met:
        return f"You met {judged.met} of {judged.pieces} targets, within half a second"
    if judged.pieces == 1:
        return "The one target there was did not come off this time"
    return f"None of {judged.pieces} targets came off this time"


def _miss_words(judged: TargetsMet) -> str:
    worst = max(judged.missed, key=lambda piece: piece.over_ms or 0)
    which = f"rate {worst.rate} in week {worst.week}"
    over = f"{(worst.over_ms or 0) / 1000:.1f} s over"
    held = f"{split_text(worst.split_ms)} for {split_text(worst.target_ms or 0)}"
    if len(judged.missed) == 1:
        return f"; {which} was {over}, {held}."
    mean = f"{(judged.mean_miss_ms or 0) / 1000:.1f} s over on average"
    return f". The {len(judged.missed)} missed were {mean}, the furthest {which}: {over}, {held}."


def _next(pieces: tuple[NextPiece, ...]) -> str:
    """Say what comes next, with reasons where they are few words."""
    more = len(pieces) - MOST_NEXT
    shown = pieces[:MOST_NEXT]
    rest = f"; and {more} more" if more > 0 else ""
    parts = []
    for reason, run in groupby(shown, lambda piece: one_line(piece.reason)):
        words = listed([piece_words(piece) for piece in run])
        parts.append(f"{words} ({reason})" if reason else words)
    full = f"What comes next: {'; '.join(parts)}{rest}."
    if len(_wrapped(full)) <= MOST_NEXT_LINES:
        return full
    return f"What comes next: {listed([piece_words(piece) for piece in shown])}{rest}."


def _wrapped(text: str) -> list[str]:
    """Return lines no wider than COLUMNS; what a list's line goes on with is indented more."""
    return [part for line in text.split("\n") for part in _wrapped_line(line)]


def _wrapped_line(line: str) -> list[str]:
    indent = line[: len(line) - len(line.lstrip())]
    lines = [indent]
    for word in line.split():
        for piece in _broken(word, COLUMNS - len(indent) - 2):
            joined = lines[-1] + (" " if lines[-1].strip() else "") + piece
            if cell_len(joined) <= COLUMNS:
                lines[-1] = joined
            else:
                lines.append(indent + ("  " if indent else "") + piece)
    return lines


def _broken(word: str, room: int) -> Iterator[str]:
    """Yield a word in parts no wider than there is room for."""
    part = ""
    for letter in word:
        if part and cell_len(part + letter) > room:
            yield part
            part = ""
        part += letter
    yield part
