"""Every line that is said, whole, under the stretch it is heard in; then what was left out."""

from __future__ import annotations

from collections.abc import Iterator

from cuegen.sheet.timeline_board import Board, notation
from cuegen.sheet.timeline_parts import Line, Part, Tone
from cuegen.sheet.timeline_scale import Stretch
from cuegen.sheet.timeline_words import Said, wrap
from cuegen.sheet.wording import length_words, one_line, rowing_clock


def script_parts(board: Board) -> Iterator[Line]:
    """Give the script in lines that are no wider than the board."""
    last = board.parts[-1]
    for part in board.parts:
        yield (Part(_heading(board, part), Tone.NAME),)
        yield from _why(board, part)
        end_ms = part.end_ms if part != last else board.sheet.duration_ms + 1
        for said in board.said:
            if part.start_ms <= said.at_ms < end_ms:
                yield from _line(board, said)
        yield ()
    yield from _left_out(board)


def _heading(board: Board, part: Stretch) -> str:
    segment = board.segment_of(part)
    facts = [part.name]
    if segment is not None:
        facts += [length_words(segment), notation(segment)]
    clock = board.clock_of(part, part.start_ms)
    return f"{clock:>{board.clock_width}} " + ", ".join(fact for fact in facts if fact)


def _why(board: Board, part: Stretch) -> Iterator[Line]:
    segment = board.segment_of(part)
    if segment is None or not one_line(segment.reason):
        return
    indent = board.clock_width + 1
    for text in wrap(one_line(segment.reason), board.width - indent):
        yield (Part(" " * indent), Part(text, Tone.SOFT))


def _line(board: Board, said: Said) -> Iterator[Line]:
    clock = rowing_clock(board.sheet, said.at_ms)
    first = (
        Part(f"{clock:>{board.clock_width}} ", Tone.SOFT),
        Part(said.mark + " ", board.mark_tone(said.mark)),
    )
    indent = board.clock_width + 3
    tone = Tone.FIRM if said.firm else Tone.PLAIN
    for number, text in enumerate(wrap(said.text, board.width - indent)):
        yield (*(first if number == 0 else (Part(" " * indent),)), Part(text, tone))


def _left_out(board: Board) -> Iterator[Line]:
    if not board.sheet.left_out:
        return
    yield (Part("Left out", Tone.NAME),)
    for left in board.sheet.left_out:
        for text in wrap(f"{one_line(left.text)} ({one_line(left.why)})", board.width - 2):
            yield (Part("  "), Part(text, Tone.SOFT))
    yield ()
