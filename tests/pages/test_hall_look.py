"""How the hall page looks, in a real Chromium: room, size, contrast, and what axe-core says.

Checked at widths from 360 to 3840 pixels, upright and lying, by day and in the dark, at
moments chosen for their awkward words: the longest line, a band of rates, a distance.

Sources
    Contrast: W3C WCAG 2.2, 1.4.6 (7:1) and 1.4.11 (3:1). Targets: 2.5.5 (44 px).
    Rules of axe-core 4 (Deque, MPL-2.0), those of level AAA and best practice included.
    Size of letters: ISO 9241-303 asks for capitals of 16 minutes of arc or more, and
    recommends 20 to 22 (from memory; the standard was not opened).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from cuegen.resources import templates_dir
from cuegen.schedule.cuesheet import CueSheet
from tests.pages.browsing import Opened, axe_finds_nothing, opened
from tests.pages.hall_pages import silent_page
from tests.pages.test_look import contrast
from tests.sheet.samples import sample_sheet

pytestmark = pytest.mark.slow

SIZES = (
    *((360, 640), (390, 844), (768, 1024), (844, 390), (1024, 768), (1080, 1920)),
    *((1366, 768), (1920, 1080), (2560, 1080), (3840, 1080), (3840, 2160)),
)

LONG = (
    "Share out about seventy-five strokes in the next piece, all at two eleven, or if you are "
    "new, at seventy-five percent."
)
"""As long as lines of the house's books get while people row: 118 letters."""

CAUTION = (
    "Know when to stop: chest pain, back pain, dizziness, faintness, unusual breathlessness. "
    "Know when to ease: whenever you need to. Your coach and clinician come before this voice."
)
"""The longest of all, said before the first stroke."""

MOMENTS_MS = {"opening": 8_000, "beat": 23_500, "line": 201_000, "distance": 421_000,
              "no-rate": 601_000, "closing": 665_000}  # fmt: skip


def sheet() -> CueSheet:
    """Return the sample sheet, some of its lines as long as real ones get."""
    texts = {"caution": CAUTION, "technique.1.1": LONG, "cool.3": LONG}
    made = sample_sheet()
    return made.model_copy(
        update={
            "title": "Alder ladder",
            "cues": tuple(
                cue.model_copy(update={"text": texts.get(cue.id, cue.text)}) for cue in made.cues
            ),
        }
    )


@pytest.fixture(scope="module")
def page_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return silent_page(tmp_path_factory.mktemp("look"), sheet())


@contextmanager
def shown(
    browser: Browser, path: Path, size: tuple[int, int], *, dark: bool = False
) -> Iterator[Opened]:
    """Open the page; `at` moves its clock."""
    scheme = "dark" if dark else "light"
    move = "window.ahead = 0; const n = performance.now.bind(performance);"
    move += "performance.now = () => n() + window.ahead;"
    with opened(browser, path, size, color_scheme=scheme, before=move) as it:
        yield it
        assert it.said == []


def at(it: Opened, ms: int) -> None:
    """Move the page on to an instant, and pause it there."""
    it.page.locator("#start-button" if it.mode == "ready" else "#main-button").click()
    it.until_mode("running")
    before = float(it.ask("window.reached || 0"))
    it.ask("(ms) => { window.ahead += ms; }", ms - before)
    it.page.locator("#main-button").click()
    it.until_mode("paused")
    it.ask("(ms) => { window.reached = ms; }", ms)


BOXES = """
() => {
  const words = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    const parent = node.parentElement;
    if (!node.textContent.trim() || parent.closest("script, style, svg, .unseen")) continue;
    if (!parent.checkVisibility({ checkVisibilityCSS: true })) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    const style = getComputedStyle(parent);
    for (const box of range.getClientRects()) {
      words.push({ text: node.textContent.trim(), x: box.x, y: box.y, right: box.right,
        bottom: box.bottom, size: parseFloat(style.fontSize),
        line: parent.outerHTML.slice(0, 60) });
    }
  }
  return words;
}
"""


def letters(box: dict[str, Any]) -> tuple[float, float, float, float]:
    """Return a box shrunk to where letters are: line boxes of big type overlap harmlessly.

    Digits and capitals of the faces used are under 0.74 of their size tall, what hangs
    below the line under 0.22; a line box is centred on them.
    """
    middle = (box["y"] + box["bottom"]) / 2
    return box["x"], middle - 0.4 * box["size"], box["right"], middle + 0.4 * box["size"]


def overlaps(one: dict[str, Any], other: dict[str, Any]) -> bool:
    a, b = letters(one), letters(other)
    across = min(a[2], b[2]) - max(a[0], b[0])
    down = min(a[3], b[3]) - max(a[1], b[1])
    return across > 1 and down > 1


# ------------------------------------------------------------------- room


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_no_words_are_cut_or_lie_on_others(
    chromium: Browser, page_path: Path, size: tuple[int, int]
) -> None:
    with shown(chromium, page_path, size) as it:
        assert it.ask("document.documentElement.scrollWidth") <= size[0]
        for name, ms in MOMENTS_MS.items():
            at(it, ms)
            check_room(it, size, name)


def check_room(it: Opened, size: tuple[int, int], name: str) -> None:
    scroll = it.ask("[document.documentElement.scrollWidth, document.documentElement.scrollHeight]")
    assert scroll[0] <= size[0], name
    assert scroll[1] <= size[1], name
    words = it.ask(BOXES)
    assert len(words) > 8
    for box in words:
        x, top, right, bottom = letters(box)
        assert x >= 0, (name, box)
        assert top >= -1, (name, box)
        assert right <= size[0] + 0.5, (name, box)
        assert bottom <= size[1] + 1, (name, box)
    for i, one in enumerate(words):
        for other in words[i + 1 :]:
            same_words = one["line"] == other["line"] and one["text"] == other["text"]
            assert same_words or not overlaps(one, other), (name, one, other)
    cut = it.ask(
        """[...document.querySelectorAll(".fit, .caption, button, h1, .stage, main")]
          .filter((one) => one.checkVisibility() && (one.scrollWidth > one.clientWidth + 1
            || (one.matches(".caption, .stage, main") && one.scrollHeight > one.clientHeight + 1)))
          .map((one) => one.id || one.tagName)"""
    )
    assert cut == [], name


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_what_stands_before_the_start_has_room(
    chromium: Browser, page_path: Path, size: tuple[int, int]
) -> None:
    with shown(chromium, page_path, size) as it:
        words = it.ask(BOXES)
        assert it.ask("document.documentElement.scrollWidth") <= size[0]
        for i, one in enumerate(words):
            assert 0 <= one["x"] <= one["right"] <= size[0] + 0.5, one
            for other in words[i + 1 :]:
                assert one["line"] == other["line"] or not overlaps(one, other), (one, other)
        start = it.page.locator("#start-button").bounding_box()
        assert start is not None
        assert start["y"] + start["height"] <= size[1]


@pytest.mark.parametrize("size", [(360, 640), (1366, 768), (3840, 2160)])
def test_no_line_of_type_is_smaller_than_a_browser_s_own(
    chromium: Browser, page_path: Path, size: tuple[int, int]
) -> None:
    """16 px for what is read in a hand; on a large screen the least grows with it."""
    with shown(chromium, page_path, size) as it:
        for ms in MOMENTS_MS.values():
            at(it, ms)
            least = 15 if size[0] < 1000 else 16 if size[0] < 3000 else 40
            small = [box for box in it.ask(BOXES) if box["size"] < least]
            assert [box["text"] for box in small] == []


@pytest.mark.parametrize("size", [(360, 640), (1920, 1080)])
def test_every_button_is_large_enough_for_a_thumb(
    chromium: Browser, page_path: Path, size: tuple[int, int]
) -> None:
    with shown(chromium, page_path, size) as it:
        at(it, MOMENTS_MS["line"])
        it.page.keyboard.press("c")
        boxes = it.ask(
            """[...document.querySelectorAll("button")].filter((one) => one.checkVisibility())
              .map((one) => [one.innerText, one.offsetWidth, one.offsetHeight])"""
        )
        assert len(boxes) > 8
        assert [box for box in boxes if min(box[1:]) < 44] == []


# ------------------------------------------------------ read from ten metres

METRES, INCHES = 10.0, 55.0
"""A usual screen on a hall's wall (common practice, no source); a larger one is easier."""


def pixels_of(minutes: float) -> float:
    """Return how tall a capital of so many minutes of arc is, in pixels of a 1080p screen."""
    screen_mm = INCHES * 25.4 * 9 / math.hypot(16, 9)
    letter_mm = METRES * 1000 * math.tan(math.radians(minutes / 60))
    return letter_mm * 1080 / screen_mm


def test_the_angle_is_reckoned_right() -> None:
    """D: 16 minutes of arc at 10 m are 46.5 mm; 1080 lines on 55 inches are 0.634 mm each."""
    assert pixels_of(16) == pytest.approx(46.54 / 0.6342, rel=0.001)


CAPITAL = """
(id) => {
  const element = document.getElementById(id);
  const style = getComputedStyle(element);
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = `${style.fontWeight} 1000px ${style.fontFamily}`; // it gives whole pixels
  return pen.measureText("H").actualBoundingBoxAscent * parseFloat(style.fontSize) / 1000;
}
"""


@pytest.mark.parametrize(
    ("name", "minutes"),
    [("figure", 60), ("hold", 22), ("left", 22), ("name", 16), ("next", 16), ("caption", 16)],
)
def test_what_rowers_read_is_large_enough_at_ten_metres(
    chromium: Browser, page_path: Path, name: str, minutes: float
) -> None:
    with shown(chromium, page_path, (1920, 1080)) as it:
        at(it, MOMENTS_MS["line"])
        assert it.text("caption") == LONG
        assert it.ask(CAPITAL, name) >= pixels_of(minutes)


# ------------------------------------------------------------- seen by everyone


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("moment", ["ready", *MOMENTS_MS])
def test_axe_finds_nothing(chromium: Browser, page_path: Path, moment: str, dark: bool) -> None:
    with shown(chromium, page_path, (1366, 768), dark=dark) as it:
        if moment != "ready":
            at(it, MOMENTS_MS[moment])
        if moment == "line":
            it.page.keyboard.press("c")
        axe_finds_nothing(it.page)


@pytest.mark.parametrize("dark", [False, True])
def test_all_words_stand_out_seven_to_one(chromium: Browser, page_path: Path, dark: bool) -> None:
    with shown(chromium, page_path, (1366, 768), dark=dark) as it:
        pairs = set()
        for moment in ("ready", *MOMENTS_MS):
            if moment != "ready":
                at(it, MOMENTS_MS[moment])
            pairs |= {tuple(pair) for pair in it.ask(COLOURS)}
        assert len(pairs) >= 4
        ratios = {pair: contrast(hexed(pair[0]), hexed(pair[1])) for pair in pairs}
        assert min(ratios.values()) >= 7, ratios


@pytest.mark.parametrize(("dark", "paper"), [(False, "#ffffff"), (True, "#101617")])
def test_the_page_is_dark_where_the_reader_is(
    chromium: Browser, page_path: Path, dark: bool, paper: str
) -> None:
    with shown(chromium, page_path, (1366, 768), dark=dark) as it:
        assert hexed(it.ask("getComputedStyle(document.body).backgroundColor")) == paper


COLOURS = """
() => {
  const pairs = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    let one = walker.currentNode.parentElement;
    if (!walker.currentNode.textContent.trim() || one.closest("script, style, svg")) continue;
    if (!one.checkVisibility({ checkVisibilityCSS: true })) continue;
    const colour = getComputedStyle(one).color;
    const ground = () => getComputedStyle(one).backgroundColor;
    while (ground() === "rgba(0, 0, 0, 0)") one = one.parentElement;
    pairs.push([colour, ground()]);
  }
  return pairs;
}
"""


def hexed(colour: str) -> str:
    """Return "rgb(20, 24, 26)" as "#14181a"; a see-through colour is none of the page's."""
    found = re.fullmatch(r"rgb\((\d+), (\d+), (\d+)\)", colour)
    assert found is not None, colour
    return "#" + "".join(f"{int(part):02x}" for part in found.groups())


def test_the_river_and_its_lines_stand_out_three_to_one_by_day_and_in_the_dark() -> None:
    day = dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", style("look.css")))
    dark = dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", style("dark.css")))
    assert set(dark) == set(day)
    for colours in (day, dark):
        for name in ("ink", "river", "line", "flag"):
            assert contrast(colours[name], colours["paper"]) >= 3


def test_the_style_names_colours_of_the_family_only() -> None:
    uses = re.findall(r"(?<![-\w])(?:color|fill|background|stroke): ([^;}]+)", style("hall.css"))
    names = ("paper", "ink", "soft", "river", "line", "flag")
    assert {use.strip() for use in uses} <= {"none", *(f"var(--{name})" for name in names)}


def style(name: str) -> str:
    return (templates_dir() / name).read_text(encoding="utf-8")
