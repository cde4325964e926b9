"""The recorder's page in a real Chromium: levels, faults, keys, room, what it asks for.

Sources: W3C WCAG 2.2, 1.4.6 (7:1) and 2.5.5 (44 px); the rules of axe-core 4 (Deque,
MPL-2.0), those of level AAA and best practice included; RIFF WAVE as Python reads it.
"""

from __future__ import annotations

import io
import re
import wave
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser

from cuegen.recorder.page import EAR_CAUTION, recorder_page
from cuegen.resources import templates_dir
from cuegen.takes.lines import lines_to_record
from tests.pages.browsing import Opened, axe_finds_nothing
from tests.pages.test_hall import parsed, policy_of
from tests.pages.test_hall_look import BOXES, COLOURS, hexed, overlaps, style
from tests.pages.test_look import contrast
from tests.recorder.served import TEXTS, Served, german_sheet, served
from tests.recorder.visiting import BARRED, microphone, visited

BAD = "<script>document.title = 'owned'</script> & so on"
SIZES = ((360, 640), (844, 390), (1366, 768), (3840, 2160))


@pytest.fixture
def it(tmp_path: Path) -> Iterator[Served]:
    with served(german_sheet(), tmp_path / "takes") as running:
        yield running


def until_mode(page: Opened, *modes: str) -> None:
    page.until(f"{list(modes)!r}.includes(document.documentElement.dataset.mode)")


# ------------------------------------------------------------- without a browser


def test_the_page_s_policy_allows_its_own_server_and_one_style() -> None:
    sheet = german_sheet()
    policy = policy_of(recorder_page(sheet, lines_to_record(sheet), (), "takes"))
    assert re.fullmatch(r"'sha256-[\w+/]{43}='", policy.pop("style-src"))
    assert policy == {
        "default-src": "'none'",
        "script-src": "'self'",
        "worker-src": "'self'",
        "connect-src": "'self'",
        "base-uri": "'none'",
        "form-action": "'none'",
    }


def test_words_that_are_mark_up_stay_words() -> None:
    sheet = german_sheet()
    cues = (sheet.cues[0].model_copy(update={"text": BAD}), *sheet.cues[1:])
    bad = sheet.model_copy(update={"title": BAD, "cues": cues})
    html = recorder_page(bad, lines_to_record(bad), (), BAD)
    assert html.count("<script") == 2
    assert parsed(html).texts("h1") == [BAD]
    assert EAR_CAUTION in html


def test_which_lines_have_a_take_is_said() -> None:
    sheet = german_sheet()
    html = recorder_page(sheet, lines_to_record(sheet), {2}, "takes")
    states = re.findall(r'class="state">(.*?)<', html)
    assert states == ["", "take", ""]


@pytest.mark.parametrize("name", ["recorder.js", "recorder_sound.js", "recorder_capture.js"])
def test_the_scripts_make_nothing_of_text(name: str) -> None:
    script = (templates_dir() / name).read_text(encoding="utf-8")
    sinks = ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "Function(")
    assert [sink for sink in sinks if sink in script] == []


def test_the_style_names_colours_of_the_family_only() -> None:
    css = style("recorder.css")
    uses = re.findall(r"(?<![-\w])(?:color|fill|background|stroke): ([^;}]+)", css)
    names = ("paper", "ink", "soft", "river", "line", "flag")
    assert {use.strip() for use in uses} <= {f"var(--{name})" for name in names}


# ---------------------------------------------------------------- with a browser


@pytest.mark.slow
def test_a_take_is_recorded_heard_again_and_kept_by_keyboard_alone(
    chromium: Browser, it: Served
) -> None:
    """The tone is let in for part of the time only, so that there is room around it."""
    with visited(chromium, it.server.address, before=microphone(0.0)) as page:
        press = page.page.keyboard.press
        assert page.text("line") == TEXTS[0]
        press("Space")
        until_mode(page, "idle")
        press("Space")
        until_mode(page, "recording")
        page.ask("window.gain.gain.value = 0.2")
        page.page.wait_for_timeout(700)
        page.ask("window.gain.gain.value = 0")
        page.page.wait_for_timeout(300)
        press("Enter")
        until_mode(page, "recorded")
        assert it.files() == {}
        press("p")
        page.until("document.getElementById('play-button').textContent === 'Stop playing'")
        page.until("document.getElementById('play-button').textContent === 'Play'")
        press("Space")
        until_mode(page, "kept", "faulty")
        assert page.text("verdict").startswith("Kept as und-los-geht-es-")
        assert page.text("done") == "1"
        press("Space")
        assert (page.mode, page.text("line")) == ("idle", TEXTS[1])
        press("ArrowUp")
        assert (page.text("line"), page.text("standing")) == (TEXTS[0], "has a take")
        press("p")  # the one that lies in the folder
        page.until("document.getElementById('play-button').textContent === 'Stop playing'")
        assert page.said == []
        base = it.server.address
        assert set(page.asked) == {base, f"{base}recorder.js", f"{base}take/1"}
        wish = page.ask("window.asked")
        assert wish == [
            {"audio": {"echoCancellation": False, "noiseSuppression": False,
                       "autoGainControl": False, "channelCount": 1}}
        ]  # fmt: skip
    (path,) = it.told
    with wave.open(str(path)) as file:
        facts = file.getparams()
        raw = np.frombuffer(file.readframes(facts.nframes), np.uint8).reshape(-1, 3)
    assert (facts.nchannels, facts.sampwidth, facts.framerate) == (1, 3, 48_000)
    whole = (raw[:, 0].astype(int) | raw[:, 1].astype(int) << 8
             | raw[:, 2].astype(np.int8).astype(int) << 16)  # fmt: skip
    assert abs(whole).max() / 2**23 == pytest.approx(0.2, abs=0.01)


@pytest.mark.slow
def test_a_fault_is_shown_in_words_and_the_line_said_again(chromium: Browser, it: Served) -> None:
    with visited(chromium, it.server.address, before=microphone(0.0)) as page:
        press = page.page.keyboard.press
        press("Space")
        until_mode(page, "idle")
        press("Space")
        until_mode(page, "recording")
        press("Space")
        until_mode(page, "recorded")
        press("ArrowDown")  # what was recorded is not lost by a step to the next line
        assert (page.mode, page.text("line")) == ("recorded", TEXTS[0])
        press("Space")
        until_mode(page, "kept", "faulty")
        words = page.text("verdict")
        assert words.startswith("Empty: nobody speaks (loudest ")
        assert "Record it again; look whether the microphone was on." in words
        assert "Kept, but a track would not use it." in words
        assert page.page.locator("[data-line='0'] .state").inner_text() == "take, not used"
        assert page.text("main-button") == "Say it again"
        press("Space")
        assert page.mode == "count"
        press("Escape")
        assert page.mode == "idle"
        assert page.said == []


@pytest.mark.slow
def test_the_meter_says_plainly_what_is_too_loud_and_too_quiet(
    chromium: Browser, it: Served
) -> None:
    with visited(chromium, it.server.address, before=microphone(0.1)) as page:
        words = "document.getElementById('level-words').textContent"
        page.page.keyboard.press("Space")
        page.until(f"{words} === 'The level is good.'")
        assert int(page.ask("document.getElementById('level').ariaValueNow")) in range(-22, -17)
        page.ask("window.gain.gain.value = 1")
        page.until(f"{words}.startsWith('Too loud: peaks are cut off.')")
        page.ask("window.gain.gain.value = 0.01")
        page.until(f"{words} === 'Quiet.'")
        page.page.keyboard.press("Space")
        page.until(f"{words} === 'Too quiet: nearer, or more gain.'")
        assert page.mode == "recording"


@pytest.mark.slow
def test_a_microphone_that_is_barred_is_said(chromium: Browser, it: Served) -> None:
    with visited(chromium, it.server.address, before=BARRED) as page:
        page.page.locator("#main-button").click()
        page.until("document.getElementById('verdict').textContent !== ''")
        assert page.text("verdict").startswith("The browser did not allow the microphone.")
        assert page.mode == "closed"


@pytest.mark.slow
def test_a_recorder_that_has_ended_is_said_and_the_take_not_lost(
    chromium: Browser, it: Served
) -> None:
    with visited(chromium, it.server.address, before=microphone(0.2)) as page:
        page.page.keyboard.press("Space")
        until_mode(page, "idle")
        page.page.keyboard.press("Space")
        until_mode(page, "recording")
        page.page.keyboard.press("Space")
        until_mode(page, "recorded")
        page.page.context.set_offline(True)
        page.page.keyboard.press("Space")
        page.until("document.getElementById('verdict').textContent !== ''")
        assert page.text("verdict").startswith("The recorder does not answer.")
        assert (page.mode, page.text("main-button")) == ("recorded", "Keep it")


@pytest.mark.slow
def test_samples_are_written_as_24_bits_to_the_last(chromium: Browser, it: Served) -> None:
    samples = [0.0, 1.0, -1.0, 0.5, -0.5, 1.5, 2**-23, -(2**-23), 0.25]
    with visited(chromium, it.server.address) as page:
        data = bytes(page.ask("(all) => [...wavOf(new Float32Array(all), 44100)]", samples))
    with wave.open(io.BytesIO(data)) as file:
        assert file.getparams()[:4] == (1, 3, 44_100, 9)
        raw = file.readframes(9)
    whole = [int.from_bytes(raw[i : i + 3], "little", signed=True) for i in range(0, 27, 3)]
    top = 2**23 - 1
    assert whole == [0, top, -top, top // 2 + 1, -(top // 2), top, 1, -1, top // 4 + 1]
    assert len(data) % 2 == 0


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_no_words_lie_on_others_and_buttons_suit_a_thumb(
    chromium: Browser, tmp_path: Path, size: tuple[int, int]
) -> None:
    sheet = german_sheet()
    long = sheet.cues[0].model_copy(update={"text": "Zieh lang und ruhig durch. " * 6})
    with (
        served(sheet.model_copy(update={"cues": (long, *sheet.cues[1:])}), tmp_path / "t") as it,
        visited(chromium, it.server.address, size, before=microphone(0.2)) as page,
    ):
        for mode in ("closed", "idle", "count", "recording"):
            until_mode(page, mode)
            assert page.ask("document.documentElement.scrollWidth") <= size[0]
            words = page.ask(BOXES)
            assert len(words) > 12
            for i, one in enumerate(words):
                assert 0 <= one["x"] <= one["right"] <= size[0] + 0.5, one
                assert one["size"] >= (40 if size[0] > 3000 else 15), one
                for other in words[i + 1 :]:
                    assert one["line"] == other["line"] or not overlaps(one, other), (one, other)
            small = page.ask(
                """[...document.querySelectorAll("button, summary")]
                  .filter((one) => one.checkVisibility())
                  .filter((one) => Math.min(one.offsetWidth, one.offsetHeight) < 44).length"""
            )
            assert small == 0
            if mode in ("closed", "idle"):
                page.page.locator("#main-button").click()


@pytest.mark.slow
@pytest.mark.parametrize("dark", [False, True])
def test_axe_finds_nothing_and_all_words_stand_out_seven_to_one(
    chromium: Browser, it: Served, dark: bool
) -> None:
    scheme = "dark" if dark else "light"
    with visited(chromium, it.server.address, before=microphone(0.0), color_scheme=scheme) as page:
        page.page.locator("summary").click()
        for mode in ("idle", "recording", "faulty"):
            if mode == "idle":
                page.page.locator("#main-button").click()
            if mode == "faulty":
                page.page.locator("#main-button").click()
                until_mode(page, "recorded")
                page.page.locator("#main-button").click()
            until_mode(page, mode)
            pairs = {tuple(pair) for pair in page.ask(COLOURS)}
            ratios = {pair: contrast(hexed(pair[0]), hexed(pair[1])) for pair in pairs}
            assert min(ratios.values()) >= 7, ratios
            axe_finds_nothing(page.page)
            if mode == "idle":
                page.page.locator("#main-button").click()
