"""Markdown is read back by markdown-it-py (CommonMark with tables): every cell shows its words."""

from __future__ import annotations

from hypothesis import given
from markdown_it import MarkdownIt

from cuegen.schedule.cuesheet import CueSheet
from cuegen.sheet.markdown import to_text
from cuegen.sheet.wording import one_line, script_lines
from tests.sheet.samples import cues, sample_sheet
from tests.sheet.strategies import sheets


def rendered(text: str) -> tuple[list[str], list[list[list[str]]], list[str]]:
    """Return headings, tables as rows of cells, and list items, as a reader sees them."""
    headings: list[str] = []
    tables: list[list[list[str]]] = []
    items: list[str] = []
    opened: list[str] = []
    for token in MarkdownIt("commonmark").enable("table").parse(text):
        if token.type == "table_open":
            tables.append([])
        elif token.type == "tr_open":
            tables[-1].append([])
        elif token.nesting == 1:
            opened.append(token.type)
        elif token.type == "inline":
            assert all(child.type in {"text", "text_special"} for child in token.children or [])
            words = "".join(child.content for child in token.children or [])
            if opened[-1] in {"td_open", "th_open"}:
                tables[-1][-1].append(words)
            elif opened[-1] == "heading_open":
                headings.append(words)
            elif "list_item_open" in opened[-2:]:
                items.append(words)
        elif token.nesting == -1 and token.type not in {"tr_close", "table_close"}:
            opened.pop()
    return headings, tables, items


@given(sheets())
def test_every_line_of_any_sheet_is_shown_as_it_is_said(sheet: CueSheet) -> None:
    headings, tables, _ = rendered(to_text(sheet))
    assert headings == [one_line(sheet.title), "Session", "Script", "Notes", "Cautions"]
    assert [row[2] for row in tables[1][1:]] == [line.text for line in script_lines(sheet)]


def test_the_session_is_a_table_by_the_rowing_clock() -> None:
    _, (session, _), _ = rendered(to_text(sample_sheet()))
    assert session == [
        ["Start", "Segment", "Length", "Rate", "Target", "End", "Why"],
        ["0:00", "Warm-up, rate 18", "2:00", "18", "55 % effort", "2:00", "easy, to get warm"],
        [
            *("2:00", "Row 1 of 2, rate 20", "4:00", "20", "2:14.0", "6:00"),
            "2:14.0 given in the plan",
        ],
        [
            *("6:00", "Row 2 of 2, 750 m, rate 24-26", "750 m", "24-26", "2:00.0"),
            *("about 9:00 (8:56 to 9:04)", "2:00.0 given in the plan"),
        ],
        [
            *("9:00", "Cool-down", "1:36", "", "50 % effort"),
            *("about 10:36 (10:33 to 10:40)", "light, to come down"),
        ],
    ]


def test_the_script_gathers_a_count_and_marks_what_is_firm() -> None:
    _, (_, script), _ = rendered(to_text(sample_sheet()))
    assert script[1:5] == [
        ["-0:25", "", "Welcome to the Alder ladder."],
        ["-0:19", "", "Stop if anything hurts."],
        ["-0:03", "firm", "Three, two, one."],
        ["0:00", "firm", "Go, rate eighteen."],
    ]


def test_what_looks_like_markdown_stays_words() -> None:
    tricky: tuple[str, ...] = (
        "1. one",
        "- two",
        "+ three",
        "= four",
        "# five",
        "<script>",
        "*six* _7_ `8`",
    )
    tricky += ("[nine](x)", "&amp;", "a|b", "\\", "~~ten~~", "12) eleven", "> twelve")
    sheet = sample_sheet(
        title="3. <b>",
        notes=tricky,
        cues=tuple(
            cue.model_copy(update={"text": words})
            for cue, words in zip(cues()[5:], tricky[:12], strict=True)
        ),
    )
    headings, tables, items = rendered(to_text(sheet))
    assert headings[0] == "3. <b>"
    assert items[: len(tricky)] == list(tricky)
    assert [row[2] for row in tables[1][1:]] == list(tricky[:12])


def test_the_facts_add_up() -> None:
    """431.4 + 895.5 + 750.0 + 312.7 m; speech is the sum of the clips over the track."""
    text = to_text(sample_sheet())
    assert "Rowing 10:36, about 2390 m, for a group. Track 11:11, 17 lines, 5 % of it" in text


def test_no_notes_no_heading() -> None:
    headings, _, _ = rendered(to_text(sample_sheet(notes=())))
    assert "Notes" not in headings
