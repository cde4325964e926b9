"""Five lines recorded in a real Chromium through its own fake microphone, and rendered.

The microphone plays a file of five lines of the natural voice, each after a quiet, over
and over. Where a line begins in a take is known without cuegen.takes: the clean clip is
looked for in what was recorded (correlation), and its first word begins LEAD_MS in.
"""

from __future__ import annotations

import wave
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import sync_playwright

from cuegen.clock import SAMPLE_RATE, samples_at
from cuegen.schedule.cuesheet import LEAD_MS, CueSheet
from cuegen.script.candidate import Line
from cuegen.sheet.formats import load_sheet
from cuegen.steps import compile_sheet
from cuegen.takes.checking import CheckedFolder, checked_folder
from cuegen.takes.lines import TakeLine, lines_to_record
from cuegen.takes.speaker import FolderAsked, folder_speaker
from cuegen.voice.booth import open_booth
from cuegen.voice.clip import Samples
from tests.cli.running import CommandLine
from tests.pages.browsing import Opened, find_chromium
from tests.recorder.served import Served, served
from tests.recorder.visiting import visited
from tests.takes.coach import Room, in_room, lag_ms, save

pytestmark = [pytest.mark.slow, pytest.mark.waits]

TEXTS = (
    "Sit tall and stay long.",
    "Shoulders down, hands loose.",
    "Push, then let it run.",
    "Quick catch, long drive.",
    "Breathe out at the finish.",
)
PLAN = """\
title: Five takes
voice: small
talk_share: 12%
session: |
  warm-up 0:30 r18
  1:40 r20 @2:10
say:
"""
QUIET_MS = 3_200
COUNT_MS, EARLY_MS = 1_200, 150
"""How long the page counts in; how long before a line the count ends."""


def plan() -> str:
    own = (f"  - {{piece: 1, after: '0:{15 * n + 12:02d}', text: '{text}'}}"
           for n, text in enumerate(TEXTS[:3]))  # fmt: skip
    more = (f"  - {{piece: 1, after: '1:{15 * n + 2:02d}', text: '{text}'}}"
            for n, text in enumerate(TEXTS[3:]))  # fmt: skip
    return PLAN + "\n".join([*own, *more]) + "\n"


@dataclass(frozen=True)
class FakeMicrophone:
    """path: the file. starts_ms: where each line begins in it; clips: the lines; length_ms."""

    path: Path
    starts_ms: tuple[int, ...]
    clips: tuple[Samples, ...]
    length_ms: int


def fake_microphone(folder: Path) -> FakeMicrophone:
    """Write the file: five lines, QUIET_MS before each, in a quiet room."""
    with open_booth("natural") as coach:
        clips = tuple(coach.clip(Line(text)).samples for text in TEXTS)
    parts, starts, at = [], [], 0
    for clip in clips:
        parts += [np.zeros(samples_at(QUIET_MS)), clip.astype(np.float64)]
        starts.append(at + QUIET_MS)
        at += QUIET_MS + round(1000 * len(clip) / SAMPLE_RATE)
    sound = in_room(np.concatenate(parts), Room(noise_dbfs=-70.0, gain_db=-3.0))
    path = save(folder / "microphone.wav", sound)
    return FakeMicrophone(path, tuple(starts), clips, round(1000 * len(sound) / SAMPLE_RATE))


FIRST_HEARD = """() => new Promise((done) => {
  const level = document.getElementById("level");
  const look = () => Number(level.ariaValueNow) > -35
    ? done(performance.now()) : requestAnimationFrame(look);
  look();
})"""

PRESS_AT = """(ms) => new Promise((done) => setTimeout(() => {
  document.getElementById("main-button").click();
  done(performance.now());
}, ms - performance.now()))"""


def record_all(page: Opened, lines: dict[str, TakeLine], fake: FakeMicrophone) -> list[str]:
    """Record each line when the microphone says it next; return what the page said of each."""
    page.page.locator("#main-button").click()
    zero = page.ask(FIRST_HEARD) - fake.starts_ms[0]
    order = [line.text for line in lines.values()]
    todo, said = list(range(len(TEXTS))), []
    while todo:
        now = page.ask("performance.now()") - zero
        begins = {
            n: fake.starts_ms[n] + fake.length_ms * turn
            for n in todo
            for turn in (max(0, int((now + 1_550 - fake.starts_ms[n]) // fake.length_ms) + 1),)
        }
        which = min(begins, key=lambda n: begins[n])
        page.page.locator(f"[data-line='{order.index(TEXTS[which])}']").click()
        start = zero + begins[which]
        page.ask(PRESS_AT, start - EARLY_MS - COUNT_MS)
        length = 1000 * len(fake.clips[which]) / SAMPLE_RATE
        page.ask(PRESS_AT, start + length + 100)
        page.until_mode("recorded")
        page.page.keyboard.press("Space")
        page.until("['kept', 'faulty'].includes(document.documentElement.dataset.mode)")
        said.append(page.text("verdict"))
        todo.remove(which)
    return said


@dataclass(frozen=True)
class Recorded:
    sheet: CueSheet
    folder: Path
    clips: dict[str, Samples]
    said: list[str]
    served: Served
    console: list[str]


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Recorded]:
    folder = tmp_path_factory.mktemp("five")
    (folder / "p.yaml").write_text(plan(), encoding="utf-8")
    sheet = compile_sheet(folder / "p.yaml")
    fake = fake_microphone(folder)
    lines = {line.text: line for line in lines_to_record(sheet)}
    flags = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream",
             f"--use-file-for-fake-audio-capture={fake.path}"]  # fmt: skip
    with served(sheet, folder / "takes", stands=False) as it, sync_playwright() as player:
        browser = player.chromium.launch(executable_path=find_chromium(player), args=flags)
        with visited(browser, it.server.address) as page:
            said = record_all(page, lines, fake)
            console = list(page.said)
        browser.close()
        clips = dict(zip(TEXTS, fake.clips, strict=True))
        yield Recorded(sheet, folder, clips, said, it, console)


@pytest.fixture(scope="module")
def checked(
    recorded: Recorded, tmp_path_factory: pytest.TempPathFactory
) -> tuple[CheckedFolder, dict[str, float]]:
    """The folder as `cuegen takes check` sees it; how far finished takes are off their clips."""
    asked = FolderAsked(
        recorded.folder / "takes", stands=False, cache_dir=tmp_path_factory.mktemp("cache")
    )
    with open_booth("small") as voice, folder_speaker(asked, recorded.sheet, voice) as speaker:
        lags = {
            text: lag_ms(speaker.clip(Line(text)).samples, recorded.clips[text]) for text in TEXTS
        }
        return checked_folder(speaker), lags


def test_five_lines_land_as_five_takes_and_each_is_accepted(recorded: Recorded) -> None:
    names = {line.text: line.name for line in lines_to_record(recorded.sheet)}
    files = {path.name for path in (recorded.folder / "takes").iterdir()}
    assert files == {f"{names[text]}.wav" for text in TEXTS}
    assert [words.startswith("Kept as ") for words in recorded.said] == [True] * 5
    assert recorded.console == []


def test_the_takes_are_good_and_followed_word_by_word(
    checked: tuple[CheckedFolder, dict[str, float]],
) -> None:
    folder, _ = checked
    assert {one.line.text for one in folder.takes} == set(TEXTS)
    assert folder.faulty == ()
    assert all(one.take.follows for one in folder.takes)


def samples_of(path: Path) -> Samples:
    with wave.open(str(path)) as file:
        assert file.getframerate() == SAMPLE_RATE
        raw = np.frombuffer(file.readframes(file.getnframes()), np.uint8).reshape(-1, 3)
    wide = np.zeros((len(raw), 4), np.uint8)
    wide[:, 1:] = raw
    return (wide.view("<i4")[:, 0] / 2**31).astype(np.float32)


def test_each_first_word_is_found_within_20_ms_of_where_it_is(
    recorded: Recorded, checked: tuple[CheckedFolder, dict[str, float]]
) -> None:
    off = {}
    for one in checked[0].takes:
        clip = recorded.clips[one.line.text]
        truth = lag_ms(samples_of(one.path), clip) + LEAD_MS
        assert truth > 100  # it lies well inside what was recorded
        off[one.line.text] = (one.take.onset_ms or 0.0) - truth
    assert len(off) == 5
    assert {text: ms for text, ms in off.items() if abs(ms) > 20} == {}


def test_each_finished_take_lies_within_20_ms_of_the_clean_clip(
    checked: tuple[CheckedFolder, dict[str, float]],
) -> None:
    _, lags = checked
    assert len(lags) == 5
    assert {text: ms for text, ms in lags.items() if abs(ms) > 20} == {}


def test_a_track_is_rendered_from_them_and_verified(
    recorded: Recorded, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(recorded.folder)
    monkeypatch.setenv("CUEGEN_LOG", str(tmp_path / "log.db"))
    cuegen = CommandLine(recorded.folder, monkeypatch, capsys)
    made = cuegen.run("track", "p.yaml", "--takes", "takes", "--out", "t.flac")
    assert (made.code, made.out.splitlines()[-1][:3]) == (0, "OK:"), made.out
    assert made.err == ""
    takes = load_sheet("t.sheet.json").sound.takes
    assert takes is not None
    assert {take.text for take in takes.lines} == set(TEXTS)
