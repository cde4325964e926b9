"""The session picture: the shape of a session as SVG and PNG, for a post or a wall.

Time runs to the right along a line; rate stands above it, effort lies below, as on the
river of the hall page (cuegen.pages.shape). On the line every cue has its mark: a tall
one is firm, a short one floats, and where quiet is planned the line is dotted.

It is public: no rower's name, no split and no watt is in it, as in the notes to publish.
Imported where a picture is made and nowhere else: it brings in matplotlib
(cuegen.pages.drawing). The same sheet gives the same bytes.

Conventions
    Lengths are points. The picture is 900 x 472.5 of them, which is 1200 x 630 pixels of
    CSS: the shape that links are shown in (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from cuegen.clock import clock_text
from cuegen.files import by_suffix, writing
from cuegen.pages.drawing import CSS_DPI, drawn_png, drawn_svg, no_longer, our_settings
from cuegen.pages.drawing import sheet_of_paper as paper
from cuegen.pages.progress_axes import INK, LINE, PAPER, RIVER, SOFT
from cuegen.pages.progress_svg import Words, plain_svg
from cuegen.pages.shape import Reach, rate_band, reaches
from cuegen.plan.model import SEGMENT_KINDS
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.wording import length_words

WIDTH, HEIGHT = 900.0, 472.5
SIDE = 34.0
"""Empty on the left and on the right."""

UNDER, OVER = 58.0, 118.0
"""Empty under and over the shape, for clocks and key, and for title and facts."""

_LINE_ROOM = 0.13
"""Half the height of the band between the banks in which cues are marked; a bank has 1."""

_SIZES = (25.0, 19.0, 15.0, 12.0)
"""Of figures, the largest that has room; under the last a figure is left out."""

_DIGIT = 0.7
"""How broad a digit of DejaVu Sans Bold is, in its size (from the font: 1425 of 2048)."""

_MOST_TITLE = 44
_STEPS_MIN = (1, 2, 5, 10, 15, 20, 30, 60)
_MOST_CLOCKS = 9


def draw(sheet: CueSheet) -> Figure:
    """Return the picture as a drawing."""
    with our_settings():
        figure = paper(WIDTH, HEIGHT)
        area = (SIDE / WIDTH, UNDER / HEIGHT, 1 - 2 * SIDE / WIDTH, 1 - (UNDER + OVER) / HEIGHT)
        axes = figure.add_axes(area)
        axes.set_axis_off()
        axes.set_xlim(0, sheet.duration_ms)
        axes.set_ylim(-1 - _LINE_ROOM, 1 + _LINE_ROOM)
        _write_head(figure, sheet)
        for reach in reaches(sheet):
            _draw_reach(axes, reach, sheet.duration_ms)
        _draw_line(axes, sheet)
        _write_clocks(axes, sheet)
        return figure


def picture_svg(sheet: CueSheet) -> str:
    """Return the picture as the text of an SVG file."""
    words = Words("session", f"{no_longer(sheet.title, 200)}: {_facts(sheet)}", described(sheet))
    return plain_svg(drawn_svg(draw(sheet)), words)


def picture_png(sheet: CueSheet) -> bytes:
    """Return the picture as the bytes of a PNG of 1200 x 630 pixels."""
    return drawn_png(draw(sheet), CSS_DPI)


WRITERS: dict[str, Callable[[CueSheet], bytes]] = {
    ".svg": lambda sheet: picture_svg(sheet).encode(),
    ".png": picture_png,
}


def save_picture(sheet: CueSheet, path: Path | str) -> None:
    """Write the picture, whole or not at all, as what the name ends in (WRITERS).

    Raises OutputError for another ending, or a place that cannot be written to.
    """
    path = Path(path)
    data = writer_of(path)(sheet)
    with writing(path) as part:
        part.write_bytes(data)


def writer_of(path: Path) -> Callable[[CueSheet], bytes]:
    """Return what writes a picture of that name. Raises OutputError for an unknown ending."""
    return by_suffix(path, WRITERS, "a picture")


def described(sheet: CueSheet) -> str:
    """Return in words what the picture shows."""
    said = []
    for segment in sheet.segments:
        asks = (f"rate {segment.rate}" if segment.rate else "",
                f"{segment.effort_pct} % effort" if segment.effort_pct else "")  # fmt: skip
        said.append(", ".join(filter(None, (segment.kind.value, length_words(segment), *asks))))
    firm = sum(cue.firm for cue in sheet.cues)
    quiet = sum(span.end_ms - span.start_ms for span in sheet.quiet)
    spoken = f"{len(sheet.cues)} cues, {firm} of them firm; {clock_text(quiet)} of planned quiet"
    return f"{'; '.join(said)}. {spoken}."


# ------------------------------------------------------------------ words


def _write_head(figure: Figure, sheet: CueSheet) -> None:
    title = no_longer(sheet.title, _MOST_TITLE)
    size = min(40.0, 40.0 * 26 / max(1, len(title)))
    lines = ((54, title, size, "bold", INK), (88, _facts(sheet), 19, "normal", SOFT))
    for down, words, points, weight, colour in lines:
        text = figure.text(SIDE / WIDTH, 1 - down / HEIGHT, words, color=colour)
        text.set(fontsize=points, fontweight=weight)


def _facts(sheet: CueSheet) -> str:
    pieces = sum(SEGMENT_KINDS[segment.kind].is_work for segment in sheet.segments)
    rowing = clock_text(sheet.row_end_ms - sheet.lead_in_ms)
    rates = [rate for one in sheet.segments for rate in rate_band(one) or ()]
    said = [f"{rowing} of rowing", f"{pieces} piece{'' if pieces == 1 else 's'}"]
    if rates:
        low, high = min(rates), max(rates)
        said.append(f"rate {low}" if low == high else f"rates {low} to {high}")
    return ", ".join(said)


def _write_clocks(axes: Axes, sheet: CueSheet) -> None:
    """Write the rowing clock below, and what the marks are."""
    rowed_min = (sheet.row_end_ms - sheet.lead_in_ms) / 60_000
    step = next((one for one in _STEPS_MIN if rowed_min / one <= _MOST_CLOCKS), _STEPS_MIN[-1])
    low = -1 - _LINE_ROOM
    for minute in range(0, int(rowed_min) + 1, step):
        at = sheet.lead_in_ms + minute * 60_000
        axes.annotate(
            str(minute), (at, low), (0, -17), textcoords="offset points", ha="center",
            fontsize=14, annotation_clip=False,
        )  # fmt: skip
    key = "minutes.  above: rate, below: effort.  marks: cues, tall ones firm"
    key += "; dots: planned quiet" if sheet.quiet else ""
    axes.annotate(
        key, (0, low), (0, -41), textcoords="offset points", fontsize=13, color=SOFT,
        annotation_clip=False,
    )  # fmt: skip


# -------------------------------------------------------------- the shape


def _draw_reach(axes: Axes, reach: Reach, duration_ms: int) -> None:
    """Draw a segment: rate as a body above, effort as its reflection, in strokes, below."""
    span = (reach.start_ms, reach.end_ms)
    broad = (reach.end_ms - reach.start_ms) / duration_ms * (WIDTH - 2 * SIDE)
    top, bottom = _LINE_ROOM + reach.rate_share, -_LINE_ROOM - reach.effort_share
    if reach.rate_share > 0:
        body = axes.fill_between(span, _LINE_ROOM, top, facecolor=RIVER, edgecolor=PAPER, lw=1.5)
        body.set_gid(f"rate-{reach.start_ms}")
        _write_figure(
            axes, reach.rate, (sum(span) / 2, (_LINE_ROOM + top) / 2), broad, colour=PAPER
        )
    if reach.effort_pct > 0:
        levels = [-_LINE_ROOM - pct / 100 for pct in range(10, reach.effort_pct + 1, 10)]
        axes.hlines(levels, *span, colors=LINE, linewidths=0.6)
        corners = ((span[0], -_LINE_ROOM), (span[0], bottom), (span[1], bottom),
                   (span[1], -_LINE_ROOM))  # fmt: skip
        (edge,) = axes.plot(*zip(*corners, strict=True), color=RIVER, lw=1.8)
        edge.set_gid(f"effort-{reach.start_ms}")
        middle = (sum(span) / 2, (bottom - _LINE_ROOM) / 2)
        _write_figure(axes, f"{reach.effort_pct} %", middle, broad, colour=RIVER, ground=PAPER)


def _write_figure(
    axes: Axes, words: str, at: tuple[float, float], broad: float, *, colour: str, ground: str = ""
) -> None:
    """Write a figure in the middle of a bank, as large as there is room."""
    size = next((one for one in _SIZES if one * _DIGIT * len(words) + 3 <= broad), None)
    if size is None or not words:
        return
    text = axes.text(*at, words, ha="center", va="center_baseline", color=colour)
    text.set(fontsize=size, fontweight="bold")
    if ground:
        text.set_bbox({"facecolor": ground, "edgecolor": "none", "pad": 2.0})


def _draw_line(axes: Axes, sheet: CueSheet) -> None:
    """Draw the line of time, and on it the cues."""
    for nth, (start, end, is_quiet) in enumerate(_stretches(sheet)):
        (line,) = axes.plot([start, end], [0, 0], color=INK, lw=2.4, solid_capstyle="butt")
        if is_quiet:
            line.set(linestyle=(0, (1, 1.2)), dash_capstyle="butt")
        line.set_gid(f"{'quiet' if is_quiet else 'time'}-{nth}")
    for is_firm, half, width in ((False, 0.045, 1.1), (True, 0.1, 1.6)):
        at = [cue.at_ms for cue in sheet.cues if cue.firm is is_firm]
        marks = axes.vlines(at, -half, half, colors=INK, linewidths=width)
        marks.set_gid("cues-firm" if is_firm else "cues-floating")


def _stretches(sheet: CueSheet) -> Iterator[tuple[int, int, bool]]:
    """Yield the track cut where planned quiet begins and ends, and which parts are quiet."""
    edges = {0, sheet.duration_ms} | set(_inside(sheet))
    for start, end in pairwise(sorted(edges)):
        yield start, end, any(one.start_ms <= start and end <= one.end_ms for one in sheet.quiet)


def _inside(sheet: CueSheet) -> Iterable[int]:
    ends = (ms for span in sheet.quiet for ms in (span.start_ms, span.end_ms))
    return (min(max(0, ms), sheet.duration_ms) for ms in ends)
