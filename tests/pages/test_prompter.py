"""What is in a prompter page: its lines, its data, its policy; people's words are words."""

from __future__ import annotations

import base64
import hashlib
import re
from pathlib import Path

import pytest

from cuegen.errors import OutputError
from cuegen.pages.beside import printed_beside
from cuegen.pages.hall import hall_page
from cuegen.pages.prompter import (
    TONE_CAUTION,
    prompt_lines,
    prompter_page,
    save_prompter_page,
)
from cuegen.resources import templates_dir
from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.cautions import CAUTIONS
from cuegen.sheet.formats import save_sheet
from tests.pages.test_hall import data_of, parsed, policy_of, scripts
from tests.sheet.samples import sample_sheet

BAD = "</script><script>alert(1)</script>"
SCRIPTS = ("running.js", "prompter_tones.js", "prompter.js")


def without(sheet: CueSheet, *names: str) -> CueSheet:
    return sheet.model_copy(update={"cues": tuple(c for c in sheet.cues if c.id not in names)})


# -------------------------------------------------------------------- lines


def test_each_line_has_its_instants_its_clock_and_its_words() -> None:
    line = prompt_lines(sample_sheet())[4]
    assert (line.at_ms, line.end_ms, line.clock) == (145_000, 146_347, "2:00")
    assert (line.text, line.firm, line.part, line.beats) == ("Rate up, twenty.", True, 2, ())


def test_a_count_and_the_call_it_leads_to_are_one_line() -> None:
    line = prompt_lines(sample_sheet())[2]
    assert line.text == "Three, two, one. Go, rate eighteen."
    assert (line.at_ms, line.end_ms, line.firm) == (22_000, 26_224, True)
    assert line.beats == (22_000, 23_000, 24_000, 25_000)


def test_all_words_of_the_sheet_are_said_once() -> None:
    sheet = sample_sheet()
    assert len(prompt_lines(sheet)) == len(sheet.cues) - 3
    said, planned = (
        re.findall(r"\w+", " ".join(one.text for one in ones).lower())
        for ones in (prompt_lines(sheet), sheet.cues)
    )
    assert said == planned


def test_a_count_that_leads_to_nothing_stands_alone() -> None:
    line = prompt_lines(without(sample_sheet(), "start.0"))[2]
    assert (line.text, line.beats) == ("Three, two, one.", (22_000, 23_000, 24_000))


def test_a_lone_beat_is_said_with_its_call() -> None:
    line = prompt_lines(without(sample_sheet(), "count.0.3", "count.0.2"))[2]
    assert (line.text, line.beats) == ("One. Go, rate eighteen.", (24_000, 25_000))


def test_a_floating_line_is_no_part_of_a_count() -> None:
    sheet = sample_sheet()
    soon = sheet.cues[6].model_copy(
        update={"at_ms": 25_010, "start_ms": 25_000, "end_ms": 27_000, "text": "Now row."}
    )
    cues = (*sheet.cues[:5], soon, *sheet.cues[7:])
    lines = prompt_lines(sheet.model_copy(update={"cues": cues}))
    assert [line.text for line in lines[2:4]] == ["Three, two, one.", "Now row."]


# --------------------------------------------------------------------- page


def test_every_line_stands_in_the_list_and_in_the_data() -> None:
    sheet = sample_sheet()
    html = prompter_page(sheet)
    lines = prompt_lines(sheet)
    page = parsed(html)
    numbers = [e.attributes["data-line"] for e in page.elements if "data-line" in e.attributes]
    assert numbers == [str(number) for number in range(len(lines))]
    assert [line["text"] for line in data_of(html)["lines"]] == [line.text for line in lines]
    assert data_of(html)["lines"][2] == {
        "atMs": 22_000,
        "endMs": 26_224,
        "text": "Three, two, one. Go, rate eighteen.",
        "firm": True,
        "beats": [22_000, 23_000, 24_000, 25_000],
    }


def test_the_cautions_are_on_the_page_and_the_one_for_the_ear() -> None:
    html = prompter_page(sample_sheet())
    for caution in (*CAUTIONS[:3], TONE_CAUTION):
        assert caution in html
    assert "goes before this page." in html


def test_words_that_are_mark_up_leave_the_page_as_it_is() -> None:
    sheet = sample_sheet()
    line = sheet.cues[0].model_copy(update={"text": BAD})
    bad = sheet.model_copy(update={"title": BAD, "cues": (line, *sheet.cues[1:])})
    html = prompter_page(bad)
    assert len(scripts(html)) == html.count("<script") == 2
    assert data_of(html)["lines"][0]["text"] == BAD
    assert parsed(html).texts("h1") == [BAD]


def digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def test_the_policy_allows_one_script_and_one_style_and_nothing_else() -> None:
    html = prompter_page(sample_sheet())
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)
    assert style is not None
    assert policy_of(html) == {
        "default-src": "'none'",
        "style-src": digest(style[1]),
        "script-src": digest(scripts(html)[1][1]),
        "base-uri": "'none'",
        "form-action": "'none'",
    }


def test_nothing_on_the_page_names_a_network_or_a_handler() -> None:
    html = prompter_page(sample_sheet())
    assert "http:" not in html
    assert "https:" not in html
    for element in parsed(html).elements:
        for name in element.attributes:
            assert not name.startswith("on")
            assert name not in {"href", "style", "src", "srcset", "action"}


@pytest.mark.parametrize("name", SCRIPTS)
def test_the_scripts_make_nothing_of_text(name: str) -> None:
    """No sink that reads words as mark-up or code (W3C Trusted Types, "injection sinks")."""
    script = (templates_dir() / name).read_text(encoding="utf-8")
    sinks = ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "Function(")
    assert [sink for sink in sinks if sink in script] == []
    assert "</" not in script


def test_the_page_is_written_whole(tmp_path: Path) -> None:
    save_prompter_page(sample_sheet(), tmp_path / "p.html")
    assert (tmp_path / "p.html").read_text(encoding="utf-8") == prompter_page(sample_sheet())
    with pytest.raises(OutputError, match="could not write"):
        save_prompter_page(sample_sheet(), tmp_path)


# ------------------------------------------------------------ the printed sheet


def test_the_printed_sheet_beside_a_plan_or_a_sheet_is_found(tmp_path: Path) -> None:
    save_sheet(sample_sheet(), tmp_path / "a b.html")
    page = tmp_path / "out" / "hall.html"
    for source in ("a b.yaml", "a b.sheet.json", "a b.json"):
        found = printed_beside(tmp_path / source, sample_sheet(), page)
        assert found == "./../a%20b.html"


def test_no_other_page_is_taken_for_the_printed_sheet(tmp_path: Path) -> None:
    sheet, source, page = sample_sheet(), tmp_path / "a.yaml", tmp_path / "p.html"
    assert printed_beside(source, sheet, page) is None
    (tmp_path / "a.html").write_text(hall_page(sheet), encoding="utf-8")
    assert printed_beside(source, sheet, page) is None
    save_sheet(sheet.model_copy(update={"title": "Another"}), tmp_path / "a.html")
    assert printed_beside(source, sheet, page) is None
    save_sheet(sheet, tmp_path / "a.html")
    assert printed_beside(source, sheet, page) == "./a.html"
    assert printed_beside(source, sheet, tmp_path / "a.html") is None


def test_a_pdf_is_led_to_where_there_is_no_printed_page(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7")
    found = printed_beside(tmp_path / "a.sheet.json", sample_sheet(), tmp_path / "p.html")
    assert found == "./a.pdf"


@pytest.mark.parametrize(
    "make", [prompter_page, lambda s, printed=None: hall_page(s, None, printed)]
)
def test_both_pages_lead_to_the_printed_sheet_where_there_is_one(make: object) -> None:
    assert callable(make)
    with_it, without_it = make(sample_sheet(), "./a.html"), make(sample_sheet())
    (link,) = parsed(with_it).having("a")
    assert (link.attributes["href"], link.attributes["rel"]) == ("./a.html", "noopener")
    assert not parsed(without_it).having("a")
