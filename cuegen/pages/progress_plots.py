"""A history drawn: splits, work per stroke, targets against held, as SVG and PNG.

Imported where a plot is made and nowhere else: it brings in matplotlib
(cuegen.pages.drawing), which takes most of a second.
"""

from __future__ import annotations

from enum import StrEnum

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from cuegen.pages import progress_axes as look
from cuegen.pages.drawing import drawn_png, drawn_svg, no_longer, our_settings, sheet_of_paper
from cuegen.pages.progress_axes import BOTTOM, LEFT, RIGHT, TOP, WIDTH
from cuegen.pages.progress_drawing import PANELS, Panel
from cuegen.pages.progress_svg import Words, page_svg, plain_svg
from cuegen.pages.progress_words import described
from cuegen.targets.history import History

_HEADING_ROOM = 44.0
_EMPTY_HEIGHT = 60.0

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
    with our_settings():
        panels = [panel for panel in PANELS if which in (Plot.ALL, panel.name)]
        heights = [panel.height(history) if history.pieces else _EMPTY_HEIGHT for panel in panels]
        top = _HEADING_ROOM if which is Plot.ALL else 0.0
        total = top + sum(TOP + height + BOTTOM for height in heights)
        figure = sheet_of_paper(WIDTH, total)
        if which is Plot.ALL:
            _write_heading(figure, history, total)
        for panel, height in zip(panels, heights, strict=True):
            _draw_panel(figure, panel, history, (total, top, height))
            top += TOP + height + BOTTOM
        return figure


def plot_svg(history: History, which: Plot) -> str:
    """Return a drawing as the text of an SVG file."""
    return plain_svg(drawn_svg(draw(history, which)), _words(history, which))


def plot_for_page(history: History, which: Plot) -> str:
    """Return a drawing as an SVG element whose colours are those of a page's style."""
    return page_svg(drawn_svg(draw(history, which)), _words(history, which), _ON_PAGE)


def plot_png(history: History, which: Plot) -> bytes:
    """Return a drawing as the bytes of a PNG, two pixels to the point of a screen."""
    return drawn_png(draw(history, which))


def _words(history: History, which: Plot) -> Words:
    chosen = [panel for panel in PANELS if which in (Plot.ALL, panel.name)]
    title = f"{', '.join(_heading(history))}: {', '.join(panel.title for panel in chosen)}"
    desc = " ".join(described(history, panel.name) for panel in chosen)
    return Words(which.value, title, desc)


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
    return no_longer(history.block, 40), no_longer(history.rower, 52)
