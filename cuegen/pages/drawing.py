"""What every drawing by matplotlib shares: its settings, its paper, its way into a file.

It takes most of a second to load: whoever imports this module does so where a drawing
is made and nowhere else. Nothing of matplotlib's settings is changed for anybody else,
nor do anybody's settings change what is drawn here.

The same drawing gives the same bytes: no day, no program's version, no random id.

Conventions
    Lengths are points, 72 to the inch. A pixel of CSS is three quarters of a point.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from cuegen.pages import progress_axes as look
from cuegen.sheet.wording import one_line

POINTS_PER_INCH = 72
CSS_DPI = 96
PNG_DPI = 2 * CSS_DPI
"""Two pixels to each of CSS's, of which an inch has 96."""

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


@contextmanager
def our_settings() -> Iterator[None]:
    """Draw with matplotlib's defaults and our own settings, and put back what was before."""
    with matplotlib.rc_context(), warnings.catch_warnings():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_SETTINGS)
        # A name in letters that the font lacks: the SVG has it whole, the PNG a box.
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        yield


def sheet_of_paper(width: float, height: float) -> Figure:
    """Return an empty drawing of so many points, on paper."""
    size = (width / POINTS_PER_INCH, height / POINTS_PER_INCH)
    figure = Figure(figsize=size, facecolor=look.PAPER)
    FigureCanvasAgg(figure)
    return figure


def drawn_svg(figure: Figure) -> str:
    """Return what matplotlib writes as SVG; cuegen.pages.progress_svg lays it flat."""
    out = io.BytesIO()
    with our_settings():
        FigureCanvasSVG(figure)
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue().decode("utf-8")


def drawn_png(figure: Figure, dpi: int = PNG_DPI) -> bytes:
    """Return a drawing as the bytes of a PNG."""
    out = io.BytesIO()
    with our_settings():
        figure.savefig(out, format="png", dpi=dpi, metadata={"Software": None})
    return out.getvalue()


def no_longer(text: str, most: int) -> str:
    """Return a text on one line, of characters that XML has, cut to so many with an ellipsis."""
    line = _NOT_XML.sub("", one_line(text))
    return line if len(line) <= most else line[: most - 1].rstrip() + "\u2026"
