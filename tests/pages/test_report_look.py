"""How the listening report looks, in a real Chromium: room, drawings, and what axe-core says.

The report has what is awkward to lay out: a long file name, the longest line, every
check at fault, all three drawings with marks at their edges, links.

Sources
    Rules of axe-core 4 (Deque, MPL-2.0), those of level AAA and best practice included.
    Reflow without sideways scrolling: W3C WCAG 2.2, 1.4.10.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from cuegen.pages.beside import Beside
from cuegen.pages.report import save_report_page
from cuegen.verify.report import Check, Fault, ListeningReport, Verdict, worst_first
from tests.pages.browsing import axe_finds_nothing, opened
from tests.pages.samples import bad_report, heard
from tests.pages.test_report import clear_report
from tests.sheet.samples import cues

pytestmark = pytest.mark.slow

LONG = (
    "Know when to stop: chest pain, back pain, dizziness, faintness, unusual breathlessness. "
    "Know when to ease: whenever you need to. Your coach and clinician come before this voice."
)
CURVE = (*[-19.0] * 100, -60.0, *[None] * 40, *[-15.0] * 400, 4.0, *[-22.0] * 127)
BESIDE = Beside("./a%20long%20name%20of%20a%20sheet.html", "./hall.html")


def awkward_report() -> ListeningReport:
    over = {cue.id: 12.0 + 3 * number for number, cue in enumerate(cues())}
    clear = {cue.id: cue.stoi for cue in clear_report().cues}
    lines = tuple(
        cue.model_copy(
            update={
                "text": LONG if cue.id == "caution" else cue.text,
                "below_db": over[cue.id],
                "stoi": clear[cue.id],
            }
        )
        for cue in bad_report(cues=(*bad_report().cues[1:], heard("welcome", 99.0))).cues
    )
    faults = [
        Fault(check=check, problem=f"{LONG[:70]} {check}", cue="caution", at_ms=6_010)
        for check in Check
    ]
    return bad_report(
        file="a-long-name-of-a-file-that-somebody-gave-it-without-a-single-blank-week-12.mp3",
        cues=lines,
        faults=worst_first(faults),
        halls=clear_report().halls,
        notices=clear_report().notices,
        short_term_lufs=CURVE,
    )


@pytest.fixture(scope="module")
def page_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("report") / "report.html"
    save_report_page(awkward_report(), path, BESIDE)
    return path


WORDS = """
() => {
  const found = [];
  for (const text of document.querySelectorAll("svg text")) {
    const box = text.getBoundingClientRect(), frame = text.ownerSVGElement.getBoundingClientRect();
    found.push({ words: text.textContent,
      drawing: text.ownerSVGElement.getAttribute("aria-labelledby"),
      x: box.x, y: box.y, right: box.right, bottom: box.bottom,
      size: parseFloat(getComputedStyle(text).fontSize) * frame.width / 340,
      inside: box.x >= frame.x - 0.5 && box.right <= frame.right + 0.5
        && box.y >= frame.y - 0.5 && box.bottom <= frame.bottom + 0.5 });
  }
  return found;
}
"""
CUT = """
(width) => [...document.querySelectorAll("h1, h2, h3, p, li, td, th, figcaption, svg, a")]
  .filter((one) => !one.closest(".unseen"))
  .filter((one) => { const box = one.getBoundingClientRect();
    return box.x < 0 || box.right > width + 0.5 || one.scrollWidth > one.clientWidth + 1
      && getComputedStyle(one).display !== "inline" && !(one instanceof SVGElement); })
  .map((one) => one.outerHTML.slice(0, 80))
"""


@pytest.mark.parametrize("width", [360, 1366, 1920])
def test_no_words_are_cut_and_none_lie_on_others(
    chromium: Browser, page_path: Path, width: int
) -> None:
    with opened(chromium, page_path, (width, 768)) as it:
        assert it.ask("document.documentElement.scrollWidth") <= width
        assert it.ask(CUT, width) == []
        words = it.ask(WORDS)
        assert len({one["drawing"] for one in words}) == 3
        assert [one["words"] for one in words if not one["inside"]] == []
        assert min(one["size"] for one in words) >= 10.5
        for number, one in enumerate(words):
            for other in words[number + 1 :]:
                across = min(one["right"], other["right"]) - max(one["x"], other["x"])
                down = min(one["bottom"], other["bottom"]) - max(one["y"], other["y"])
                assert across <= 0 or down <= 1.5, (one, other)
        assert it.said == []
        assert it.asked == [page_path.as_uri()]


@pytest.mark.parametrize("width", [360, 1366])
@pytest.mark.parametrize("kind", ["bad", "good"])
def test_axe_finds_nothing(chromium: Browser, tmp_path: Path, kind: str, width: int) -> None:
    good = clear_report().model_copy(update={"short_term_lufs": CURVE, "verdict": Verdict.OK})
    report = awkward_report() if kind == "bad" else good
    save_report_page(report, tmp_path / "report.html", BESIDE)
    with opened(chromium, tmp_path / "report.html", (width, 768)) as it:
        axe_finds_nothing(it.page)


def test_each_drawing_is_an_image_with_words_for_who_cannot_see_it(
    chromium: Browser, page_path: Path
) -> None:
    with opened(chromium, page_path) as it:
        images = it.page.get_by_role("img")
        assert images.count() == 3
        assert it.page.get_by_role("img", name="Loudest: 4.0 LUFS around 9:03").count() == 1
        assert it.page.get_by_role("img", name="asked were 22.5 dB. Worst: 15.0 dB").count() == 1
        assert it.page.get_by_role("img", name="milliseconds each line was heard").count() == 1
