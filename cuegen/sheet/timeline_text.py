"""The sheet as a time line in plain text: time runs down, one row stands for one length of time.

Each stretch has a head (clock, name, length, target, a gauge of its talk, figures
three rows high at the right edge) and rows to scale: clock, wall, strip, and the
words that matter most in that row. The wall tells work (heavy), work by metres
(heavy and broken), easy rowing (light) and rest (dotted) apart.

Conventions
    Times are the rowing clock; "~" stands before those that move with the pace.
    No text holds a control character, so a title or a line cannot drive the
    terminal, and no line is wider than asked, counted in cells.
"""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.clock import clock_text
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.timeline_board import Board
from cuegen.sheet.timeline_parts import Line, Part, Tone, trimmed
from cuegen.sheet.timeline_script import script_parts
from cuegen.sheet.timeline_strip import BLOCKS, Glyphs
from cuegen.sheet.timeline_words import wrap
from cuegen.sheet.wording import audience_words, one_line

LEAST_WIDTH, MOST_WIDTH = 60, 140


def timeline_lines(
    sheet: CueSheet, width: int = 80, glyphs: Glyphs = BLOCKS, *, script: bool = False
) -> tuple[Line, ...]:
    """Return the time line in lines of at most `width` cells (60 to 140 are used).

    script: every line that is said follows it, whole, and what was left out and why.
    """
    board = Board(sheet, max(LEAST_WIDTH, min(width, MOST_WIDTH)), glyphs)
    lines: list[Line] = [*_title(board), (), *board.lines(), (), *_key(board)]
    if script:
        lines += [(), *script_parts(board)]
    return tuple(trimmed(line) for line in (*lines, *_sum(board)))


def _title(board: Board) -> Iterator[Line]:
    sheet = board.sheet
    for text in wrap(one_line(sheet.title), board.width):
        yield (Part(text, Tone.TITLE),)
    metres = round(sum(segment.metres for segment in sheet.segments))
    facts = f"{clock_text(sheet.row_end_ms - sheet.lead_in_ms)} for {audience_words(sheet)}"
    facts += f", about {metres} m" if metres else ""
    facts += ". The clock starts on the first stroke."
    for text in wrap(facts, board.width):
        yield (Part(text, Tone.SOFT),)


def _key(board: Board) -> Iterator[Line]:
    """Give what the marks mean, of those that are there."""
    sheet, glyphs = board.sheet, board.glyphs
    keys = [
        f"{glyphs.firm} must land on its instant",
        f"{glyphs.talk} may move a little",
        f"{glyphs.ground} no voice",
        f"{glyphs.quiet} quiet by plan" if sheet.quiet else "",
        "~ moves with the pace, shown for 2 % either way" if board.spreads[-1] else "",
        f"one row is {clock_text(board.row_ms)}",
        f"bars: share of talk, {glyphs.most} the plan's limit",
    ]
    for text in wrap("; ".join(key for key in keys if key) + ".", board.width):
        yield (Part(text, Tone.SOFT),)


def _sum(board: Board) -> Iterator[Line]:
    """Give the whole in numbers, and what the plan check and the script have to say."""
    sheet = board.sheet
    share = 100 * sheet.talk_ms / sheet.duration_ms
    left = f"{len(sheet.left_out)} left out" if sheet.left_out else "none left out"
    yield (Part(f"{len(sheet.cues)} lines, {share:.0f} % talk, {left}."),)
    for said, tone in ((sheet.talk_limit, Tone.SOFT), *((n, Tone.NOTE) for n in sheet.notes)):
        if one_line(said):
            yield from ((Part(text, tone),) for text in wrap(one_line(said), board.width))
