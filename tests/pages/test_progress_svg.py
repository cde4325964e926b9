"""The drawings as files and on a page: plain, the same every time, in the page's colours."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import matplotlib
import pytest
from PIL import Image

from cuegen.pages import progress_axes as axes
from cuegen.pages.progress_plots import Plot, draw, plot_for_page, plot_png, plot_svg
from cuegen.resources import templates_dir
from tests.pages.progress_drawings import SVG, drawing
from tests.pages.test_look import colours, contrast
from tests.targets.histories import history


@pytest.mark.parametrize("which", Plot)
def test_an_svg_refers_to_nothing_and_runs_nothing(which: Plot) -> None:
    svg = plot_svg(history(), which)
    root = ET.fromstring(svg.encode())
    assert {one.tag.removeprefix(SVG) for one in root.iter()} == {
        *("svg", "g", "path", "text", "title", "desc")
    }
    names = {name for one in root.iter() for name in one.attrib}
    assert not any("href" in name or name.startswith("on") or name == "style" for name in names)
    assert "url(" not in svg


def test_on_a_page_every_colour_is_the_page_s() -> None:
    for which in (Plot.SPLITS, Plot.WORK, Plot.TARGETS):
        root = ET.fromstring(plot_for_page(history(), which))
        used = {one.get(name, "none") for one in root.iter() for name in ("fill", "stroke")}
        assert all(one == "none" or re.fullmatch(r"var\(--[a-z0-9-]+\)", one) for one in used)
        assert "width" not in root.attrib


def test_ids_on_a_page_are_unique() -> None:
    found = [
        one.attrib["id"]
        for which in (Plot.SPLITS, Plot.WORK, Plot.TARGETS)
        for one in ET.fromstring(plot_for_page(history(), which)).iter()
        if "id" in one.attrib
    ]
    assert len(found) == len(set(found)) > 20


_OTHER = """
import sys
from cuegen.pages import progress, progress_note, progress_save, progress_table
from cuegen.cli import progress_show
assert "matplotlib" not in sys.modules, "loaded before a plot was made"
from cuegen.pages.progress_plots import Plot, plot_png, plot_svg
from tests.targets.histories import history
sys.stdout.buffer.write(plot_svg(history(), Plot.ALL).encode() + plot_png(history(), Plot.ALL))
assert "matplotlib.pyplot" not in sys.modules
"""

_SETTINGS = """
svg.fonttype: path
svg.hashsalt: other
font.size: 23
figure.dpi: 31
savefig.transparent: True
axes.facecolor: yellow
lines.linewidth: 9
"""


def test_the_same_history_is_the_same_bytes_in_another_process_with_other_settings(
    tmp_path: Path,
) -> None:
    """And matplotlib is loaded where a plot is made, pyplot never."""
    (tmp_path / "matplotlibrc").write_text(_SETTINGS, encoding="utf-8")
    changed = {"PYTHONHASHSEED": "7", "MATPLOTLIBRC": str(tmp_path / "matplotlibrc")}
    root = Path(__file__).parents[2]
    ran = subprocess.run(
        [sys.executable, "-c", _OTHER],
        env=os.environ | changed, cwd=root, capture_output=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr.decode()
    here = plot_svg(history(), Plot.ALL).encode() + plot_png(history(), Plot.ALL)
    assert ran.stdout == here


def test_nobody_s_settings_are_changed() -> None:
    with matplotlib.rc_context({"font.size": 23}):
        before = dict(matplotlib.rcParams)
        draw(history(), Plot.ALL)
        plot_png(history(), Plot.SPLITS)
        plot_svg(history(), Plot.SPLITS)
        assert dict(matplotlib.rcParams) == before


@pytest.mark.parametrize("which", Plot)
def test_a_png_has_two_pixels_to_each_of_a_screen_s(which: Plot) -> None:
    """Read by Pillow; CSS has 96 pixels to the inch (W3C CSS Values 3, 6.2), SVG 72 points."""
    size = Image.open(io.BytesIO(plot_png(history(), which))).size
    _, _, width, height = map(float, (drawing(which).root.get("viewBox") or "").split())
    assert size[0] == width / 72 * 96 * 2 == 960
    assert size[1] == pytest.approx(height / 72 * 96 * 2, abs=1)


def test_a_png_says_nothing_of_who_made_it_or_when() -> None:
    assert set(Image.open(io.BytesIO(plot_png(history(), Plot.WORK))).info) == {"dpi"}


# ----------------------------------------------------------------- colours


@pytest.mark.parametrize("dark", [False, True])
def test_lines_stand_out_three_to_one_by_day_and_by_night(dark: bool) -> None:
    """W3C WCAG 2.2, 1.4.11."""
    light, night = page_colours()
    found = night if dark else colours() | light
    for name in ("ink", "river", "flag", "line", "rate-1", "rate-2", "rate-3", "rate-4"):
        assert contrast(found[name], found["paper"]) >= 3, name


def test_words_stand_out_seven_to_one_by_night() -> None:
    """W3C WCAG 2.2, 1.4.6; by day the family's colours are held to it (test_look)."""
    _, night = page_colours()
    for name in ("ink", "soft", "river", "flag"):
        assert contrast(night[name], night["paper"]) >= 7, name


def test_a_drawing_and_the_page_s_style_have_the_same_colours() -> None:
    light, night = page_colours()
    assert tuple(light.values()) == axes.RATE_COLOURS[1:]
    family = (axes.PAPER, axes.INK, axes.SOFT, axes.RIVER, axes.LINE, axes.FLAG)
    assert dict(zip(("paper", "ink", "soft", "river", "line", "flag"), family, strict=True)) == (
        colours()
    )
    assert set(night) == set(colours()) | set(light)


def page_colours() -> tuple[dict[str, str], dict[str, str]]:
    """Return the colours of progress.css by day, and with those of dark.css by night."""
    folder = templates_dir()
    own = (folder / "progress.css").read_text(encoding="utf-8")
    by_night = (folder / "dark.css").read_text(encoding="utf-8")
    day, night = own.split("@media screen and (prefers-color-scheme: dark)")
    night += by_night
    named = re.compile(r"--([a-z0-9-]+): (#[0-9a-f]{6});")
    return dict(named.findall(day)), dict(named.findall(night))
