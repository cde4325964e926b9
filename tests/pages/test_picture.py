"""The session picture, read back from the SVG and PNG that it is."""

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

from cuegen.errors import OutputError
from cuegen.pages.picture import draw, picture_png, picture_svg, save_picture
from cuegen.schedule.cuesheet import CueSheet
from tests.sheet.samples import sample_sheet

SVG = "{http://www.w3.org/2000/svg}"
_NUMBERS = re.compile(r"-?\d+(?:\.\d+)?")


def drawn(sheet: CueSheet | None = None) -> ET.Element:
    return ET.fromstring(picture_svg(sheet or sample_sheet()).encode())


def group(root: ET.Element, name: str) -> ET.Element:
    (found,) = (one for one in root.iter(f"{SVG}g") if one.get("id") == name)
    return found


def box(root: ET.Element, name: str) -> tuple[float, float, float, float]:
    """Return left, top, right, bottom of all paths of a group."""
    points = [
        tuple(map(float, pair))
        for path in group(root, name).iter(f"{SVG}path")
        for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.get("d", ""))
    ]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def across(ms: float) -> float:
    """Return where an instant lies: 34 points from the left, 832 for the sheet's 671 s."""
    return 34 + 832 * ms / 671_000


def texts(root: ET.Element) -> list[str]:
    return [one.text or "" for one in root.iter(f"{SVG}text")]


@pytest.mark.parametrize(("start", "end"), [(25_000, 145_000), (385_000, 565_000)])
def test_each_segment_stands_for_its_time(start: int, end: int) -> None:
    root = drawn()
    for bank in ("rate", "effort"):
        left, _, right, _ = box(root, f"{bank}-{start}")
        assert (left, right) == pytest.approx((across(start), across(end)), abs=0.01)


def test_rate_stands_above_the_line_and_effort_below_to_their_scales() -> None:
    """Rates 18, 20 and 25 over a bank that begins at 13; efforts 55, 75, 85 and 50 %."""
    root = drawn()
    tall = {at: box(root, f"rate-{at}") for at in (25_000, 145_000, 385_000)}
    heights = [bottom - top for _, top, _, bottom in tall.values()]
    assert [h / heights[2] for h in heights] == pytest.approx([5 / 12, 7 / 12, 1], abs=1e-3)
    deep = [box(root, f"effort-{at}") for at in (25_000, 145_000, 385_000, 565_000)]
    depths = [bottom - top for _, top, _, bottom in deep]
    assert [d / heights[2] for d in depths] == pytest.approx([0.55, 0.75, 0.85, 0.5], abs=1e-3)
    assert max(bottom for _, _, _, bottom in tall.values()) < min(top for _, top, _, _ in deep)


def test_a_segment_without_a_rate_has_nothing_above_the_line() -> None:
    names = {one.get("id") for one in drawn().iter(f"{SVG}g")}
    assert "effort-565000" in names
    assert "rate-565000" not in names


def test_every_cue_has_its_mark_and_firm_ones_are_taller() -> None:
    root = drawn()
    sheet = sample_sheet()
    for name, firm in (("cues-firm", True), ("cues-floating", False)):
        lines = [
            [float(x) for x in _NUMBERS.findall(path.get("d", ""))]
            for path in group(root, name).iter(f"{SVG}path")
        ]
        at = [across(cue.at_ms) for cue in sheet.cues if cue.firm is firm]
        assert [line[0] for line in lines] == pytest.approx(at, abs=0.01)
    _, top, _, bottom = box(root, "cues-firm")
    _, short_top, _, short_bottom = box(root, "cues-floating")
    assert bottom - top > 2 * (short_bottom - short_top)


def test_planned_quiet_is_dotted_and_the_rest_is_not() -> None:
    root = drawn()
    left, _, right, _ = box(root, "quiet-1")
    assert (left, right) == pytest.approx((across(440_000), across(460_000)), abs=0.01)
    (dotted,) = group(root, "quiet-1").iter(f"{SVG}path")
    assert dotted.get("stroke-dasharray")
    for name in ("time-0", "time-2"):
        (solid,) = group(root, name).iter(f"{SVG}path")
        assert solid.get("stroke-dasharray") is None


def test_without_quiet_the_key_does_not_speak_of_it() -> None:
    assert any("dots: planned quiet" in text for text in texts(drawn()))
    assert not any("quiet" in text for text in texts(drawn(sample_sheet(quiet=()))))


def test_figures_and_facts_are_written_where_there_is_room() -> None:
    said = texts(drawn())
    assert "Alder ladder <thirteen>" in said
    assert "10:36 of rowing, 2 pieces, rates 18 to 26" in said
    assert {"18", "20", "24\u201326", "55 %", "75 %", "85 %", "50 %"} <= set(said)


def test_a_segment_too_short_for_a_figure_has_none() -> None:
    sheet = sample_sheet()
    short = sheet.segments[0].model_copy(update={"end_ms": 33_000})
    rest = sheet.segments[1].model_copy(update={"start_ms": 33_000})
    segments = (short, rest, *sheet.segments[2:])
    said = texts(drawn(sheet.model_copy(update={"segments": segments})))
    assert "18" not in said
    assert "20" in said


def test_it_is_public_no_name_no_split_no_watt() -> None:
    svg = picture_svg(sample_sheet(rower="Maren Holt", rower_say="Mah-ren"))
    for secret in ("Maren", "Mah-ren", "2:14.0", "2:00.0", "145.4"):
        assert secret not in svg


def test_it_is_said_in_words_too() -> None:
    root = drawn()
    assert (root[0].tag, root[1].tag) == (f"{SVG}title", f"{SVG}desc")
    assert root.get("role") == "img"
    assert (root[1].text or "") == (
        "warm-up, 2:00, rate 18, 55 % effort; row, 4:00, rate 20, 75 % effort; "
        "row, 750 m, rate 24-26, 85 % effort; cool-down, 1:36, 50 % effort. "
        "17 cues, 8 of them firm; 0:20 of planned quiet."
    )


def test_it_refers_to_nothing_and_runs_nothing() -> None:
    svg = picture_svg(sample_sheet(title="<script>alert(1)</script>"))
    root = ET.fromstring(svg.encode())
    assert {one.tag.removeprefix(SVG) for one in root.iter()} == {
        *("svg", "g", "path", "text", "title", "desc")
    }
    assert "url(" not in svg
    assert "<script>alert(1)</script>" in texts(root)


def test_a_png_is_1200_by_630_as_is_the_svg() -> None:
    """Read by Pillow; 900 points are 1200 pixels of CSS (W3C CSS Values 3, 6.2)."""
    assert Image.open(io.BytesIO(picture_png(sample_sheet()))).size == (1200, 630)
    root = drawn()
    assert (root.get("width"), root.get("height")) == ("900pt", "472.5pt")


def test_words_lie_inside() -> None:
    """As wide as DejaVu Sans makes them, by matplotlib's own measure."""
    for title in ("A", "Alder " * 40):
        figure = draw(sample_sheet(title=title))
        renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]
        axes = figure.axes[0]
        for text in (*figure.texts, *axes.texts):
            extent = text.get_window_extent(renderer)
            assert extent.x0 >= 0
            assert extent.x1 <= figure.bbox.x1
            assert extent.y0 >= 0
            assert extent.y1 <= figure.bbox.y1


_OTHER = """
import sys
import cuegen.cli.page
assert "matplotlib" not in sys.modules, "loaded before a picture was made"
from cuegen.pages.picture import picture_png, picture_svg
from tests.sheet.samples import sample_sheet
sys.stdout.buffer.write(picture_svg(sample_sheet()).encode() + picture_png(sample_sheet()))
"""


def test_the_same_sheet_is_the_same_bytes_in_another_process_with_other_settings(
    tmp_path: Path,
) -> None:
    (tmp_path / "matplotlibrc").write_text("font.size: 23\nfigure.dpi: 31\n", encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-c", _OTHER],
        env=os.environ | {"PYTHONHASHSEED": "7", "MATPLOTLIBRC": str(tmp_path / "matplotlibrc")},
        cwd=Path(__file__).parents[2], capture_output=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr.decode()
    assert ran.stdout == picture_svg(sample_sheet()).encode() + picture_png(sample_sheet())


def test_nobody_s_settings_are_changed() -> None:
    before = dict(matplotlib.rcParams)
    draw(sample_sheet())
    assert dict(matplotlib.rcParams) == before


@pytest.mark.parametrize(("suffix", "head"), [(".svg", b"<?xml"), (".PNG", b"\x89PNG")])
def test_the_name_decides_what_is_written(tmp_path: Path, suffix: str, head: bytes) -> None:
    path = tmp_path / f"session{suffix}"
    save_picture(sample_sheet(), path)
    assert path.read_bytes().startswith(head)


@pytest.mark.parametrize(
    ("name", "words"), [("a.gif", "cannot be written as '.gif'"), ("a", "needs a suffix")]
)
def test_another_name_is_refused(tmp_path: Path, name: str, words: str) -> None:
    with pytest.raises(OutputError, match=words):
        save_picture(sample_sheet(), tmp_path / name)
    assert list(tmp_path.iterdir()) == []
