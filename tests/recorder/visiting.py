"""The recorder's page in a real Chromium, with a microphone of the test's own making."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from playwright.sync_api import Browser

from tests.pages.browsing import Opened, watched

MICROPHONE = """
window.asked = [];
navigator.mediaDevices.getUserMedia = async (wish) => {
  window.asked.push(wish);
  const graph = new AudioContext({ sampleRate: 48000 });
  const out = graph.createMediaStreamDestination();
  const tone = new OscillatorNode(graph, { frequency: 440 });
  window.gain = new GainNode(graph, { gain: LEVEL });
  tone.connect(window.gain).connect(out);
  tone.start();
  await graph.resume();
  return out.stream;
};
"""
"""A microphone that hears a tone of a set amplitude; `gain` changes it."""

BARRED = """
navigator.mediaDevices.getUserMedia = async () => {
  throw new DOMException("barred", "NotAllowedError");
};
"""


def microphone(level: float) -> str:
    return MICROPHONE.replace("LEVEL", str(level))


@contextmanager
def visited(
    browser: Browser, address: str, size: tuple[int, int] = (1366, 768), **context: Any
) -> Iterator[Opened]:
    """Open the recorder's page; before: a script that is run before the page's own."""
    before = context.pop("before", "")
    place = browser.new_context(viewport={"width": size[0], "height": size[1]}, **context)
    it = watched(place, before)
    try:
        it.page.goto(address)
        yield it
    finally:
        place.close()
