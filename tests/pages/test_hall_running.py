"""A hall page is started, paused and ended, by hand and by the clock, in a real Chromium.

Where a page has no track its clock is Playwright's, which stands until a test moves it.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.pages.browsing import Opened, at_clock, opened

pytestmark = pytest.mark.slow


# ------------------------------------------------------- start, pause, go on


def test_a_press_starts_and_the_page_shows_what_is_on(silent: Opened) -> None:
    silent.page.locator("#start-button").click()
    silent.page.clock.run_for(26_500)
    assert silent.mode == "running"
    assert silent.text("word") == "rate"
    assert silent.text("figure") == "18"
    assert silent.text("name") == "Warm-up"
    assert silent.text("hold-line").split() == ["55", "%", "effort"]
    assert silent.text("left") == "1:59"
    assert silent.text("next") == "Row 1 of 2, rate 20, 2:14.0"
    assert (silent.text("next-word"), silent.text("next-clock")) == ("next", "in 1:59")
    assert silent.text("rowed") == "0:01"


def test_the_rate_is_the_largest_of_all(silent: Opened) -> None:
    silent.page.keyboard.press("Space")
    silent.page.clock.run_for(200_000)
    sizes = silent.ask(
        "['figure', 'hold', 'left', 'name', 'next', 'caption'].map((id) =>"
        " parseFloat(getComputedStyle(document.getElementById(id)).fontSize))"
    )
    assert silent.text("figure") == "20"
    assert max(sizes[1:]) < sizes[0] / 2


def test_the_count_in_is_shown_beat_by_beat_before_the_first_stroke(silent: Opened) -> None:
    """Beats at 22, 23 and 24 s, the first stroke at 25 s."""
    silent.page.keyboard.press("Space")
    shown = []
    for ms in (21_500, 1_000, 1_000, 1_000, 1_000):
        silent.page.clock.run_for(ms)
        shown.append((silent.text("word"), silent.text("figure")))
    assert shown == [
        ("first stroke in", "0:04"),
        ("first stroke in", "3"),
        ("first stroke in", "2"),
        ("first stroke in", "1"),
        ("rate", "18"),
    ]


def test_pause_and_going_on_keep_the_instant(silent: Opened) -> None:
    silent.page.keyboard.press("Space")
    silent.page.clock.run_for(99_500)
    silent.page.keyboard.press("Space")
    assert silent.mode == "paused"
    assert silent.page.locator(".paused").is_visible()
    silent.page.clock.run_for(50_000)
    assert silent.text("left") == "0:46"
    silent.page.keyboard.press("Space")
    silent.page.clock.run_for(10_000)
    assert (silent.mode, silent.text("left")) == ("running", "0:36")


def test_pause_stops_the_track_and_going_on_goes_on_from_there(hall: Opened) -> None:
    hall.page.locator("#start-button").click()
    hall.until_mode("running")
    hall.until("document.getElementById('track').currentTime > 0.4")
    hall.page.locator("#main-button").click()
    hall.until_mode("paused")
    stopped = hall.track_ms
    hall.page.wait_for_timeout(300)
    assert hall.track_ms == stopped
    hall.page.locator("#main-button").click()
    hall.until(f"track.currentTime * 1000 > {stopped + 200}")
    assert hall.mode == "running"


def test_a_pause_from_the_system_s_own_controls_is_followed(hall: Opened) -> None:
    hall.page.keyboard.press("Space")
    hall.until_mode("running")
    hall.ask("document.getElementById('track').pause()")
    hall.until_mode("paused")
    hall.ask("document.getElementById('track').play()")
    hall.until_mode("running")


def test_the_end_is_shown_and_leads_back_to_the_start(hall: Opened) -> None:
    hall.page.keyboard.press("Space")
    hall.until_mode("running")
    hall.ask("document.getElementById('track').currentTime = 670.6")
    hall.until_mode("done")
    assert (hall.text("word"), hall.text("figure")) == ("rowed", "10:36")
    hall.page.keyboard.press("Space")
    assert hall.mode == "ready"
    assert hall.track_ms == 0


def test_without_a_track_the_page_ends_too(silent: Opened) -> None:
    silent.page.keyboard.press("Space")
    silent.page.clock.fast_forward(670_000)
    silent.page.clock.run_for(2_000)
    assert (silent.mode, silent.text("figure")) == ("done", "10:36")


# ---------------------------------------------------------- start by the clock


def test_a_set_time_is_waited_for_and_met(silent: Opened) -> None:
    silent.page.locator("#clock-time").fill("18:30")
    silent.page.locator("#clock-button").click()
    assert silent.mode == "waiting"
    assert silent.text("word") == "starts in"
    silent.page.clock.pause_at(at_clock("18:29:57"))
    silent.page.clock.run_for(1_500)
    assert (silent.mode, silent.text("figure")) == ("waiting", "0:02")
    silent.page.clock.run_for(2_000)
    assert silent.mode == "running"
    silent.page.clock.run_for(60_000)
    assert silent.text("rowed") == "0:35"  # 60 s less 25 s of opening


def test_a_set_time_that_was_slept_through_begins_where_the_session_is(silent: Opened) -> None:
    silent.page.locator("#clock-time").fill("18:30")
    silent.page.locator("#clock-time").press("Enter")
    assert silent.mode == "waiting"
    silent.page.clock.fast_forward(14 * 60_000 + 1_000)
    silent.page.clock.run_for(1_500)
    rowed = int(silent.ask("Date.now()") / 1000 - at_clock("18:30").timestamp()) - 25
    assert silent.mode == "running"
    assert silent.text("rowed") == f"{rowed // 60}:{rowed % 60:02d}"


def test_a_time_that_has_passed_is_tomorrow_s(silent: Opened) -> None:
    silent.page.locator("#clock-time").fill("18:00")
    silent.page.locator("#clock-button").click()
    silent.page.clock.run_for(100)
    assert silent.text("figure").startswith("23:39:")


def test_waiting_can_be_cut_short(silent: Opened) -> None:
    silent.page.locator("#clock-time").fill("18:30")
    silent.page.locator("#clock-button").click()
    silent.page.locator("#main-button").click()
    silent.page.clock.run_for(2_500)
    assert (silent.mode, silent.text("figure")) == ("running", "0:23")


def test_without_a_time_nothing_is_waited_for(silent: Opened) -> None:
    silent.page.locator("#clock-button").click()
    assert silent.mode == "ready"
    assert silent.text("notice") == "Give a time of day first."


def test_the_track_starts_at_the_set_time_without_another_press(
    chromium: Browser, hall_path: Path
) -> None:
    with opened(chromium, hall_path) as it:
        it.page.clock.install(time=at_clock("18:29:57"))
        it.page.reload()
        it.page.locator("#clock-time").fill("18:30")
        it.page.locator("#clock-button").click()
        it.until_mode("waiting")
        assert it.track_ms == 0
        it.until_mode("running")
        late = it.ask(
            "[Date.now() - new Date(2026, 0, 12, 18, 30).getTime(), track.currentTime * 1000]"
        )
        assert late[0] >= 0
        assert late[0] - late[1] < 1_000
        assert it.ask("[track.muted, track.paused]") == [False, False]
        assert it.said == []
