"""The sheet on paper: page one to tape to a machine, then the whole script.

Times are the rowing clock, since that is what the machine shows. Big: when,
which rate, what to hold; beside them the words to say at the change, then the
segment's own. Under each row runs its time as a strip, all to one scale. Black
on white with outlined shapes, so that it prints the same where a browser leaves
backgrounds out. A4 and US Letter; `timeline_paper` holds the measures.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cuegen.clock import clock_text, split_text
from cuegen.schedule.cuesheet import Cue, CueSheet, SheetSegment
from cuegen.script.kinds import CueKind
from cuegen.sheet.cautions import CAUTIONS
from cuegen.sheet.page import fill_page
from cuegen.sheet.timeline_marks import Mark, marks, scale
from cuegen.sheet.timeline_paper import Columns, Paper, Weight, columns, paper, weight_of
from cuegen.sheet.timeline_scale import Stretch, segment_name, stretches
from cuegen.sheet.wording import (
    audience_words,
    end_spreads,
    end_words,
    length_words,
    one_line,
    rate_words,
    rowing_clock,
    script_lines,
)


@dataclass(frozen=True, slots=True)
class Spoken:
    """A line, or a span of quiet (no line: `is_quiet`), at its clock."""

    clock: str
    text: str
    firm: bool = False
    is_quiet: bool = False
    at_ms: int = 0

    @property
    def is_wanted(self) -> bool:
        """Whether page one should make room for it: the coach's own lines and quiet."""
        return self.firm or self.is_quiet


@dataclass(frozen=True, slots=True)
class Piece:
    """One segment as page one shows it; an empty string is left out.

    call: what is said on the instant of its start; target: what is said just after.
    """

    start: str
    weight: str
    kind: str
    rate: str
    hold: str
    units: tuple[str, ...]
    name: str
    call: str
    target: str
    words: tuple[Spoken, ...]
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Chapter:
    """The lines of one stretch of the script, under its heading."""

    clock: str
    heading: str
    why: str
    lines: tuple[Spoken, ...]


def to_text(sheet: CueSheet) -> str:
    """Return the sheet as one HTML page."""
    widths = _columns(sheet)
    page = _paper(sheet, widths)
    return fill_page(
        "sheet.html.jinja",
        "sheet.css",
        measures=_measures(page, widths),
        title=one_line(sheet.title),
        language=one_line(sheet.sound.language),
        audience=audience_words(sheet),
        rowing=clock_text(sheet.row_end_ms - sheet.lead_in_ms),
        metres=round(sum(segment.metres for segment in sheet.segments)),
        pieces=tuple(_piece(sheet, index, page) for index in range(len(sheet.segments))),
        scale=scale(sheet),
        finish=_about(sheet, len(sheet.segments)) + rowing_clock(sheet, sheet.row_end_ms),
        end=_span(sheet, len(sheet.segments) - 1),
        has_quiet=bool(sheet.quiet),
        chapters=_chapters(sheet),
        notes=tuple(one_line(note) for note in sheet.notes),
        cautions=CAUTIONS,
    )


def _columns(sheet: CueSheet) -> Columns:
    return columns(
        [_start(sheet, index) for index in range(len(sheet.segments))],
        [one_line(rate_words(segment)) for segment in sheet.segments],
        [_hold(segment) for segment in sheet.segments],
    )


def _paper(sheet: CueSheet, widths: Columns) -> Paper:
    rows = []
    for index, segment in enumerate(sheet.segments):
        wanted = (more for more in _worth_having(sheet, index) if more.is_wanted)
        texts = [" ".join(_first(sheet, index)), *(f"{more.clock} {more.text}" for more in wanted)]
        rows.append((weight_of(segment), texts))
    return paper(one_line(sheet.title), rows, widths)


def _measures(page: Paper, widths: Columns) -> dict[str, str]:
    """Return what the style reads: rows and figures by weight, columns in digits, type."""
    rows = {f"row-{w.name.lower()}": page.row(w) for w in Weight}
    figures = {f"figure-{w.name.lower()}": page.figure(w) for w in Weight}
    other = {"say": page.say, "small": page.small, "strip": page.strip, "blade": page.blade}
    across = {"clock": widths.clock, "rate": widths.rate, "hold": widths.hold}
    return {
        **{name: f"{mm:.2f}mm" for name, mm in (rows | figures | other).items()},
        **{f"share-{w.name.lower()}": f"{w.value[0]:.2f}" for w in Weight},
        **{name: f"{digits:.2f}ch" for name, digits in across.items()},
    }


def _piece(sheet: CueSheet, index: int, page: Paper) -> Piece:
    segment = sheet.segments[index]
    weight = weight_of(segment)
    name, call, target = _first(sheet, index)
    if not page.fits and page.lines_of(f"{name} {call} {target}") > page.lines(weight):
        target = ""
    return Piece(
        start=_start(sheet, index),
        weight=weight.name.lower(),
        kind=segment.kind.value,
        rate=one_line(rate_words(segment)).replace("-", "\u2013"),
        hold=_hold(segment),
        units=_units(segment, page.small_lines(weight)),
        name=name,
        call=call,
        target=target,
        words=_more(sheet, index, page, f"{name} {call} {target}"),
        marks=marks(sheet, segment),
    )


def _first(sheet: CueSheet, index: int) -> tuple[str, str, str]:
    """Return a segment's name, what is said on the instant of its start and just after."""
    segment = sheet.segments[index]
    name = segment_name(segment)
    if not segment.rate and name.lower() == segment.kind.value:
        name = ""  # the kind stands in the rate's place
    end = _span(sheet, index) if segment.distance_m is not None else ""
    start_ms = segment.start_ms
    calls = (one_line(c.text) for c in sheet.cues if c.firm and c.at_ms == start_ms)
    targets = (one_line(c.text) for c in _of(sheet, index, CueKind.TARGET))
    named = ", ".join(part for part in (name, end and f"ends {end}") if part)
    return named, next(calls, ""), next(targets, "")


def _more(sheet: CueSheet, index: int, page: Paper, first: str) -> tuple[Spoken, ...]:
    """Return the words that page one was measured for, and as many more as have room."""
    free = page.lines(weight_of(sheet.segments[index])) - page.lines_of(first)
    words: list[Spoken] = []
    for more in _worth_having(sheet, index):
        lines = page.lines_of(f"{more.clock} {more.text}")
        if lines <= free or (page.fits and more.is_wanted):
            words.append(more)
            free -= lines
    return tuple(sorted(words, key=lambda more: more.at_ms))


def _worth_having(sheet: CueSheet, index: int) -> Iterator[Spoken]:
    """Give quiet spans, the coach's own lines, technique: what to have before one's eyes."""
    segment = sheet.segments[index]
    for span in sheet.quiet:
        if segment.start_ms <= span.start_ms < segment.end_ms:
            yield _quiet(sheet, span.start_ms, span.end_ms)
    for kind in (CueKind.OWN, CueKind.TECHNIQUE):
        for cue in _of(sheet, index, kind):
            text, clock = one_line(cue.text), rowing_clock(sheet, cue.at_ms)
            yield Spoken(clock, text, firm=cue.firm, at_ms=cue.at_ms)


def _quiet(sheet: CueSheet, start_ms: int, end_ms: int) -> Spoken:
    text = f"quiet to {rowing_clock(sheet, end_ms)}"
    return Spoken(rowing_clock(sheet, start_ms), text, is_quiet=True, at_ms=start_ms)


def _of(sheet: CueSheet, index: int, kind: CueKind) -> Iterator[Cue]:
    return (cue for cue in sheet.cues if cue.segment == index and cue.kind is kind)


def _start(sheet: CueSheet, index: int) -> str:
    return _about(sheet, index) + rowing_clock(sheet, sheet.segments[index].start_ms)


def _about(sheet: CueSheet, index: int) -> str:
    """Return the mark of an instant that moves with the pace: metres came before it."""
    return "~" if index > 0 and end_spreads(sheet)[index - 1] > 0 else ""


def _span(sheet: CueSheet, index: int) -> str:
    """Return between which instants a segment ends, or nothing where no metres came before."""
    words = end_words(sheet, index)
    return words.partition("(")[2].rstrip(")")


def _hold(segment: SheetSegment) -> str:
    """Return what to hold: a split before an effort."""
    if segment.split_ms is not None:
        return split_text(segment.split_ms)
    return f"{segment.effort_pct} %" if segment.effort_pct else ""


def _units(segment: SheetSegment, most: int) -> tuple[str, ...]:
    """Return what stands small beside the target, in at most so many short lines."""
    length = length_words(segment)
    effort = f"{segment.effort_pct} %" if segment.effort_pct else ""
    if segment.split_ms is None:
        lines = ("effort", f"for {length}") if effort else (f"for {length}",)
        return lines if len(lines) <= most else (" ".join(lines),)
    if most < 3:
        return "/500 m", ", ".join(fact for fact in (length, effort) if fact)
    return ("/500 m", f"for {length}", *((f"{effort} effort",) if effort else ()))


def _chapters(sheet: CueSheet) -> tuple[Chapter, ...]:
    """Return the script by where it is heard: before the first stroke, each segment, after."""
    parts = stretches(sheet)
    return tuple(_chapter(sheet, part, part is parts[-1]) for part in parts)


def _chapter(sheet: CueSheet, part: Stretch, is_last: bool) -> Chapter:
    segment = None if part.index is None else sheet.segments[part.index]
    end_ms = sheet.duration_ms + 1 if is_last else part.end_ms
    said = [
        Spoken(rowing_clock(sheet, line.at_ms), line.text, firm=line.firm, at_ms=line.at_ms)
        for line in script_lines(sheet)
        if part.start_ms <= line.at_ms < end_ms
    ]
    said += [
        _quiet(sheet, span.start_ms, span.end_ms)
        for span in sheet.quiet
        if part.start_ms <= span.start_ms < end_ms
    ]
    before = len(sheet.segments) if is_last else part.index or 0
    return Chapter(
        clock=_about(sheet, before) + rowing_clock(sheet, part.start_ms),
        heading=_heading(part, segment),
        why=one_line(segment.reason) if segment else "",
        lines=tuple(sorted(said, key=lambda line: line.at_ms)),
    )


def _heading(part: Stretch, segment: SheetSegment | None) -> str:
    if segment is None:
        return "Before the first stroke" if part.start_ms == 0 else "Finish"
    return one_line(segment.label) or part.name
