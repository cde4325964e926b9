"""The hall page keeps step with its track, or with the wall clock where it has none.

The track is a tone whose pitch tells the instant, so that what is heard can be held
against what is shown.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from cuegen.schedule.cuesheet import CueSheet
from tests.pages.browsing import Opened, opened
from tests.pages.hall_pages import LISTENING, line_at, page_with_track
from tests.sheet.samples import sample_sheet

pytestmark = pytest.mark.slow

WORST_LEFT = """
() => new Promise((done) => {
  const parts = JSON.parse(document.getElementById("session").textContent).parts;
  const track = document.getElementById("track");
  const found = { worst: 0, shown: new Set(), frames: 0, end: 0 };
  window.seen = () => {
    const at = track.currentTime * 1000;
    const part = parts.findLast((one) => one.startMs <= at);
    const stands = document.getElementById(part.figure === "" ? "figure" : "left").textContent;
    const seconds = stands.replace("~", "").split(":").reduce((sum, x) => 60 * sum + Number(x), 0);
    const left = part.endMs - at;
    found.worst = Math.max(found.worst, left - 1000 * seconds, 1000 * (seconds - 1) - left);
    found.shown.add(`${part.startMs} ${seconds}`);
    found.frames += 1;
    found.end = at;
    if (at > UNTIL || track.ended) done({ ...found, shown: found.shown.size });
  };
})
"""
"""By how much what is shown is off the clock: "0:03" is right from 3 s until 2 s before."""


def sampled(sheet: CueSheet) -> list[int]:
    """Return 50 instants: in every line, early in every longer one, the rest at random."""
    edges = [ms for cue in sheet.cues for ms in (cue.start_ms, cue.end_ms)]
    chosen = [(cue.start_ms + cue.end_ms) // 2 for cue in sheet.cues]
    chosen += [cue.start_ms + 300 for cue in sheet.cues if cue.end_ms - cue.start_ms > 1_200]
    rng = random.Random(11)
    while len(chosen) < 50:
        ms = rng.randrange(sheet.duration_ms - 1_000)
        if min(abs(ms - edge) for edge in edges) > 350:
            chosen.append(ms)
    return chosen


def test_the_caption_is_the_sheet_s_line_at_50_instants(hall: Opened) -> None:
    sheet = sample_sheet()
    hall.page.keyboard.press("Space")
    hall.until_mode("running")
    seen = hall.ask(
        """async (instants) => {
          const track = document.getElementById("track");
          const found = [];
          for (const ms of instants) {
            track.currentTime = ms / 1000;
            await new Promise((done) => { window.seen = () => !track.seeking && done(); });
            found.push([track.currentTime * 1000, document.getElementById("caption").textContent]);
          }
          return found;
        }""",
        sampled(sheet),
    )
    assert len(seen) == 50
    assert [text for _, text in seen] == [line_at(sheet, at) for at, _ in seen]
    assert len({text for _, text in seen if text}) == 17
    assert sum(text == "" for _, text in seen) >= 15


@pytest.mark.waits
def test_time_left_is_within_100_ms_of_the_track_over_ten_minutes(hall: Opened) -> None:
    """At eight times the speed; looked at after every frame that the page draws."""
    hall.page.keyboard.press("Space")
    hall.until_mode("running")
    hall.ask("document.getElementById('track').playbackRate = 8")
    hall.page.set_default_timeout(300_000)
    found = hall.ask(WORST_LEFT.replace("UNTIL", "640_000"))
    assert found["end"] > 640_000
    assert found["worst"] < 100
    assert found["shown"] > 630  # each second of it has been on the screen


def test_time_left_is_right_between_frames_too(hall: Opened) -> None:
    """At its own speed, looked at from a timer that knows nothing of the page's frames."""
    hall.page.keyboard.press("Space")
    hall.until_mode("running")
    hall.ask("document.getElementById('track').currentTime = 150")
    offs = hall.ask(
        """() => new Promise((done) => {
          const track = document.getElementById("track");
          const found = [];
          const timer = setInterval(() => {
            const [m, s] = document.getElementById("left").textContent.split(":").map(Number);
            const left = 385000 - track.currentTime * 1000;
            const shown = 1000 * (60 * m + s);
            found.push(Math.max(0, left - shown, shown - 1000 - left));
            if (found.length === 300) { clearInterval(timer); done(found); }
          }, 31);
        })"""
    )
    offs.sort()
    assert offs[int(0.97 * len(offs))] < 100  # a late frame of a busy machine is let off


def test_what_is_heard_does_not_drift_from_the_clock_that_is_shown(hall: Opened) -> None:
    """How far what is heard lies behind is the machine's own. What counts is that it stays."""
    hall.page.keyboard.press("Space")
    hall.until_mode("running")
    offs = hall.ask(
        f"""async () => {{ {LISTENING}
          const found = [];
          for (let i = 0; i < 6; i += 1) {{
            await new Promise((done) => setTimeout(done, 1500));
            found.push(heardAt() - track.currentTime);
          }}
          return found;
        }}"""
    )
    kept = sorted(offs)[1:]  # one read of a busy machine is let off
    assert kept[0] > -0.35
    assert kept[-1] - kept[0] < 0.05
    assert kept[-1] < 0.05


def test_without_a_track_the_page_keeps_step_with_the_clock(silent: Opened) -> None:
    """Over ten minutes of an even clock: 0.0 s of drift."""
    silent.page.keyboard.press("Space")
    silent.page.clock.run_for(500)
    for minute in range(1, 11):
        silent.page.clock.run_for(60_000)
        rowed = 60 * minute - 25
        assert silent.text("rowed") == f"{rowed // 60}:{rowed % 60:02d}"


def test_a_track_that_is_not_there_is_said_and_the_page_runs_without_it(
    chromium: Browser, tmp_path: Path
) -> None:
    path = page_with_track(tmp_path, inside=False)
    (tmp_path / "track.opus").unlink()
    with opened(chromium, path) as it:
        it.until("document.getElementById('notice').textContent !== ''")
        assert "is it beside this page?" in it.text("notice")
        it.page.keyboard.press("Space")
        it.until("document.getElementById('figure').textContent === '0:24'")
        assert it.mode == "running"


def test_a_track_beside_the_page_is_played_and_nothing_else_is_asked_for(
    chromium: Browser, tmp_path: Path
) -> None:
    path = page_with_track(tmp_path, inside=False)
    with opened(chromium, path) as it:
        it.page.keyboard.press("Space")
        it.until("document.getElementById('track').currentTime > 0.3")
        assert set(it.asked) == {path.as_uri(), (tmp_path / "track.opus").as_uri()}
        assert it.said == []
