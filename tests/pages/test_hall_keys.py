"""Chapters and keys of the hall page, in a real Chromium: keyboard, remote, touch, screen."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.pages.browsing import Opened, opened
from tests.pages.hall_pages import LISTENING, silent_page

pytestmark = pytest.mark.slow


@pytest.mark.parametrize(
    ("number", "name", "start_s"),
    [(0, "Opening", 0), (2, "Row 1 of 2", 145), (3, "Row 2 of 2, 750 m", 385)],
)
def test_a_chapter_s_button_jumps_to_its_start(
    hall: Opened, number: int, name: str, start_s: int
) -> None:
    hall.page.keyboard.press("Space")
    hall.until_mode("running")
    hall.page.locator("#chapters-button").click()
    hall.page.locator(f"[data-part='{number}']").click()
    hall.until("!document.getElementById('track').seeking")
    hall.until(f"document.getElementById('name').innerText === {name!r}")
    assert start_s * 1000 <= hall.track_ms < start_s * 1000 + 5_000
    assert hall.mode == "running"
    assert not hall.page.locator("#chapters").is_visible()


def test_what_is_heard_after_a_jump_is_the_chapter_that_is_shown(hall: Opened) -> None:
    hall.page.keyboard.press("Space")
    hall.until_mode("running")
    heard = hall.ask(
        f"""async () => {{ {LISTENING}
          const found = [];
          for (const part of [3, 1, 4]) {{
            document.querySelector(`[data-part="${{part}}"]`).click();
            await new Promise((done) => setTimeout(done, 1500));
            found.push([heardAt(), track.currentTime]);
          }}
          return found;
        }}"""
    )
    assert [round(at) for _, at in heard] == pytest.approx([386, 26, 566], abs=2)
    for instant, at in heard:
        assert instant == pytest.approx(at - 0.17, abs=0.4)


def test_digits_pages_and_arrows_move_by_chapter_and_by_ten_seconds(silent: Opened) -> None:
    press = silent.page.keyboard.press
    press("Space")
    press("2")
    assert silent.text("name") == "Row 1 of 2"
    press("PageDown")
    assert silent.text("name") == "Row 2 of 2, 750 m"
    press("ArrowRight")
    assert silent.text("left") == "~2:50"
    press("ArrowUp")  # to the start of the one that is on
    assert silent.text("left") == "~3:00"
    press("ArrowUp")  # and at once again: to the one before
    assert (silent.text("name"), silent.text("left")) == ("Row 1 of 2", "4:00")
    press("ArrowLeft")
    assert (silent.text("name"), silent.text("left")) == ("Warm-up", "0:10")
    press("0")
    assert silent.text("name") == "Opening"


def test_a_chapter_chosen_before_the_start_waits_for_a_press(silent: Opened) -> None:
    silent.page.locator("[data-part='3']").click()
    silent.page.clock.run_for(5_000)
    assert (silent.mode, silent.text("figure")) == ("paused", "24\u201326")
    assert silent.text("left") == "~3:00"


def test_media_keys_work_and_one_press_counts_once(silent: Opened) -> None:
    silent.page.keyboard.press("MediaPlayPause")
    silent.page.keyboard.press("MediaPlayPause")  # the same press, told twice
    assert silent.mode == "running"
    silent.page.clock.run_for(1_000)
    silent.page.keyboard.press("MediaTrackNext")
    assert silent.text("name") == "Warm-up"
    silent.page.clock.run_for(1_000)
    silent.page.keyboard.press("MediaPlayPause")
    assert silent.mode == "paused"


def test_letters_and_digits_can_be_switched_off(silent: Opened) -> None:
    """WCAG 2.2, 2.1.4: a key that is a character can be turned off."""
    silent.page.locator("#letters").uncheck()
    silent.page.keyboard.press("Tab")
    silent.page.keyboard.press("d")
    silent.page.keyboard.press("3")
    assert (silent.mode, silent.ask("document.documentElement.dataset.look")) == ("ready", "light")


def test_all_of_it_can_be_done_by_keyboard_alone(silent: Opened) -> None:
    press = silent.page.keyboard.press
    focus = "document.activeElement.id || document.activeElement.dataset.part"
    reached = []
    for _ in range(9):
        press("Tab")
        reached.append(silent.ask(focus))
    assert list(dict.fromkeys(reached))[:4] == [
        *("full-button", "dark-button", "start-button", "clock-time"),
    ]
    silent.page.locator("#start-button").focus()
    press("Enter")
    assert silent.mode == "running"
    assert silent.ask(focus) == "main-button"
    press("c")
    assert silent.ask(focus) == "0"
    press("ArrowDown")
    press("ArrowDown")
    press("Enter")
    assert silent.text("name") == "Row 1 of 2"
    assert silent.ask(focus) == "chapters-button"
    press("c")
    press("Escape")
    assert not silent.page.locator("#chapters").is_visible()
    press("Shift+Tab")
    press("Space")  # on the button that pauses: once, not twice
    assert silent.mode == "paused"


def test_a_tap_starts_pauses_and_goes_on(chromium: Browser, tmp_path: Path) -> None:
    with opened(chromium, silent_page(tmp_path), (390, 844), has_touch=True) as it:
        it.page.locator("#start-button").tap()
        assert it.mode == "running"
        it.page.locator("#main-button").tap()
        assert it.mode == "paused"
        it.page.locator("#main-button").tap()
        assert it.mode == "running"


def test_full_screen_comes_and_goes_with_its_key(hall: Opened) -> None:
    hall.page.keyboard.press("f")
    hall.until("document.fullscreenElement !== null")
    assert hall.text("full-button") == "Leave full screen"
    hall.page.keyboard.press("f")
    hall.until("document.fullscreenElement === null")


def test_the_screen_is_kept_awake_while_it_runs_and_let_go_on_pause(
    chromium: Browser, tmp_path: Path
) -> None:
    """The browser's own lock (W3C Screen Wake Lock API), watched as the page asks for it."""
    watch = """
    window.locks = [];
    const ask = navigator.wakeLock.request.bind(navigator.wakeLock);
    navigator.wakeLock.request = async (kind) => {
      const lock = await ask(kind);
      window.locks.push(lock);
      return lock;
    };
    """
    with opened(chromium, silent_page(tmp_path), before=watch) as it:
        it.page.keyboard.press("Space")
        it.until("window.locks.length === 1")
        assert it.ask("[locks[0].type, locks[0].released]") == ["screen", False]
        it.page.keyboard.press("Space")
        it.until("window.locks[0].released")
        it.page.keyboard.press("Space")
        it.until("window.locks.length === 2 && !window.locks[1].released")
