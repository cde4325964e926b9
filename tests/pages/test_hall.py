"""What is in a hall page: its parts, its data, its policy; people's words are words."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest
from playwright.sync_api import Playwright

from cuegen.errors import OutputError
from cuegen.pages.hall import VOLUME_CAUTION, hall_page, parts, river_outline, save_hall_page
from cuegen.pages.hall_sound import HallSound
from cuegen.pages.shape import reaches
from cuegen.plan.model import SegmentKind
from cuegen.resources import templates_dir
from cuegen.schedule.cuesheet import CueSheet
from tests.pages.browsing import find_chromium
from tests.pages.chromium import VARIABLE
from tests.sheet.pages import Page
from tests.sheet.samples import sample_sheet

INSIDE = HallSound("data:audio/ogg;base64,T2dnUw==", "data:", "alder.opus")
BESIDE = HallSound("./alder.mp3", "'self' file:", "alder.mp3")


def parsed(html: str) -> Page:
    """Return a page as Python's own parser reads it, every element closed."""
    page = Page()
    page.feed(html)
    page.close()
    assert not page._open
    return page


def scripts(html: str) -> list[tuple[str, str]]:
    """Return each script's attributes and text, read as a browser does (HTML, 4.12.1.3)."""
    return re.findall(r"<script([^>]*)>(.*?)</script>", html, re.DOTALL)


def data_of(html: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(scripts(html)[0][1])
    return found


def policy_of(html: str) -> dict[str, str]:
    (policy,) = (
        e.attributes["content"]
        for e in parsed(html).having("meta")
        if e.attributes.get("http-equiv") == "Content-Security-Policy"
    )
    return dict(rule.strip().split(" ", 1) for rule in policy.split(";"))


# ------------------------------------------------------------------- parts


def test_each_part_says_what_to_do_and_what_it_is_called_while_it_is_next() -> None:
    shown = [
        (p.name, p.word, p.figure, p.hold, p.unit, p.effort, p.brief) for p in parts(sample_sheet())
    ]
    assert shown == [
        ("Opening", "first stroke in", "", "", "", "", "Opening"),
        ("Warm-up", "rate", "18", "55 %", "effort", "", "Warm-up, rate 18, 55 % effort"),
        ("Row 1 of 2", "rate", "20", "2:14.0", "per 500 m", "75 % effort",
         "Row 1 of 2, rate 20, 2:14.0"),
        ("Row 2 of 2, 750 m", "rate", "24\u201326", "2:00.0", "per 500 m", "85 % effort",
         "Row 2 of 2, 750 m, rate 24\u201326, 2:00.0"),
        ("Cool-down", "effort", "50 %", "", "", "", "Cool-down, 50 % effort"),
        ("Finish", "rowed", "10:36", "", "", "", "Finish"),
    ]  # fmt: skip


def test_parts_touch_and_carry_the_rowing_clock() -> None:
    shown = parts(sample_sheet())
    assert [(p.start_ms, p.end_ms) for p in shown] == [
        *((0, 25_000), (25_000, 145_000), (145_000, 385_000)),
        *((385_000, 565_000), (565_000, 661_250), (661_250, 671_000)),
    ]
    assert [p.clock for p in shown] == ["-0:25", "0:00", "2:00", "6:00", "~9:00", "~10:36"]


def test_only_the_end_of_a_distance_is_about() -> None:
    assert [p.about for p in parts(sample_sheet())] == [False, False, False, True, False, False]


def test_a_count_belongs_to_the_part_that_it_counts_out() -> None:
    assert [p.count_ms for p in parts(sample_sheet())] == [3_000, 0, 0, 0, 0, 0]


def test_in_a_rest_the_time_left_is_the_largest_figure() -> None:
    sheet = sample_sheet()
    rest = sheet.segments[1].model_copy(
        update={"kind": SegmentKind.REST, "rate": None, "split_ms": None, "effort_pct": 0,
                "label": "Rest"}
    )  # fmt: skip
    segments = (sheet.segments[0], rest, *sheet.segments[2:])
    part = parts(sheet.model_copy(update={"segments": segments}))[2]
    assert (part.word, part.figure, part.hold, part.brief) == ("rest for", "", "", "Rest")


def test_without_an_opening_the_first_segment_is_the_first_part() -> None:
    sheet = sample_sheet()
    first = sheet.segments[0].model_copy(update={"start_ms": 0})
    early = sheet.model_copy(
        update={"lead_in_ms": 0, "segments": (first, *sheet.segments[1:]), "cues": sheet.cues[6:]}
    )
    assert [p.name for p in parts(early)][:2] == ["Warm-up", "Row 1 of 2"]
    assert "first stroke comes" not in hall_page(early)


# -------------------------------------------------------------------- shape


def test_the_banks_step_where_the_session_does() -> None:
    """Lowest rate 18, highest 25 (the middle of 24-26): the bank begins at 13."""
    shares = [(r.rate, r.rate_share, r.effort_share) for r in reaches(sample_sheet())]
    assert shares == [
        ("18", pytest.approx(5 / 12), 0.55),
        ("20", pytest.approx(7 / 12), 0.75),
        ("24\u201326", 1.0, 0.85),
        ("", 0.0, 0.5),
    ]


def test_the_river_has_its_steps_at_the_segments_instants() -> None:
    """671 s long: the first stroke after 25 s is at 37.26 of 1000, the finish at 985.47."""
    path = river_outline(sample_sheet())
    points = [tuple(map(float, point.split())) for point in path[1:-2].split(" L")]
    right = [(x, y) for x, y in points if x > 0]
    assert right[:4] == [(3, 0), (3, 37.26), (pytest.approx(40.4), 37.26), (40.4, 216.10)]
    assert right[-2:] == [(3, 985.47), (3, 1000)]
    left = [(x, y) for x, y in points if x < 0]
    assert [y for _, y in left] == [y for _, y in reversed(right)]
    assert min(x for x, _ in left) == pytest.approx(-97 * 0.85, abs=0.06)


# --------------------------------------------------------------------- data


def test_the_page_s_data_is_the_sheet_s() -> None:
    sheet = sample_sheet()
    data = data_of(hall_page(sheet))
    assert data["lines"] == [[c.start_ms, c.end_ms, c.text] for c in sheet.cues]
    assert (data["durationMs"], data["leadInMs"], data["rowEndMs"]) == (671_000, 25_000, 661_250)
    assert [p["startMs"] for p in data["parts"]] == [p.start_ms for p in parts(sheet)]
    assert data["parts"][2]["told"] == (
        "Row 1 of 2, rate 20, 2:14.0 per 500 metres, 75 % effort, for 4:00."
    )


BAD = "</script><script>alert('Kit')</script><!-- <script>"


def bad_sheet() -> CueSheet:
    sheet = sample_sheet()
    line = sheet.cues[0].model_copy(update={"text": BAD})
    first = sheet.segments[0].model_copy(update={"label": BAD})
    return sheet.model_copy(
        update={"title": BAD, "cues": (line, *sheet.cues[1:]),
                "segments": (first, *sheet.segments[1:]), "rower": BAD}
    )  # fmt: skip


def test_words_that_are_mark_up_leave_the_page_as_it_is() -> None:
    html = hall_page(bad_sheet())
    assert len(scripts(html)) == html.count("<script") == 2
    assert "alert(" in html
    assert data_of(html)["lines"][0][2] == BAD
    assert parsed(html).texts("h1") == [BAD]


def test_a_voice_s_language_is_that_of_title_and_caption() -> None:
    page = parsed(hall_page(sample_sheet()))
    assert page.having("html")[0].attributes["lang"] == "en"
    assert page.having("h1")[0].attributes["lang"] == "en-gb"
    assert page.having("p", "caption")[0].attributes["lang"] == "en-gb"


# ------------------------------------------------------------------- policy


def digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


@pytest.mark.parametrize(
    ("sound", "media"), [(None, "'none'"), (INSIDE, "data:"), (BESIDE, "'self' file:")]
)
def test_the_policy_allows_one_script_one_style_and_the_track(
    sound: HallSound | None, media: str
) -> None:
    html = hall_page(sample_sheet(), sound)
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)
    assert style is not None
    assert policy_of(html) == {
        "default-src": "'none'",
        "style-src": digest(style[1]),
        "script-src": digest(scripts(html)[1][1]),
        "media-src": media,
        "base-uri": "'none'",
        "form-action": "'none'",
    }


def test_nothing_on_the_page_names_a_network_or_a_handler() -> None:
    html = hall_page(sample_sheet(), INSIDE)
    assert "http:" not in html
    assert "https:" not in html
    for element in parsed(html).elements:
        for name, value in element.attributes.items():
            assert not name.startswith("on")
            assert name not in {"href", "style", "srcset", "action"}
            assert name != "src" or value == INSIDE.source


def test_the_script_makes_nothing_of_text() -> None:
    """No sink that reads words as mark-up or code (W3C Trusted Types, "injection sinks")."""
    script = (templates_dir() / "hall.js").read_text(encoding="utf-8")
    sinks = ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "Function(")
    assert [sink for sink in sinks if sink in script] == []
    assert "</" not in script


def test_the_sound_is_said_and_the_volume_cautioned() -> None:
    inside, beside, silent = (hall_page(sample_sheet(), s) for s in (INSIDE, BESIDE, None))
    assert "The track alder.opus is in this page." in inside
    assert "The track alder.mp3 lies beside this page: keep them together." in beside
    assert VOLUME_CAUTION in inside
    assert "This page has no sound" in silent
    assert VOLUME_CAUTION not in silent
    assert "<audio" not in silent


def test_without_a_browser_the_tests_say_how_to_get_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    player = cast(Playwright, SimpleNamespace(chromium=SimpleNamespace(executable_path="/none")))
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv(VARIABLE, raising=False)
    with pytest.raises(pytest.fail.Exception, match="apt install chromium"):
        find_chromium(player)
    monkeypatch.setenv(VARIABLE, str(tmp_path / "gone"))
    with pytest.raises(pytest.fail.Exception, match="or name the one you have in"):
        find_chromium(player)


def test_the_page_is_written_whole(tmp_path: Path) -> None:
    save_hall_page(sample_sheet(), tmp_path / "hall.html")
    assert (tmp_path / "hall.html").read_text(encoding="utf-8") == hall_page(sample_sheet())
    with pytest.raises(OutputError, match="could not write"):
        save_hall_page(sample_sheet(), tmp_path)
