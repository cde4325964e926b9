"""The tones that count firm calls in: in one ear alone, soft, on their seconds."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.pages.browsing import Opened, opened, stand_still
from tests.pages.prompter_pages import prompter_file

pytestmark = pytest.mark.slow

NOTED = """
window.booked = [];
window.stopped = 0;
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (when) {
  window.booked.push([when - this.context.currentTime, performance.now(), this.frequency.value]);
  return start.call(this, when);
};
const stop = OscillatorNode.prototype.stop;
OscillatorNode.prototype.stop = function (when) {
  if (when === undefined) window.stopped += 1;
  return stop.call(this, when);
};
"""
"""Notes each tone that is booked: how far ahead on the sound's clock, at which instant."""

TAPPED = """
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...rest) {
  if (to instanceof AudioDestinationNode && !window.sides) {
    const split = new ChannelSplitterNode(this.context, { numberOfOutputs: 2 });
    connect.call(this, split);
    window.sides = [0, 1].map((side) => {
      const analyser = new AnalyserNode(this.context, { fftSize: 8192 });
      connect.call(split, analyser, side);
      return analyser;
    });
  }
  return connect.call(this, to, ...rest);
};
"""
"""Listens to both sides of what goes to the ears."""


@pytest.fixture(scope="module")
def page_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return prompter_file(tmp_path_factory.mktemp("tones"))


@pytest.fixture
def it(chromium: Browser, page_path: Path) -> Iterator[Opened]:
    with opened(chromium, page_path, before=NOTED) as page:
        stand_still(page)
        yield page
        assert page.said == []


def booked(it: Opened, began: float) -> list[int]:
    """Return the instants of the session at which tones sound, in hundredths of a second."""
    found: list[list[float]] = it.ask("window.booked")
    return sorted(round((now - began + 1000 * ahead) / 10) for ahead, now, _ in found)


def begin(it: Opened) -> float:
    it.page.locator("#start-button").click()
    return float(it.ask("performance.now()"))


def test_tones_fall_on_the_three_seconds_before_a_firm_call(it: Opened) -> None:
    """The count begins at 22 s; the sound's own latency, some hundredths, is taken off."""
    it.page.locator("#tone-side").select_option("left")
    began = begin(it)
    it.page.clock.run_for(30_000)
    latency = 100 * float(it.ask("new AudioContext().outputLatency || 0"))
    found = booked(it, began)
    assert len(found) == 3
    for instant, wanted in zip(found, (1_900, 2_000, 2_100), strict=True):
        assert wanted - latency - 8 <= instant <= wanted + 2
    assert [pitch for *_, pitch in it.ask("window.booked")] == [587, 587, 784]


def test_without_an_ear_there_are_no_tones(it: Opened) -> None:
    begin(it)
    it.page.clock.run_for(30_000)
    assert it.ask("window.booked") == []


def test_a_skipped_call_is_not_counted_in_and_one_taken_back_is(it: Opened) -> None:
    it.page.locator("#tone-side").select_option("right")
    it.page.locator("[data-skip='2']").click()
    begin(it)
    it.page.clock.run_for(19_500)
    assert it.ask("window.booked") == []
    it.page.keyboard.press("b")
    it.page.clock.run_for(3_000)
    assert len(it.ask("window.booked")) == 2  # 20 and 21 s; 19 s has passed


def test_a_pause_takes_booked_tones_back(it: Opened) -> None:
    it.page.locator("#tone-side").select_option("left")
    begin(it)
    it.page.clock.run_for(18_000)
    assert len(it.ask("window.booked")) == 1
    it.page.keyboard.press(".")
    it.page.clock.run_for(5_000)
    assert (len(it.ask("window.booked")), it.ask("window.stopped")) == (1, 1)


def test_a_key_switches_the_tones_on_and_off(it: Opened) -> None:
    begin(it)
    seen = []
    for _ in range(2):
        it.page.keyboard.press("t")
        seen.append(it.ask("document.getElementById('tone-side').value"))
    assert seen == ["left", "off"]


def loudest(it: Opened) -> list[float]:
    """Return the peaks of both sides while a tone is tried."""
    found: list[float] = it.ask(
        """async () => {
          document.getElementById("tone-button").click();
          const top = [0, 0];
          const seen = new Float32Array(8192);
          for (let i = 0; i < 20; i += 1) {
            await new Promise((done) => setTimeout(done, 25));
            window.sides.forEach((side, k) => {
              side.getFloatTimeDomainData(seen);
              for (const x of seen) top[k] = Math.max(top[k], Math.abs(x));
            });
          }
          return top;
        }"""
    )
    return found


def test_a_tone_is_heard_in_the_chosen_ear_alone_and_is_soft(
    chromium: Browser, page_path: Path
) -> None:
    """The softest step peaks at -42 dBFS (0.0079), the loudest at -18 dBFS (0.126)."""
    with opened(chromium, page_path, before=TAPPED) as page:
        seen: dict[Any, list[float]] = {}
        for side, step in (("left", "1"), ("right", "1"), ("right", "5")):
            page.page.locator("#tone-side").select_option(side)
            page.page.locator("#tone-step").select_option(step)
            seen[side, step] = loudest(page)
            page.page.wait_for_timeout(200)
        assert seen["left", "1"] == pytest.approx([0.0079, 0.0], abs=0.0005)
        assert seen["right", "1"] == pytest.approx([0.0, 0.0079], abs=0.0005)
        assert seen["right", "5"] == pytest.approx([0.0, 0.126], abs=0.004)
        assert page.said == []
