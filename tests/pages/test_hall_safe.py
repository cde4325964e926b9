"""The hall page runs nobody's words, tells a screen reader little, and keeps still."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.pages.browsing import Opened, opened, stand_still
from tests.pages.hall_pages import silent_page
from tests.sheet.samples import sample_sheet

pytestmark = pytest.mark.slow


def test_words_that_are_mark_up_are_shown_and_not_run(chromium: Browser, tmp_path: Path) -> None:
    bad = "</script><script>document.title = 'owned'</script><!--"
    sheet = sample_sheet()
    line = sheet.cues[0].model_copy(update={"text": bad, "start_ms": 0, "end_ms": 9_000})
    first = sheet.segments[0].model_copy(update={"label": bad})
    sheet = sample_sheet(
        title=bad, cues=(line, *sheet.cues[3:]), segments=(first, *sheet.segments[1:])
    )
    with opened(chromium, silent_page(tmp_path, sheet)) as it:
        it.page.keyboard.press("Space")
        it.until("document.getElementById('caption').textContent !== ''")
        assert it.text("caption") == bad
        assert it.page.locator("h1").inner_text() == bad
        assert it.page.title() == bad
        assert it.ask("document.querySelectorAll('script').length") == 2
        assert it.said == []


def test_the_policy_lets_no_other_script_or_style_in(chromium: Browser, tmp_path: Path) -> None:
    with opened(chromium, silent_page(tmp_path)) as it:
        it.ask(
            """() => {
              const script = document.createElement("script");
              script.textContent = "window.ran = true";
              document.body.append(script);
              document.body.setAttribute("onclick", "window.ran = true");
              document.body.click();
              document.body.insertAdjacentHTML("beforeend", "<img src='http://127.0.0.1:9/x'>");
            }"""
        )
        assert it.ask("window.ran === undefined")
        assert len(it.said) == 3
        assert all("Content Security Policy" in said for said in it.said)


def test_a_screen_reader_is_told_of_segments_and_not_of_seconds(silent: Opened) -> None:
    silent.page.keyboard.press("Space")
    silent.ask(
        """() => {
          window.told = [];
          const told = document.getElementById("told");
          new MutationObserver(() => window.told.push(told.textContent))
            .observe(told, { childList: true, characterData: true, subtree: true });
        }"""
    )
    silent.page.clock.run_for(160_000)
    assert silent.ask("window.told") == [
        "Warm-up, rate 18, 55 % effort, for 2:00. Next: Row 1 of 2, rate 20, 2:14.0.",
        "Row 1 of 2, rate 20, 2:14.0 per 500 metres, 75 % effort, for 4:00. "
        "Next: Row 2 of 2, 750 m, rate 24\u201326, 2:00.0.",
    ]
    live = silent.ask(
        "[...document.querySelectorAll('[aria-live], [role=status], [role=alert], [role=log]')]"
        ".map((one) => one.id)"
    )
    assert live == ["notice", "told"]


@pytest.mark.parametrize(("wish", "most"), [("reduce", 11), ("no-preference", 700)])
def test_the_boat_moves_once_a_second_where_less_motion_is_wished_for(
    chromium: Browser, tmp_path: Path, wish: str, most: int
) -> None:
    with opened(chromium, silent_page(tmp_path), reduced_motion=wish) as it:
        stand_still(it)
        it.page.keyboard.press("Space")
        it.ask(
            """() => {
              window.moves = 0;
              new MutationObserver((all) => { window.moves += all.length; })
                .observe(document.getElementById("boat"), { attributes: true });
            }"""
        )
        it.page.clock.run_for(10_000)
        moves = it.ask("window.moves")
        assert most - 2 <= moves <= most if wish == "reduce" else moves > 300


def test_nothing_on_the_page_is_animated(silent: Opened) -> None:
    silent.page.keyboard.press("Space")
    silent.page.clock.run_for(1_000)
    assert silent.ask("document.getAnimations().length") == 0
    styles = json.loads(
        silent.ask(
            """JSON.stringify([...document.querySelectorAll("*")].map((one) => {
              const style = getComputedStyle(one);
              return [style.animationName, style.transitionDuration];
            }))"""
        )
    )
    assert {tuple(style) for style in styles} == {("none", "0s")}
