"""How the prompter page looks and is worked, in a real Chromium: room, contrast, keys, axe-core.

Sources: W3C WCAG 2.2, 1.4.6 (7:1), 2.1.4 (keys that are characters), 2.5.5 (44 px); the
rules of axe-core 4 (Deque, MPL-2.0), those of level AAA and best practice included.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.pages.browsing import Opened, axe_finds_nothing, opened, stand_still
from tests.pages.prompter_pages import prompter_file, run_to
from tests.pages.test_hall_look import BOXES, COLOURS, hexed, letters, overlaps, sheet, style
from tests.pages.test_look import contrast
from tests.sheet.samples import sample_sheet

pytestmark = pytest.mark.slow

SIZES = (
    *((360, 640), (844, 390), (1024, 768), (1080, 1920), (1366, 768), (1920, 1080)),
    *((3840, 1080), (3840, 2160)),
)

MOMENTS_MS = {"caution": 8_000, "count": 20_500, "beats": 23_500, "line": 201_000, "none": 668_000}
"""The longest line being said, a count-in, a count, a long line with a firm one after it."""


@pytest.fixture(scope="module")
def page_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return prompter_file(tmp_path_factory.mktemp("look"), sheet(), "./sheet.html")


def at(it: Opened, ms: int) -> None:
    """Move the page on to an instant, and pause it there."""
    before = float(it.ask("window.reached || 0"))
    it.page.locator("#start-button" if it.mode == "ready" else "#main-button").click()
    it.page.clock.fast_forward(int(ms - before) - 20)
    it.page.clock.run_for(20)
    it.page.locator("#main-button").click()
    it.ask("(ms) => { window.reached = ms; }", ms)


def check_room(it: Opened, size: tuple[int, int], name: str) -> None:
    """No words of the stage are cut or lie on others, and nothing runs out of the screen."""
    root = "document.documentElement"
    assert it.ask(f"{root}.scrollWidth") <= size[0], name
    assert it.ask(f"{root}.scrollHeight") <= size[1], name
    inside = """(one) => !one.closest(".side")"""
    words = it.ask(BOXES.replace("if (!node.textContent", f"if (!({inside})(parent)) continue;"
                                 " if (!node.textContent"))  # fmt: skip
    assert len(words) > 8, name
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
        """[...document.querySelectorAll(".fit, .hand, .after, .desk button, h1, .stage, main")]
          .filter((one) => one.checkVisibility({ checkVisibilityCSS: true })
            && (one.scrollWidth > one.clientWidth + 1
            || (!one.matches("#until") && one.scrollHeight > one.clientHeight + 2)))
          .map((one) => one.id || one.className || one.tagName)"""
    )
    assert cut == [], name


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_no_words_are_cut_or_lie_on_others(
    chromium: Browser, page_path: Path, size: tuple[int, int]
) -> None:
    with opened(chromium, page_path, size) as it:
        stand_still(it)
        words = it.ask(BOXES)
        assert it.ask("document.documentElement.scrollWidth") <= size[0]
        for box in words:
            assert 0 <= box["x"] <= box["right"] <= size[0] + 0.5, box
        start = it.page.locator("#start-button").bounding_box()
        assert start is not None
        assert start["y"] + start["height"] <= size[1]
        for name, ms in MOMENTS_MS.items():
            at(it, ms)
            check_room(it, size, name)
            if name != "count":
                continue
            it.page.keyboard.press("r")
            check_room(it, size, f"{name}, rehearsed")
            it.page.keyboard.press("r")
        assert it.said == []


@pytest.mark.parametrize("size", [(360, 640), (1366, 768), (3840, 2160)])
def test_no_type_is_smaller_than_a_browser_s_own_and_no_button_than_a_thumb(
    chromium: Browser, page_path: Path, size: tuple[int, int]
) -> None:
    """16 px for what is read in a hand (what lies beside it may be a point less)."""
    with opened(chromium, page_path, size) as it:
        stand_still(it)
        at(it, MOMENTS_MS["line"])
        if size[0] < 1000:
            it.page.keyboard.press("l")
        least = 40 if size[0] > 3000 else 15
        assert [box["text"] for box in it.ask(BOXES) if box["size"] < least] == []
        buttons = it.ask(
            """[...document.querySelectorAll("button, select, summary, a")]
              .filter((one) => one.checkVisibility())
              .map((one) => [one.textContent, one.offsetWidth, one.offsetHeight])"""
        )
        assert len(buttons) > 20
        assert [button for button in buttons if min(button[1:]) < 44] == []


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("moment", ["ready", "count"])
def test_axe_finds_nothing_and_all_words_stand_out_seven_to_one(
    chromium: Browser, page_path: Path, moment: str, dark: bool
) -> None:
    scheme = "dark" if dark else "light"
    with opened(chromium, page_path, (1366, 768), color_scheme=scheme) as it:
        stand_still(it)
        it.page.locator(".keys-part summary").click()
        if moment != "ready":
            it.page.locator("[data-skip='6']").click()
            at(it, MOMENTS_MS[moment])
            it.page.keyboard.press("r")
        pairs = {tuple(pair) for pair in it.ask(COLOURS)}
        assert len(pairs) >= 3
        ratios = {pair: contrast(hexed(pair[0]), hexed(pair[1])) for pair in pairs}
        assert min(ratios.values()) >= 7, ratios
        it.page.clock.resume()
        axe_finds_nothing(it.page)


def test_the_style_names_colours_of_the_family_only() -> None:
    css = style("prompter.css")
    uses = re.findall(r"(?<![-\w])(?:color|fill|background|stroke): ([^;}]+)", css)
    names = ("paper", "ink", "soft", "river", "line", "flag")
    assert {use.strip() for use in uses} <= {"none", *(f"var(--{name})" for name in names)}


# --------------------------------------------------------- keys, reader, safety


def test_all_of_it_can_be_done_by_keyboard_alone(chromium: Browser, page_path: Path) -> None:
    with opened(chromium, page_path) as it:
        stand_still(it)
        press = it.page.keyboard.press
        focus = "document.activeElement.id || document.activeElement.tagName"
        reached = []
        for _ in range(9):
            press("Tab")
            reached.append(it.ask(focus))
        assert list(dict.fromkeys(reached)) == [
            *("full-button", "dark-button", "start-button", "clock-time", "clock-button", "A"),
        ]
        it.page.locator("#start-button").focus()
        press("Enter")
        assert (it.mode, it.ask(focus)) == ("running", "main-button")
        press("Space")
        assert it.mode == "paused"
        press("Tab")
        press("Enter")  # on Skip: that, and not a start
        assert (it.mode, it.text("line")) == ("paused", sheet().cues[1].text)
        press("b")
        assert it.ask(focus) == "main-button"
        press("l")
        assert not it.page.locator("#side").is_visible()
        press("l")
        assert it.page.locator("#side").is_visible()


def test_keys_that_are_letters_can_be_switched_off(chromium: Browser, page_path: Path) -> None:
    with opened(chromium, page_path) as it:
        stand_still(it)
        it.page.locator(".keys-part summary").click()
        it.page.locator("#letters").uncheck()
        run_to(it, 500)
        for key in ("s", "r", "."):
            it.page.keyboard.press(key)
        assert it.mode == "running"
        assert it.page.locator("#back-button").is_disabled()
        assert not it.page.locator("#rehearse").is_checked()


def test_a_tap_starts_skips_and_pauses(chromium: Browser, page_path: Path) -> None:
    with opened(chromium, page_path, (390, 844), has_touch=True) as it:
        it.page.locator("#start-button").tap()
        it.page.locator("#skip-button").tap()
        assert it.text("line") == sheet().cues[1].text
        it.page.locator("#side-button").tap()
        assert it.page.locator("#side").is_visible()
        it.page.locator("#side-button").tap()
        it.page.locator("#main-button").tap()
        assert it.mode == "paused"


def test_the_list_scrolls_by_itself_but_not_against_a_hand(
    chromium: Browser, page_path: Path
) -> None:
    with opened(chromium, page_path) as it:
        stand_still(it)
        run_to(it, 150_000)
        place = "document.getElementById('list').scrollTop"
        box = """() => { const list = document.getElementById("list").getBoundingClientRect();
          const now = document.querySelector("[aria-current]").getBoundingClientRect();
          return [now.top - list.top, list.height]; }"""
        top, height = it.ask(box)
        assert 0 <= top <= height / 2
        it.page.locator("#list").hover()
        it.page.mouse.wheel(0, -5_000)
        it.page.wait_for_timeout(150)
        assert it.ask(place) == 0
        it.page.keyboard.press("s")
        assert it.ask(place) == 0
        it.page.clock.run_for(7_000)
        it.page.keyboard.press("s")
        assert it.ask(place) > 0


def test_a_screen_reader_is_told_each_line_once_and_no_seconds(
    chromium: Browser, page_path: Path
) -> None:
    with opened(chromium, page_path) as it:
        stand_still(it)
        it.page.locator("#start-button").click()
        it.ask(
            """() => {
              window.told = [];
              const told = document.getElementById("told");
              new MutationObserver(() => window.told.push(told.textContent))
                .observe(told, { childList: true, characterData: true, subtree: true });
            }"""
        )
        it.page.clock.run_for(90_000)
        assert it.ask("window.told")[1:] == [
            "In 11 seconds, firm: Three, two, one. Go, rate eighteen.",
            "In 54 seconds: Next: twenty, two fourteen.",
            "In 62 seconds, firm: Rate up, twenty.",
        ]
        live = it.ask(
            "[...document.querySelectorAll('[aria-live], [role=status], [role=alert], [role=log]')]"
            ".map((one) => one.id)"
        )
        assert live == ["notice", "told"]


def test_nothing_on_the_page_is_animated(chromium: Browser, page_path: Path) -> None:
    with opened(chromium, page_path) as it:
        stand_still(it)
        run_to(it, 20_000)
        assert it.ask("document.getAnimations().length") == 0
        styles = it.ask(
            """[...document.querySelectorAll("*")].map((one) => {
              const style = getComputedStyle(one);
              return style.animationName + " " + style.transitionDuration;
            })"""
        )
        assert set(styles) == {"none 0s"}


def test_words_that_are_mark_up_are_shown_and_not_run(chromium: Browser, tmp_path: Path) -> None:
    bad = "</script><script>document.title = 'owned'</script><!--"
    made = sample_sheet()
    line = made.cues[0].model_copy(update={"text": bad})
    first = made.segments[0].model_copy(update={"label": bad})
    made = sample_sheet(
        title=bad, cues=(line, *made.cues[1:]), segments=(first, *made.segments[1:])
    )
    with opened(chromium, prompter_file(tmp_path, made)) as it:
        it.page.locator("#start-button").click()
        assert it.text("line") == bad
        assert it.page.locator("h1").inner_text() == bad
        assert it.page.locator("[data-line='0'] .said").inner_text() == bad
        assert it.page.title() == f"{bad}, to say"
        assert it.ask("document.querySelectorAll('script').length") == 2
        assert it.said == []


def test_the_screen_is_kept_awake_while_the_page_runs(chromium: Browser, page_path: Path) -> None:
    fake = """
      window.locks = [];
      const give = async () => {
        const lock = new EventTarget();
        lock.release = () => window.locks.push("let go");
        window.locks.push("held");
        return lock;
      };
      Object.defineProperty(navigator, "wakeLock", { value: { request: give } });
    """
    with opened(chromium, page_path, before=fake) as it:
        it.page.locator("#start-button").click()
        it.until("window.locks.length === 1")
        it.page.locator("#main-button").click()
        it.until("window.locks.length === 2")
        assert it.ask("window.locks") == ["held", "let go"]
