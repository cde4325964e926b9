"""The report page: verdict on top, faults worst first, nothing run, all words shown as words."""

from __future__ import annotations

from pathlib import Path

import pytest

from cuegen.errors import OutputError
from cuegen.pages.report import report_page, save_report_page
from cuegen.verify.report import Check, Fault, HallHeard, ListeningReport, Notice, Verdict
from tests.pages.samples import bad_report, good_report, heard
from tests.sheet.pages import Page, read_page


def page_of(report: ListeningReport) -> Page:
    page = read_page(report_page(report))
    page.check_self_contained()
    return page


def test_the_verdict_is_the_first_heading_and_in_the_title() -> None:
    page = page_of(good_report())
    assert page.texts("title") == ["OK: Alder ladder"]
    assert page.texts("h2")[0] == "OK"
    expected = "OK 17 of 17 lines on time (firm within 0.2 ms), 61 of 61 words heard, -17.4 LUFS"
    assert page.texts("section")[0].startswith(expected)


def test_a_failed_report_lists_its_faults_worst_first_with_line_and_time() -> None:
    page = page_of(bad_report())
    assert page.texts("h2")[:2] == ["Failed", "What is wrong, worst first"]
    faults = page.texts("li")[:5]
    assert faults == [
        "5:25 the line is not there cue left.1.60: \u201cOne minute left.\u201d",
        "6:25 60.0 ms late cue change.2: \u201cRate up, twenty-four.\u201d",
        "11:04 740.0 ms early cue results: \u201cWrite your splits down.\u201d",
        "1:20 two sixteen heard cue goal.1: \u201cNext: twenty, two fourteen.\u201d",
        "file -14.2 LUFS, 3.3 LU above the target",
    ]


def test_a_report_without_faults_has_no_list_of_them() -> None:
    assert "What is wrong, worst first" not in page_of(good_report()).text


def test_what_was_not_checked_is_said_and_never_called_ok() -> None:
    page = page_of(good_report())
    assert "silence : a bed sounds all through" in page.texts("li")
    row = next(row for row in page.texts("tr") if row.startswith("silence where"))
    assert row.endswith("not checked")


def test_each_check_shows_what_was_asked_and_what_was_heard() -> None:
    rows = page_of(bad_report()).texts("tr")
    assert "the file is as long as planned \u00b1100 ms \u221242 ms ok" in rows
    assert (
        "each line begins on its instant firm \u00b110 ms, floating \u00b150 ms "
        "firm within 60.0 ms, floating within 740.0 ms 2 faults"
    ) in rows
    loudness = "integrated loudness meets its target \u221217.5 LUFS \u00b10.5 LU \u221214.2 LUFS"
    assert f"{loudness} 1 fault" in rows
    assert "true peak of the decoded file at most \u22121 dBTP \u22121.3 dBTP ok" in rows


def test_each_line_shows_its_offset_or_that_it_was_not_found() -> None:
    rows = page_of(bad_report()).texts("tr")
    assert "6:25 \u25a0 firm Rate up, twenty-four. 60.0 ms late +60.0 3 of 3" in rows
    assert "5:25 One minute left. not there not found 3 of 3" in rows
    assert "0:24 \u25a0 firm One. 0.0" in rows


def test_lines_at_fault_are_marked_and_only_they() -> None:
    marked = [e.text for e in page_of(bad_report()).having("tr", "at-fault") if ":" in e.text[:5]]
    assert [row.split()[0] for row in marked] == ["1:20", "5:25", "6:25", "11:04"]


def test_the_plot_has_a_mark_for_each_line_that_was_found() -> None:
    page = page_of(bad_report())
    assert len(page.having("rect", "firm")) == 8
    assert len(page.having("circle", "dot")) == 8  # nine floating lines, one missing
    assert len(page.having("rect", "out")) + len(page.having("circle", "out")) == 2
    assert len(page.having("line", "grid")) == 4
    assert "what stands at the edge lies further out" in page.texts("figcaption")[0]


def test_without_a_line_found_there_is_no_plot() -> None:
    report = bad_report(cues=(heard("goal.1", None),), worst_firm_ms=None, worst_floating_ms=None)
    assert page_of(report).having("svg") == []


def test_silence_has_no_figures_to_show() -> None:
    report = bad_report(loudness_lufs=None, true_peak_dbtp=None, speech_to_bed_db=None)
    rows = page_of(report).texts("tr")
    assert "true peak of the decoded file at most \u22121 dBTP ok" in rows
    assert not any("None" in row for row in rows)


def clear_report() -> ListeningReport:
    """Return a good report with figures of clearness: one line of three is hard to hear."""
    figures = {
        "goal.1": (0.99, 0.94, 0.81),
        "left.1.60": (0.98, 0.9, 0.66),
        "results": (0.97, 0.9, 0.74),
    }
    cues = tuple(
        cue.model_copy(update={"stoi": figures.get(cue.id, ()), "below_db": 21.4})
        for cue in good_report().cues
    )
    hall = HallHeard(
        name="a full hall",
        over_lu=3.0,
        median_stoi=0.74,
        worst_stoi=0.66,
        worst_cue="left.1.60",
        hard=1,
        words_pct=96,
    )
    quiet = hall.model_copy(update={"name": "a quiet studio", "over_lu": 20.0, "hard": 0})
    notice = Notice(
        problem="'One minute left.' would be hard to hear in a full hall",
        remedy="Say it in other words.",
        cue="left.1.60",
        at_ms=325_125,
    )
    return good_report(cues=cues, halls=(quiet, hall), notices=(notice,))


def test_lines_that_are_hard_to_hear_are_named_and_fail_nothing() -> None:
    page = page_of(clear_report())
    assert page.texts("h2")[0] == "OK"
    assert "1 line hard to hear in a full hall" in page.texts("section")[0]
    assert (
        "5:25 'One minute left.' would be hard to hear in a full hall. Say it in other words."
        in page.texts("li")
    )


def test_what_each_hall_leaves_of_the_lines_is_shown() -> None:
    rows = page_of(clear_report()).texts("tr")
    assert "a quiet studio 20 LU 0.74, 0.66 about 96 in 100 0" in rows
    assert "a full hall 3 LU 0.74, 0.66 about 96 in 100 1" in rows


def test_the_least_clear_lines_stand_first() -> None:
    rows = page_of(clear_report()).texts("tr")
    first = rows.index("Time Line Over all else, dB STOI")
    assert rows[first + 1 : first + 4] == [
        "5:25 One minute left. 21.4 0.66",
        "11:04 Write your splits down. 21.4 0.74",
        "1:20 Next: twenty, two fourteen. 21.4 0.81",
    ]


def test_each_line_shows_how_far_it_lies_over_its_bed() -> None:
    rows = page_of(clear_report()).texts("tr")
    assert "0:24 \u25a0 firm One. 0.0 21.4" in [" ".join(row.split()) for row in rows]


def test_a_track_of_voice_alone_has_nothing_to_lie_over() -> None:
    page = page_of(clear_report().model_copy(update={"speech_to_bed_db": None}))
    assert "Over all else" not in page.text
    assert "5:25 One minute left. 0.66" in page.texts("tr")


def test_the_page_cautions_about_level_and_claims_none_at_the_ear() -> None:
    text = page_of(clear_report()).text
    assert "Set the level by ear, low enough to talk over." in text
    assert "Loud sound harms hearing" in text
    assert "dB(A)" not in text
    assert "dBA" not in text


def test_the_loudness_range_is_shown() -> None:
    assert "Loudness range 4.2 LU (EBU Tech 3342)" in page_of(good_report()).text


def test_without_figures_nothing_is_said_of_halls() -> None:
    text = page_of(good_report()).text
    assert "How clear it is" not in text
    assert "STOI" not in text


def test_a_rower_called_script_is_shown_not_run() -> None:
    bad = "<script>alert('Kit')</script>"
    line = heard("goal.1", 0.0).model_copy(update={"text": bad, "why": bad})
    fault = Fault(check=Check.WORDS, problem=bad, cue="goal.1", at_ms=0)
    report = bad_report(title=bad, file=bad, cues=(line,), faults=(fault,))
    assert report.verdict is Verdict.FAILED
    page = page_of(report)
    assert page.texts("h1") == [bad]
    assert page.texts("title") == [f"Failed: {bad}"]
    assert page.text.count(bad) >= 6


def test_the_page_is_written_whole(tmp_path: Path) -> None:
    save_report_page(good_report(), tmp_path / "report.html")
    assert (tmp_path / "report.html").read_text(encoding="utf-8") == report_page(good_report())


def test_a_place_that_cannot_be_written_to_is_named(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="could not write"):
        save_report_page(good_report(), tmp_path)
