"""A history drawn: splits, work per stroke, targets against held, as SVG and PNG.

The one module of pages that brings in matplotlib, which takes most of a second: it is
imported where a plot is made and nowhere else. Nothing of matplotlib's settings is
changed for anybody else, nor do anybody's settings change what is drawn here.

The same history gives the same bytes: no day, no program's version, no random id.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from cuegen.pages import progress_axes as look
from cuegen.pages.progress_axes import BOTTOM, LEFT, RIGHT, TOP, WIDTH
from cuegen.pages.progress_drawing import PANELS, Panel
from cuegen.pages.progress_svg import Words, page_svg, plain_svg
from cuegen.pages.progress_words import described
from cuegen.sheet.wording import one_line
from cuegen.targets.history import History

POINTS_PER_INCH = 72
PNG_DPI = 2 * 96
"""Two pixels to each of CSS's, of which an inch has 96."""

_HEADING_ROOM = 44.0
_EMPTY_HEIGHT = 60.0

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 (W3C, section 2.2) has no place for."""

_SETTINGS: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "cuegen",
    "font.size": 11,
    "text.color": look.INK,
    "xtick.color": look.INK,
    "ytick.color": look.INK,
    "xtick.major.size": 0,
    "ytick.major.size": 0,
    "axes.edgecolor": look.INK,
    "axes.facecolor": "none",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.spines.left": False,
    "axes.grid": True,
    "axes.grid.axis": "y",
    "axes.axisbelow": True,
    "grid.color": look.LINE,
    "grid.linewidth": 0.5,
    "grid.linestyle": (0, (2, 3)),
    "text.parse_math": False,
}
"""Over matplotlib's defaults; its types name every key there is, which ours need not."""

_ON_PAGE = {
    look.PAPER: "var(--paper)",
    look.INK: "var(--ink)",
    look.SOFT: "var(--soft)",
    look.RIVER: "var(--river)",
    look.LINE: "var(--line)",
    look.FLAG: "var(--flag)",
} | {colour: f"var(--rate-{i})" for i, colour in enumerate(look.RATE_COLOURS) if i}
"""What stands on a page, in the light and in the dark, for each colour."""


class Plot(StrEnum):
    """Which drawing: one of the three, or all of them, one below the other."""

    SPLITS = "splits"
    WORK = "work"
    TARGETS = "targets"
    ALL = "all"


def draw(history: History, which: Plot) -> Figure:
    """Return a drawing. Where nothing was rowed it says so."""
    with _settings():
        panels = [panel for panel in PANELS if which in (Plot.ALL, panel.name)]
        heights = [panel.height(history) if history.pieces else _EMPTY_HEIGHT for panel in panels]
        top = _HEADING_ROOM if which is Plot.ALL else 0.0
        total = top + sum(TOP + height + BOTTOM for height in heights)
        size = (WIDTH / POINTS_PER_INCH, total / POINTS_PER_INCH)
        figure = Figure(figsize=size, facecolor=look.PAPER)
        FigureCanvasAgg(figure)
        if which is Plot.ALL:
            _write_heading(figure, history, total)
        for panel, height in zip(panels, heights, strict=True):
            _draw_panel(figure, panel, history, (total, top, height))
            top += TOP + height + BOTTOM
        return figure


def plot_svg(history: History, which: Plot) -> str:
    """Return a drawing as the text of an SVG file."""
    return plain_svg(_drawn_svg(history, which), _words(history, which))


def plot_for_page(history: History, which: Plot) -> str:
    """Return a drawing as an SVG element whose colours are those of a page's style."""
    return page_svg(_drawn_svg(history, which), _words(history, which), _ON_PAGE)


def plot_png(history: History, which: Plot) -> bytes:
    """Return a drawing as the bytes of a PNG, two pixels to the point of a screen."""
    figure = draw(history, which)
    out = io.BytesIO()
    with _settings():
        figure.savefig(out, format="png", dpi=PNG_DPI, metadata={"Software": None})
    return out.getvalue()


def _drawn_svg(history: History, which: Plot) -> str:
    figure = draw(history, which)
    out = io.BytesIO()
    with _settings():
        FigureCanvasSVG(figure)
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue().decode("utf-8")


def _words(history: History, which: Plot) -> Words:
    chosen = [panel for panel in PANELS if which in (Plot.ALL, panel.name)]
    title = f"{', '.join(_heading(history))}: {', '.join(panel.title for panel in chosen)}"
    desc = " ".join(described(history, panel.name) for panel in chosen)
    return Words(which.value, title, desc)


@contextmanager
def _settings() -> Iterator[None]:
    """Draw with matplotlib's defaults and our own settings, and put back what was before."""
    with matplotlib.rc_context(), warnings.catch_warnings():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_SETTINGS)
        # A name in letters that the font lacks: the SVG has it whole, the PNG a box.
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        yield


def _draw_panel(
    figure: Figure, panel: Panel, history: History, place: tuple[float, float, float]
) -> None:
    """Draw a panel; place: height of the whole, how far down this one starts, its axes' height."""
    total, top, height = place
    bottom = total - top - TOP - height
    area = (LEFT / WIDTH, bottom / total, (WIDTH - LEFT - RIGHT) / WIDTH, height / total)
    if panel.name == Plot.TARGETS:
        area = (*area[:2], (WIDTH - LEFT - 8) / WIDTH, area[3])
    axes = figure.add_axes(area)
    for down, words, weight in ((14, panel.title, "bold"), (28, panel.key(history), "normal")):
        y = (total - top - down) / total
        figure.text(6 / WIDTH, y, words, fontweight=weight, color=look.INK)
    if history.pieces:
        panel.draw(axes, history, height)
    else:
        _say_empty(axes)


def _say_empty(axes: Axes) -> None:
    axes.set_axis_off()
    axes.text(0, 0.5, "nothing rowed yet", va="center")


def _write_heading(figure: Figure, history: History, total: float) -> None:
    looks = ((22, 14, "bold"), (38, 11, "normal"))
    for said, (down, size, weight) in zip(_heading(history), looks, strict=True):
        figure.text(6 / WIDTH, (total - down) / total, said, fontsize=size, fontweight=weight)


def _heading(history: History) -> tuple[str, str]:
    """Return the lines above all drawings: block and rower, no longer than there is room."""
    return _line(history.block, 40), _line(history.rower, 52)


def _line(text: str, most: int) -> str:
    line = _NOT_XML.sub("", one_line(text))
    return line if len(line) <= most else line[: most - 1].rstrip() + "\u2026"
