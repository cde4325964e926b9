"""The prompter page run in a real Chromium: lines, counts, skips, a rehearsal, the clock.

The clock is Playwright's, which stands until a test moves it. The sample sheet's lines: the
welcome 0.5 to 4.811 s, the caution 6.01 to 11.432 s, the count 22 s with the first stroke
at 25 s (to 26.224 s), a goal at 80.007 s (to 83.207 s), "Rate up, twenty." at 145 s.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from cuegen.pages.prompter import PromptLine, prompt_lines
from tests.pages.browsing import Opened, at_clock, opened, stand_still
from tests.pages.prompter_pages import prompter_file, run_to, to_say
from tests.sheet.samples import sample_sheet

pytestmark = pytest.mark.slow

COUNT = "Three, two, one. Go, rate eighteen."
GOAL = "Next: twenty, two fourteen."
CHANGE = "Rate up, twenty."


@pytest.fixture(scope="module")
def page_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return prompter_file(tmp_path_factory.mktemp("prompter"))


@pytest.fixture
def it(chromium: Browser, page_path: Path) -> Iterator[Opened]:
    """The page on a clock that is the test's; it must not complain, nor ask for anything."""
    with opened(chromium, page_path) as page:
        stand_still(page)
        yield page
        assert page.said == []
        assert set(page.asked) == {page_path.as_uri()}


# ------------------------------------------------------- start, pause, go on


def test_a_press_starts_and_the_first_line_is_in_hand(it: Opened) -> None:
    it.page.locator("#start-button").click()
    it.page.clock.run_for(200)
    assert it.mode == "running"
    assert to_say(it) == ("in", "1", "Welcome to the Alder ladder.")
    assert it.text("after") == "Stop if anything hurts."
    assert it.text("where") == "Opening"


def test_a_line_is_said_until_its_end_and_then_gives_way(it: Opened) -> None:
    run_to(it, 4_700)
    assert to_say(it) == ("say it", "now", "Welcome to the Alder ladder.")
    it.page.clock.run_for(200)
    assert to_say(it) == ("in", "2", "Stop if anything hurts.")


def test_pause_and_going_on_keep_the_instant(it: Opened) -> None:
    run_to(it, 70_500)
    it.page.keyboard.press("Space")
    assert it.mode == "paused"
    assert it.page.locator(".paused").is_visible()
    it.page.clock.run_for(30_000)
    assert to_say(it) == ("in", "10", GOAL)
    it.page.locator("#main-button").click()
    it.page.clock.run_for(3_000)
    assert (it.mode, it.text("until")) == ("running", "7")


def test_the_end_comes_by_itself_and_leads_back_to_the_start(it: Opened) -> None:
    run_to(it, 670_500)
    assert it.text("line") == "No more lines."
    it.page.clock.run_for(1_000)
    assert it.mode == "done"
    it.page.keyboard.press("Space")
    assert it.mode == "ready"
    assert it.text("start-button") == "Start"


def test_a_set_time_is_waited_for_and_met(it: Opened) -> None:
    it.page.locator("#clock-time").fill("18:30")
    it.page.locator("#clock-time").press("Enter")
    assert it.mode == "waiting"
    assert it.text("where").startswith("Starts at ")
    it.page.clock.pause_at(at_clock("18:29:57"))
    it.page.clock.run_for(1_500)
    assert (it.mode, it.text("until-word"), it.text("until")) == ("waiting", "starts in", "0:02")
    it.page.clock.run_for(21_500)
    assert it.mode == "running"
    assert to_say(it) == ("in", "2", COUNT)  # 20 s since 18:30


def test_a_set_time_that_was_slept_through_begins_where_the_session_is(it: Opened) -> None:
    it.page.locator("#clock-time").fill("18:30")
    it.page.locator("#clock-button").click()
    it.page.clock.fast_forward(14 * 60_000 + 1_000)
    it.page.clock.run_for(500)
    rowed = int(it.ask("Date.now()") / 1000 - at_clock("18:30").timestamp()) - 25
    assert it.mode == "running"
    assert it.text("rowed") == f"{rowed // 60}:{rowed % 60:02d}"


def test_without_a_time_nothing_is_waited_for(it: Opened) -> None:
    it.page.locator("#clock-button").click()
    assert (it.mode, it.text("notice")) == ("ready", "Give a time of day first.")


# --------------------------------------------------------- seconds and marks


def in_hand(lines: tuple[PromptLine, ...], ms: float) -> PromptLine | None:
    return next((line for line in lines if line.end_ms > ms), None)


def seconds(text: str) -> int:
    total = 0
    for part in text.split(":"):
        total = 60 * total + int(part)
    return total


def test_seconds_to_the_next_line_are_within_100_ms_of_the_clock(it: Opened) -> None:
    """At 40 instants; "3" is right from 3 s until 2 s before."""
    rng = random.Random(7)
    lines = prompt_lines(sample_sheet())
    it.page.keyboard.press("Space")
    began = float(it.ask("performance.now()"))
    looked = 0
    for ms in sorted(rng.sample(range(1_000, 660_000), 40)):
        now = float(it.ask("performance.now()")) - began
        if ms - now < 50:
            continue
        it.page.clock.fast_forward(max(0, int(ms - now) - 40))
        it.page.clock.run_for(40)
        at = float(it.ask("performance.now()")) - began
        line = in_hand(lines, at)
        if line is None or at > line.at_ms:
            continue
        assert it.text("line") == line.text
        off = (line.at_ms - at) / 1000 - seconds(it.text("until"))
        assert -1.1 < off < 0.1
        looked += 1
    assert looked >= 25


def blades(it: Opened, row: str = "blades") -> list[float]:
    """Return how full the marks are, as they are drawn."""
    found: list[float] = it.ask(
        """(id) => [...document.getElementById(id).children].map((one) =>
          parseFloat(getComputedStyle(one, "::after").width) / one.clientWidth)""",
        row,
    )
    return [round(share, 1) for share in found]


def test_a_firm_call_is_counted_in_over_its_last_three_seconds(it: Opened) -> None:
    run_to(it, 18_500)
    seen = [blades(it)]
    for ms in (1_000, 1_000, 1_000, 400):
        it.page.clock.run_for(ms)
        seen.append(blades(it))
    assert seen == [
        *([0.0, 0.0, 0.0], [0.5, 1.0, 1.0], [0.0, 0.5, 1.0]),
        *([0.0, 0.0, 0.5], [0.0, 0.0, 0.1]),
    ]
    it.page.clock.run_for(300)
    assert (it.text("until"), blades(it)) == ("now", [0.0, 0.0, 0.0])


def test_a_floating_line_is_not_counted_in(it: Opened) -> None:
    run_to(it, 78_500)
    assert to_say(it) == ("in", "2", GOAL)
    assert blades(it) == [0.0, 0.0, 0.0]
    assert it.text("firm") == ""
    assert it.text("length") == "floating, 3.2 s"


def share(it: Opened, name: str) -> float:
    """Return how far along the lane something reaches."""
    script = """(id) => { const box = (one) => one.getBoundingClientRect();
      const lane = box(document.getElementById("lane"));
      const one = box(document.getElementById(id));
      return (one.right - lane.left) / lane.width; }"""
    return float(it.ask(script, name))


def test_the_lane_beside_a_line_fills_while_it_lasts(it: Opened) -> None:
    """The goal lasts from 80.007 s to 83.207 s: at 81.607 s half of it is gone."""
    run_to(it, 79_000)
    assert share(it, "water") == 0
    it.page.clock.run_for(2_607)
    assert share(it, "water") == pytest.approx(0.5, abs=0.02)
    assert share(it, "boat") == pytest.approx(0.5, abs=0.02)
    it.page.clock.run_for(1_560)
    assert share(it, "water") == pytest.approx(0.99, abs=0.02)


def test_the_beats_of_a_count_stand_on_the_lane_at_their_instants(it: Opened) -> None:
    run_to(it, 20_000)
    places = it.ask(
        "[...document.querySelectorAll('.notch')].map((one) => parseFloat(one.style.left))"
    )
    assert places == pytest.approx([100 * ms / 4_224 for ms in (0, 1_000, 2_000, 3_000)], abs=0.1)


def test_where_less_motion_is_wished_for_marks_and_boat_go_by_steps(
    chromium: Browser, page_path: Path
) -> None:
    with opened(chromium, page_path, reduced_motion="reduce") as page:
        stand_still(page)
        run_to(page, 19_300)
        assert blades(page) == [1.0, 1.0, 1.0]
        moves = """(ids) => { window.moves = 0; for (const id of ids) {
          new MutationObserver((all) => { window.moves += 1; }).observe(
            document.getElementById(id), { attributes: true, attributeOldValue: true }); } }"""
        page.page.clock.run_for(2_750)
        assert page.text("until") == "now"
        boats = set()
        for _ in range(16):
            page.page.clock.run_for(250)
            boats.add(round(share(page, "water"), 2))
        page.ask(moves, ["boat"])
        assert len(boats) == 9  # every half second of four seconds


# ------------------------------------------------------------------- skipping


def test_a_skipped_line_gives_way_at_once_and_can_be_taken_back(it: Opened) -> None:
    run_to(it, 70_000)
    it.page.locator("#skip-button").click()
    assert to_say(it)[1:] == ("1:15", CHANGE)
    assert it.page.locator("[data-item='3']").evaluate("(e) => e.classList.contains('skipped')")
    it.page.locator("#back-button").click()
    assert to_say(it)[1:] == ("11", GOAL)
    assert it.page.locator("#back-button").is_disabled()


def test_any_line_can_be_skipped_ahead_from_the_list(it: Opened) -> None:
    it.page.locator("[data-skip='3']").click()
    assert it.page.locator("[data-skip='3']").inner_text().startswith("Take back")
    run_to(it, 70_000)
    assert to_say(it)[2] == CHANGE
    it.page.locator("[data-skip='3']").click()
    assert to_say(it)[2] == GOAL


def test_a_line_that_is_being_said_can_be_skipped(it: Opened) -> None:
    run_to(it, 81_000)
    it.page.keyboard.press("s")
    assert to_say(it)[2] == CHANGE
    it.page.clock.run_for(10_000)
    it.page.keyboard.press("b")  # too late: its time is over
    assert to_say(it)[2] == CHANGE


# ------------------------------------------------------------------ rehearsal


def test_a_rehearsal_does_not_wait_out_the_quiet(it: Opened) -> None:
    """Five seconds before each line; it stays a breath after a line."""
    it.page.locator("#rehearse").check()
    run_to(it, 5_200)
    assert it.page.locator(".rehearsing").is_visible()
    assert it.text("line") == "Stop if anything hurts."
    it.page.clock.run_for(6_400)  # 11.6 s: the caution has ended at 11.432 s
    assert it.text("rowed") == "-0:14"
    it.page.clock.run_for(1_000)
    assert to_say(it) == ("in", "5", COUNT)
    it.page.clock.run_for(4_900 + 4_224 + 700)
    assert to_say(it) == ("in", "5", GOAL)


def test_a_rehearsal_can_begin_nearer_to_each_line(it: Opened) -> None:
    it.page.locator("#rehearse").check()
    it.page.locator("#lead").select_option("3")
    run_to(it, 12_500)
    assert to_say(it) == ("in", "3", COUNT)


def test_a_whole_rehearsal_takes_as_long_as_its_lines(it: Opened) -> None:
    """14 lines, three seconds before each and a breath after it: not eleven minutes."""
    it.page.locator("#rehearse").check()
    it.page.locator("#lead").select_option("3")
    it.page.locator("#start-button").click()
    lines = prompt_lines(sample_sheet())
    most = sum(line.end_ms - line.at_ms for line in lines) + len(lines) * 3_700
    it.page.clock.run_for(most)
    assert it.mode == "done"
    assert most < 100_000


def test_lines_are_walked_through_with_keys_and_a_remote(it: Opened) -> None:
    it.page.keyboard.press("r")
    it.page.keyboard.press("PageDown")  # a remote starts
    assert it.mode == "running"
    seen = []
    for key in ("PageDown", "PageDown", "ArrowDown", "PageUp", "ArrowUp", "n"):
        it.page.keyboard.press(key)
        it.page.clock.run_for(50)
        seen.append(it.text("line"))
    assert seen == ["Stop if anything hurts.", COUNT, GOAL, COUNT, "Stop if anything hurts.", COUNT]


def test_live_a_remote_skips_takes_back_and_pauses(it: Opened) -> None:
    run_to(it, 70_000)
    press = it.page.keyboard.press
    press("PageDown")
    assert to_say(it)[2] == CHANGE
    press("PageUp")
    assert to_say(it)[2] == GOAL
    press(".")
    assert it.mode == "paused"
    press("F5")
    assert it.mode == "running"
    assert to_say(it)[2] == GOAL


def test_a_line_of_the_list_is_jumped_to_a_little_before_it(it: Opened) -> None:
    it.page.locator("[data-line='4']").click()
    assert it.mode == "paused"
    assert to_say(it) == ("in", "5", CHANGE)


def test_arrows_move_the_clock_by_one_second_and_ten(it: Opened) -> None:
    run_to(it, 70_500)
    seen = []
    for key in ("ArrowLeft", "ArrowRight", "Shift+ArrowLeft", "Shift+ArrowRight"):
        it.page.keyboard.press(key)
        it.page.clock.run_for(20)
        seen.append(it.text("until"))
    assert seen == ["11", "10", "20", "10"]
