"""One time line being drawn: its scale and columns, the head of a stretch, its rows.

Columns, from the left: clock, wall, strip, words. The figures of a stretch stand
at the right edge, beside its head and its first row; heads end where the widest
figures begin, so that the gauges line up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, zip_longest

from rich.cells import cell_len

from cuegen.clock import clock_text, split_text
from cuegen.plan.model import SEGMENT_KINDS, SegmentKind
from cuegen.schedule.cuesheet import CueSheet, SheetSegment
from cuegen.sheet.timeline_figures import HEIGHT, big_rows, can_draw
from cuegen.sheet.timeline_parts import Line, Part, Tone, line_text, padded
from cuegen.sheet.timeline_scale import Stretch, row_length_ms, row_starts, stretches
from cuegen.sheet.timeline_strip import Glyphs, gauge, strip, talk_share
from cuegen.sheet.timeline_words import Said, all_said, choose, clauses, shorten
from cuegen.sheet.wording import end_spreads, length_words, one_line, rowing_clock

_NARROW = 72
"""Cells below which strips have fewer cells."""

_NAME_AND_GAUGE = 18 + 1 + 10
"""Cells for a name such as "Row 12 of 24, 5:00" and a gauge of 5 cells on one line."""

_BESIDE = 2
"""Cells between what stands left of the figures and them."""

_COLUMN_GAP = 4
"""Cells between the rates and what to hold."""

_BIG_KINDS = frozenset({SegmentKind.WARM_UP, SegmentKind.ROW, SegmentKind.COOL_DOWN})


@dataclass(frozen=True)
class Board:
    """What holds for every line. width: cells of the terminal that may be used."""

    sheet: CueSheet
    width: int
    glyphs: Glyphs

    @cached_property
    def parts(self) -> tuple[Stretch, ...]:
        return stretches(self.sheet)

    @cached_property
    def row_ms(self) -> int:
        return row_length_ms(self.parts, sum(HEIGHT if big else 1 for big in self.figures))

    @cached_property
    def cells(self) -> int:
        """Cells of a row's strip: a cell is a round part of a minute."""
        return 12 if self.width < _NARROW else 20 if self.width < 110 else 30

    @cached_property
    def spreads(self) -> tuple[int, ...]:
        return end_spreads(self.sheet)

    @cached_property
    def said(self) -> tuple[Said, ...]:
        return all_said(self.sheet, self.glyphs)

    @cached_property
    def clock_width(self) -> int:
        edges = ((part, ms) for part in self.parts for ms in (part.start_ms, part.end_ms))
        return max(len(self.clock_of(part, ms)) for part, ms in edges)

    @cached_property
    def figures(self) -> tuple[tuple[str, ...], ...]:
        """Three rows of figures for each stretch; none where there is nothing to hold.

        Rates stand in one column and what to hold in another, for the eye to run down.
        """
        pairs = [self._big(self.segment_of(part)) for part in self.parts]
        rates = max((len(rate[0]) for rate, _ in pairs if rate), default=0)
        holds = max((len(hold[0]) for _, hold in pairs if hold), default=0)
        if rates + _COLUMN_GAP + holds > self._most_figures:
            pairs, holds = [(rate, ()) for rate, _ in pairs], 0
        return tuple(_joined(rate, hold, rates, holds) for rate, hold in pairs)

    @property
    def _most_figures(self) -> int:
        """Cells that figures may take."""
        return self.width // 2 + 4

    @cached_property
    def head_width(self) -> int:
        widest = max((len(rows[0]) for rows in self.figures if rows), default=0)
        return self.width - (widest + _BESIDE if widest else 0)

    @cached_property
    def head_room(self) -> int:
        """Cells for what a head says, right of clock and wall."""
        return self.head_width - self.clock_width - 3

    @cached_property
    def has_wide_heads(self) -> bool:
        """Whether gauges stand beside the names; otherwise below them, in place of reasons."""
        return self.head_room >= _NAME_AND_GAUGE

    def segment_of(self, part: Stretch) -> SheetSegment | None:
        return None if part.index is None else self.sheet.segments[part.index]

    def clock_of(self, part: Stretch, ms: int) -> str:
        """Return an instant on the rowing clock, marked where metres came before its stretch."""
        return ("~" if self.spread_before(part) else "") + rowing_clock(self.sheet, ms)

    def spread_before(self, part: Stretch) -> int:
        """Return by how many ms the start of a stretch moves at 2 % off the pace."""
        rowed = sum(segment.end_ms <= part.start_ms for segment in self.sheet.segments)
        return self.spreads[rowed - 1] if rowed else 0

    def lines(self) -> Iterator[Line]:
        """Give each stretch: its head, its figures at the right edge, then its rows."""
        for part, figures in zip(self.parts, self.figures, strict=True):
            head = self._head(part, height=len(figures) or 1)
            for line, row in zip_longest(head, figures, fillvalue=""):
                assert not isinstance(line, str), "a head is as high as its figures"
                figure = Part(row.rstrip(), self._tone(part))
                yield (*padded(line, self.width - len(row)), figure) if row else line
            yield from self._rows(part)

    def _big(self, segment: SheetSegment | None) -> tuple[tuple[str, ...], tuple[str, ...]]:
        if segment is None or segment.kind not in _BIG_KINDS or not self.glyphs.has_figures:
            return (), ()
        rate, hold = one_line(segment.rate or ""), hold_words(segment).replace(" ", "")
        rows = [big_rows(text) if can_draw(text) else () for text in (rate, hold)]
        left, right = (big if big and len(big[0]) <= self._most_figures else () for big in rows)
        return left, right

    def _wall(self, part: Stretch) -> tuple[str, str]:
        segment = self.segment_of(part)
        if segment is None or not SEGMENT_KINDS[segment.kind].is_rowing:
            return self.glyphs.still
        if not SEGMENT_KINDS[segment.kind].is_work:
            return self.glyphs.easy
        return self.glyphs.work if segment.distance_m is None else self.glyphs.metres

    def _tone(self, part: Stretch) -> Tone:
        segment = self.segment_of(part)
        is_work = segment is not None and SEGMENT_KINDS[segment.kind].is_work
        return Tone.WORK if is_work else Tone.EASY

    def _head(self, part: Stretch, height: int) -> list[Line]:
        walls, tone, bar = self._wall(part), self._tone(part), self._gauge(part)
        clock = f"{self.clock_of(part, part.start_ms):>{self.clock_width}} "
        texts = self._head_texts(part, height, self.head_room - len(bar.text) - 1)
        clocks = [clock, *[" " * len(clock)] * (height - 1)]
        corners = [walls[0], *[walls[1]] * (height - 1)]
        head: list[Line] = [
            (Part(time, Tone.NAME), Part(mark + " ", tone), text)
            for time, mark, text in zip(clocks, corners, texts, strict=True)
        ]
        at = 0 if self.has_wide_heads else height - 1
        head[at] = (*padded(head[at], self.head_width - len(bar.text)), bar)
        return head

    def _head_texts(self, part: Stretch, height: int, beside_bar: int) -> list[Part]:
        """Return what a head says, line by line: name and length, target, where that is from."""
        segment, end, cut = self.segment_of(part), self._end(part), self.glyphs.cut
        room, is_wide = self.head_room, self.has_wide_heads
        target = notation(segment)
        names = self._names(part)
        if height == 1 or segment is None:
            full = [
                ", ".join(t for t in (name, target or end) if t) for name in names[:-1] or names
            ]
            return [Part(_fullest([*full, *names], beside_bar, cut), Tone.NAME)]
        held = ", ".join(text for text in (target, end) if text)
        return [
            Part(_fullest(names, beside_bar if is_wide else room, cut), Tone.NAME),
            Part(_fullest([held, target], room, cut)),
            Part(clauses(one_line(segment.reason), room, cut) if is_wide else "", Tone.SOFT),
        ]

    def _names(self, part: Stretch) -> list[str]:
        """Return names of a stretch, the fullest first: "Row 2 of 3, 750 m ~3:03"."""
        segment = self.segment_of(part)
        if segment is None:
            return [part.name]
        name = f"{part.name}, {length_words(segment)}"
        about = f"{name} ~{clock_text(part.length_ms)}"
        return [*([about] if segment.distance_m is not None else []), name, part.name]

    def _end(self, part: Stretch) -> str:
        """Return between which instants a distance piece, or the session, is expected to end."""
        segment = self.segment_of(part)
        if segment is None:
            spread, end_ms = self.spread_before(part), part.start_ms
        elif segment.distance_m is not None:
            spread, end_ms = self.spreads[part.index or 0], part.end_ms
        else:
            return ""
        early, late = (rowing_clock(self.sheet, end_ms + by) for by in (-spread, spread))
        verb = "ends " if segment is not None else ""
        return f"{verb}{early} to {late}" if spread else ""

    def _gauge(self, part: Stretch) -> Part:
        if part.index is None:
            return Part("")
        share = talk_share(self.sheet, part.start_ms, part.end_ms)
        cells = min(10, self.head_room - _NAME_AND_GAUGE + 5) if self.has_wide_heads else 4
        bar = gauge(share, self.sheet.talk_share, cells, self.glyphs)
        return Part(f"{bar} {100 * share:3.0f} %", Tone.TALK)

    def _rows(self, part: Stretch) -> Iterator[Line]:
        tone, wall = self._tone(part), self._wall(part)[1]
        segment = self.segment_of(part)
        is_open = segment is not None and segment.distance_m is not None
        for start_ms in row_starts(part, self.row_ms):
            end_ms = min(start_ms + self.row_ms, part.end_ms)
            clock = self.clock_of(part, start_ms) if start_ms > part.start_ms else ""
            marks = self._strip(range(start_ms, end_ms))
            left = (
                Part(f"{clock:>{self.clock_width}} ", Tone.SOFT),
                Part(wall, tone),
                *self._toned(marks),
                *((Part("~", Tone.SOFT),) if is_open and end_ms == part.end_ms else ()),
            )
            left = padded(left, self.clock_width + 2 + self.cells + 2)
            last = end_ms if end_ms < self.sheet.duration_ms else end_ms + 1
            yield (*left, *self._words(start_ms, last, self.width - cell_len(line_text(left))))

    def _strip(self, row: range) -> str:
        return strip(self.sheet, row, self.glyphs, cells=self.cells, row_ms=self.row_ms)

    def _words(self, start_ms: int, end_ms: int, room: int) -> Iterator[Part]:
        here = [said for said in self.said if start_ms <= said.at_ms < end_ms]
        clock_width = 3 if start_ms >= self.sheet.lead_in_ms else 4
        if self.row_ms > 60_000:
            clock_width = self.clock_width
        for number, said in enumerate(choose(here, clock_width, room, self.glyphs.cut)):
            clock = rowing_clock(self.sheet, said.at_ms)
            if self.row_ms <= 60_000:
                clock = ("-" if clock.startswith("-") else "") + clock[-3:]
            yield Part(("   " if number else "") + f"{clock:>{clock_width}} ", Tone.SOFT)
            yield Part(said.mark + " ", self.mark_tone(said.mark))
            yield Part(said.text, Tone.FIRM if said.firm else Tone.PLAIN)

    def _toned(self, marks: str) -> Iterator[Part]:
        for mark, run in groupby(marks):
            yield Part("".join(run), self.mark_tone(mark))

    def mark_tone(self, mark: str) -> Tone:
        tones = {
            self.glyphs.firm: Tone.FIRM,
            self.glyphs.talk: Tone.TALK,
            self.glyphs.quiet: Tone.QUIET,
        }
        return tones.get(mark, Tone.SOFT)


def _joined(
    rate: tuple[str, ...], hold: tuple[str, ...], rates: int, holds: int
) -> tuple[str, ...]:
    """Return figures side by side, the rate at the left and what to hold at the right."""
    if not rate and not hold:
        return ()
    left = rate or ("",) * HEIGHT
    right = hold or ("",) * HEIGHT
    gap = " " * (_COLUMN_GAP if rates and holds else 0)
    return tuple(f"{a:<{rates}}{gap}{b:>{holds}}" for a, b in zip(left, right, strict=True))


def _fullest(texts: list[str], room: int, cut: str) -> str:
    """Return the first text that has room, else the last one cut."""
    return next((text for text in texts if cell_len(text) <= room), shorten(texts[-1], room, cut))


def hold_words(segment: SheetSegment) -> str:
    """Return what to hold: "2:04.5", else "75 %", else nothing."""
    if segment.split_ms is not None:
        return split_text(segment.split_ms)
    return f"{segment.effort_pct} %" if segment.effort_pct else ""


def notation(segment: SheetSegment | None) -> str:
    """Return rate, split and effort as a coach writes them on a board: "r24 2:02.0 80 %"."""
    if segment is None:
        return ""
    rate = one_line(segment.rate or "")
    effort = f"{segment.effort_pct} %" if segment.effort_pct else ""
    split = split_text(segment.split_ms) if segment.split_ms is not None else ""
    return " ".join(text for text in (rate and f"r{rate}", split, effort) if text)
